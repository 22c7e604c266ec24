//! A design as it is shown: its picture, what it takes, and the form of *Plan a rug* that it fills.
use super::common::{fault, filled};
use crate::drawing::rug_face::Ink;
use crate::optimize::design::{self, Design, DesignBand, KeptBand, Lacking, Miss, Part};
use crate::planning::colour::{Hex, nearest};
use crate::planning::{Face, Plan};
use crate::services::free_cloth::{FreeCloth, free_weight};
use crate::services::learning::Learning;
use crate::services::rug_input::RugInput;
use crate::store::PersonId;
use crate::store::rugs::{Colour, RugBand, RugFields};
use crate::units::{Length, Mass, Units};
use crate::web::Result;
use crate::web::http::form::LINE;

/// Bundles that a part is served by at most, as in a share-out.
pub(super) const MOST_BUNDLES: usize = 2;

/// A design as it is shown.
pub(super) struct Shown {
    pub title: String,
    pub picture: String,
    pub plan: Plan,
    pub bands: Vec<ShownBand>,
    pub cloth: Vec<ShownPart>,
    pub missed: Vec<String>,
    /// The fields of the form of *Plan a rug*.
    pub fields: Vec<(String, String)>,
}

/// A band of a design.
pub(super) struct ShownBand {
    pub words: String,
    pub kept: KeptBand,
}

/// What a part of a design takes.
pub(super) struct ShownPart {
    /// Name and look; nothing for the warp.
    pub colour: Option<(String, Hex)>,
    pub take: Mass,
    pub bundles: Vec<ShownBundle>,
}

pub(super) struct ShownBundle {
    pub tag: i64,
    pub weight: Mass,
    pub free: Mass,
}

/// What heights are read off a tape in.
pub(super) fn step(units: Units) -> Length {
    if units == Units::Metric { Length::millimetres(5.0) } else { Length::inches(0.25) }
}

pub(super) fn shown(
    design: &Design,
    id: &str,
    base: &RugFields,
    free: &FreeCloth,
    units: Units,
    (learning, weaver): (&Learning, PersonId),
) -> Result<Shown> {
    let mut hexes: Vec<Hex> = Vec::new();
    for hex in design.bands.iter().flat_map(|band| band.colours) {
        if !hexes.contains(&hex) {
            hexes.push(hex);
        }
    }
    let names = free.names(&hexes);
    let name = |hex: Hex| hexes.iter().position(|one| *one == hex).map_or("", |at| names[at].as_str());
    let colour = |hex: Hex| Colour { name: name(hex).to_owned(), hex: hex.to_string() };
    let bands: Vec<RugBand> = (design.bands.iter())
        .map(|band| RugBand {
            height: band.height,
            first: colour(band.colours[0]),
            other: colour(band.colours[1]),
            strip: None,
            chart: None,
        })
        .collect();
    let title = sentence(&names);
    let fields = RugFields {
        name: title.chars().take(LINE).collect(),
        warp_kind: design.warp_kind,
        weft_kind: design.weft_kind,
        ..base.clone()
    };
    let mut planned = RugInput::of(&fields, &bands, units).map_err(|why| fault(&why))?;
    learning.apply_learned(&mut planned, weaver, units);
    let plan = planned.plan(units).map_err(|why| fault(&why))?;
    let picture = planned.picture(&plan, Face::Front, Ink::Colour, id)?;
    let mut cloth: Vec<ShownPart> = Vec::new();
    for part in std::iter::once(Part::Warp).chain(hexes.iter().map(|hex| Part::Weft(*hex))) {
        let own = || design.uses.iter().filter(|one| one.part == part);
        let of_bundle = |one: &design::Use| {
            let bundle = &free.bundles[one.cloth];
            ShownBundle {
                tag: bundle.tag,
                weight: free.weight(one.cloth, one.grams),
                free: free_weight(bundle),
            }
        };
        let bundles: Vec<ShownBundle> = own().map(of_bundle).collect();
        if bundles.is_empty() {
            continue;
        }
        let colour = match part {
            Part::Warp => None,
            Part::Weft(hex) => Some((name(hex).to_owned(), hex)),
        };
        let take = Mass::from_grams(own().map(|one| one.grams).sum::<i64>() as f64);
        cloth.push(ShownPart { colour, take, bundles });
    }
    let missed = design.misses.iter().map(|miss| match miss {
        Miss::Colours => {
            format!("It has {}: the shelf has none with the number wished for.", colours(hexes.len()))
        }
        Miss::BuildOn(hex) => {
            format!("It has no {}: the shelf has too little near it.", nearest(*hex).name.to_lowercase())
        }
    });
    let mut from = Length::ZERO;
    let shown_band = |band: &DesignBand| {
        let kept = KeptBand { from, band: *band };
        from += band.height;
        let [first, other] = band.colours.map(name);
        let colours =
            if first == other { first.to_owned() } else { format!("{first} with {}", other.to_lowercase()) };
        ShownBand { words: format!("{} of {colours}", band.height.show(units)), kept }
    };
    Ok(Shown {
        title,
        picture,
        plan,
        bands: design.bands.iter().map(shown_band).collect(),
        cloth,
        missed: missed.collect(),
        fields: filled(&fields, &bands, units),
    })
}

fn colours(count: usize) -> String {
    if count == 1 { "one colour".to_owned() } else { format!("{count} colours") }
}

/// `Mustard, brown and white`.
fn sentence(names: &[String]) -> String {
    let lower: Vec<String> = names
        .iter()
        .enumerate()
        .map(|(at, name)| if at == 0 { name.clone() } else { name.to_lowercase() })
        .collect();
    match lower.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
        None => String::new(),
    }
}

pub(super) fn lacking_words(lacking: Lacking, units: Units) -> String {
    let show = |grams: i64| Mass::from_grams(grams as f64).show(units);
    match lacking {
        Lacking::Warp { needed, there } => format!(
            "The warp alone takes {} of strip from {MOST_BUNDLES} bundles at most that are fit for it, and {} is free. \
             A smaller frame takes less.",
            show(needed),
            show(there)
        ),
        Lacking::Weft { needed, there } => format!(
            "The weft takes {} of strip of one kind of cloth, and {} is free. A smaller frame takes less.",
            show(needed),
            show(there)
        ),
        Lacking::Wishes => {
            "There is cloth enough, but not in colours that keep these wishes. Wish for less, or for fewer colours."
                .to_owned()
        }
    }
}
