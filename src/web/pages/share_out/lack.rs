//! What a share-out couldn't find, and the cheapest ways to it: cloth that only waits for the wash, then the least to buy.
use crate::optimize::purchase::{SHEETS, least_sheets};
use crate::planning::Kind;
use crate::planning::colour::{Hex, NEAR, nearest};
use crate::services::share_out::needs::could_serve;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::Offered;
use crate::store::cloth::share_outs::PartNeed;
use crate::store::cloth::yields::Yields;
use crate::units::{Areal, Mass, Units};

/// Cloth that is lacking, of one kind and colour, over all rugs.
pub(super) struct Lack {
    pub kind: Kind,
    /// The colour's name and how it looks; nothing for warp.
    pub colour: Option<(String, Hex)>,
    pub short: Mass,
    pub rugs: usize,
    /// How many twin sheets that is, about.
    pub sheets: String,
    /// What to buy: `2 twin and 1 king flat sheet`, and what they weigh.
    pub buy: String,
    /// Bundles that would do once they are washed.
    pub wash: Vec<Offered>,
}

impl Lack {
    fn of(needs: &[(&PartNeed, Mass)], offered: &[Offered], yields: &Yields, units: Units) -> Option<Self> {
        let (first, _) = needs.first()?;
        let short: Mass = needs.iter().map(|(_, short)| *short).sum();
        let colour = Hex::parse(&first.part.colour_hex).ok();
        let would_do = |one: &&Offered| {
            one.state != BundleState::Ready
                && could_serve(one, first)
                && colour.is_none_or(|wanted| wanted.difference(one.colour_hex) <= NEAR)
        };
        let mut wash: Vec<Offered> = offered.iter().filter(would_do).cloned().collect();
        wash.sort_by(|a, b| {
            let off = |one: &Offered| colour.map_or(0.0, |wanted| wanted.difference(one.colour_hex));
            off(a).total_cmp(&off(b)).then(b.balance_mg.cmp(&a.balance_mg))
        });
        wash.truncate(3);
        let areal = Areal::from_gsm(first.kind.facts().typical);
        let twin = SHEETS[0].mass(areal);
        // What is lacking is strip; what is bought has hems and offcuts.
        let gross = yields.of_kind(first.kind).gross(short);
        Some(Self {
            kind: first.kind,
            colour: colour.map(|hex| (first.part.colour_name.clone(), hex)),
            rugs: needs.len(),
            sheets: format!("{:.1}", gross.ratio(twin)),
            buy: purchase(gross, areal, units),
            short,
            wash,
        })
    }

    /// The plain name of the colour to look for in a shop.
    pub(super) fn looked_for(&self) -> String {
        self.colour.as_ref().map_or_else(
            || "any colour".to_owned(),
            |(_, hex)| format!("near {}", nearest(*hex).name.to_lowercase()),
        )
    }
}

fn purchase(gross: Mass, areal: Areal, units: Units) -> String {
    let counts = least_sheets(gross, areal);
    let some = || SHEETS.iter().zip(counts).filter(|(_, count)| *count > 0);
    let names: Vec<String> = some().map(|(sheet, count)| format!("{count} {}", sheet.name)).collect();
    let many = counts.iter().sum::<u32>() > 1;
    let weight: Mass = some().map(|(sheet, count)| sheet.mass(areal) * i64::from(count)).sum();
    format!(
        "{} flat sheet{}, {} in all",
        names.join(" and "),
        if many { "s" } else { "" },
        weight.show(units)
    )
}

/// What is lacking, the most first; colours of one name and look are bought together.
pub(super) fn lacks(
    short: &[(&PartNeed, Mass)],
    offered: &[Offered],
    yields: &Yields,
    units: Units,
) -> Vec<Lack> {
    let key = |need: &PartNeed| {
        (need.part.warp, need.kind, need.part.colour_name.clone(), need.part.colour_hex.clone())
    };
    let mut left: Vec<(&PartNeed, Mass)> = short.to_vec();
    let mut all = Vec::new();
    while let Some((first, _)) = left.first() {
        let first = key(first);
        let (same, others): (Vec<_>, Vec<_>) = left.into_iter().partition(|(need, _)| key(need) == first);
        all.extend(Lack::of(&same, offered, yields, units));
        left = others;
    }
    all.sort_by_key(|lack| std::cmp::Reverse(lack.short));
    all
}
