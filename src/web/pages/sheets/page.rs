//! The page of sheets to cut: the form, and each sheet drawn with its cut lines and strip numbers.
use std::sync::Arc;

use askama_web::WebTemplate;

use super::purpose::Purpose;
use super::typed::{self, MOST_LOTS, SheetsAsked};
use crate::drawing::cuts::CutPicture;
use crate::optimize::sheets::Choice;
use crate::services::paper_data::{Cuttings, Document, Reader, SheetCut, cutting};
use crate::services::rug_plan::RugPlan;
use crate::store::cloth::bundles::Bundle;
use crate::store::rugs::Rug;
use crate::units::{Units, isolated};
use crate::web::{CurrentUser, Form, Layout};

/// So many bundles are offered, the newest of those that the words find, besides what is chosen.
const OFFERED: usize = 60;

#[derive(askama::Template, WebTemplate)]
#[template(path = "sheets/page.html")]
pub(super) struct SheetsPage {
    layout: Layout,
    purpose: Purpose,
    form: Form,
    bundles: Vec<(String, String)>,
    /// Whether there are more than are offered, so that a search is worth its place.
    long: bool,
    rows: Vec<LotRow>,
    chosen: Option<Chosen>,
    units: Units,
}

impl SheetsPage {
    /// Where the same choice is as PDF.
    fn pdf(&self) -> String {
        format!("{}.pdf?{}", self.purpose.action, self.form.serialize(&["size"]))
    }
}

/// A row of the form, with the names of its fields.
struct LotRow {
    n: usize,
    names: [String; 6],
    stains: Vec<[String; 4]>,
}

impl LotRow {
    fn of(form: &Form, n: usize) -> Self {
        let names =
            ["bundle", "count", "length", "width", "hem", "corners"].map(|what| typed::field(n, what));
        let stain = |m| typed::STAIN.map(|what| typed::stain_field(n, m, what));
        Self { n, names, stains: (1..=typed::stains(form, n)).map(stain).collect() }
    }

    /// Whether its hems, corners and spoilt places are shown at once.
    fn open(&self, form: &Form) -> bool {
        let stains =
            self.stains.iter().flatten().any(|name| !form.is_empty(name) || form.error(name).is_some());
        stains
            || !form.is_empty(&self.names[5])
            || self.names[4..].iter().any(|name| form.error(name).is_some())
    }
}

/// What to cut.
struct Chosen {
    choice: Choice,
    drawn: Vec<DrawnSheets>,
    /// From each bundle: how many sheets, and about what weight.
    pull: Vec<String>,
    torn: bool,
}

/// Sheets that are cut alike.
struct DrawnSheets {
    name: String,
    sheets: usize,
    how: String,
    /// Which strips each gives.
    numbers: Vec<String>,
    length: String,
    picture: String,
}

impl Chosen {
    fn of(asked: &SheetsAsked, choice: Choice, bundles: &[Bundle], units: Units) -> Self {
        let drawn = asked.cuts(&choice, units).into_iter().map(|cut| DrawnSheets::of(cut, units)).collect();
        let pull = pull(asked, &choice, bundles, units);
        Self { drawn, torn: asked.torn, pull, choice }
    }

    fn strips(&self) -> usize {
        strips(&self.choice)
    }
}

fn strips(choice: &Choice) -> usize {
    choice.opened.iter().map(|opened| opened.strips.len()).sum()
}

impl SheetsAsked {
    fn cuts<'a>(&'a self, choice: &'a Choice, units: Units) -> Vec<SheetCut<'a>> {
        let names: Vec<&str> = self.names.iter().map(|(name, _)| name.as_str()).collect();
        SheetCut::all(choice, &names, self.wish.width, self.torn, units)
    }
}

impl DrawnSheets {
    fn of(cut: SheetCut, units: Units) -> Self {
        let picture = CutPicture {
            sheet: cut.sheet,
            strips: cut.strips,
            width: cut.width,
            first: cut.first,
            name: cut.name,
            units,
            id: &format!("sheet-{}", cut.at + 1),
        };
        Self {
            picture: picture.svg(),
            name: cut.name.to_owned(),
            sheets: cut.sheets,
            how: cut.how,
            numbers: cut.numbers,
            length: cut.length,
        }
    }
}

/// The choice as a paper; with a rug's plan also how its warp is wound.
pub(super) fn document(
    reader: &Reader,
    purpose: &Purpose,
    choice: Option<&(SheetsAsked, Choice)>,
    bundles: &[Bundle],
    rug: Option<&(Rug, Arc<RugPlan>)>,
) -> Document {
    let cuts = choice.map_or_else(Vec::new, |(asked, choice)| asked.cuts(choice, reader.units));
    let (title, under) = match rug {
        Some((rug, _)) => (
            "Winding and cutting plan",
            format!("{}: {}, the warp", isolated(&rug.weaver), isolated(&rug.fields.name)),
        ),
        None => ("Cutting plan", purpose.title.clone()),
    };
    let path = if purpose.part.is_empty() {
        purpose.action.clone()
    } else {
        format!("{}?part={}", purpose.action, purpose.part)
    };
    let pull = choice.map_or_else(Vec::new, |(asked, choice)| pull(asked, choice, bundles, reader.units));
    let made = choice.map(|(_, choice)| Cuttings { strips: strips(choice), joins: choice.joins });
    cutting(reader, (title, under), &path, (&pull, &cuts, made), rug.map(|(rug, known)| (rug, &**known)))
}

/// What to take from the shelf, bundle by bundle.
fn pull(asked: &SheetsAsked, choice: &Choice, bundles: &[Bundle], units: Units) -> Vec<String> {
    let of_lot = |lot: usize| choice.opened.iter().filter(|opened| opened.lot == lot).count();
    let told = asked.names.iter().enumerate().filter(|(lot, _)| of_lot(*lot) > 0).map(|(lot, (name, at))| {
        let (count, there) = (of_lot(lot), asked.lots[lot].count);
        let sheets = if there == 1 { "sheet" } else { "sheets" };
        let weight = at.and_then(|at| {
            let bundle = &bundles[at];
            let one = bundle.first_mg.scale(1.0 / bundle.sheets? as f64);
            Some(format!(", about {}", one.scale(count as f64).min(bundle.balance_mg).show(units)))
        });
        format!("{name}: {count} of {there} {sheets}{}", weight.unwrap_or_default())
    });
    told.collect()
}

impl SheetsPage {
    pub(super) fn of(
        me: &CurrentUser,
        purpose: Purpose,
        form: Form,
        bundles: &[Bundle],
        choice: Option<(SheetsAsked, Choice)>,
    ) -> Self {
        let units = me.units();
        let fits = |bundle: &&Bundle| purpose.kind.is_none_or(|kind| kind == bundle.kind);
        let picked = |bundle: &&Bundle| {
            let id = bundle.id.to_string();
            (1..=MOST_LOTS).any(|n| form.value(&typed::field(n, "bundle")) == id)
        };
        let looked = form.value("find").to_lowercase();
        let found = |said: &str| looked.split_whitespace().all(|word| said.to_lowercase().contains(word));
        let offered: Vec<(bool, String, String)> = bundles
            .iter()
            .filter(|bundle| fits(bundle) || picked(bundle))
            .map(|bundle| (picked(&bundle), bundle.id.to_string(), words(bundle, units)))
            .filter(|(picked, _, said)| *picked || found(said))
            .collect();
        let long = offered.len() > OFFERED || !looked.trim().is_empty();
        let mut room = OFFERED;
        let mut bundles_offered = Vec::new();
        for (picked, id, said) in offered {
            if !picked && room == 0 {
                continue;
            }
            room -= usize::from(!picked);
            bundles_offered.push((id, said));
        }
        Self {
            layout: me.layout(),
            bundles: bundles_offered,
            long,
            rows: (1..=typed::rows(&form)).map(|n| LotRow::of(&form, n)).collect(),
            chosen: choice.map(|(asked, choice)| Chosen::of(&asked, choice, bundles, units)),
            purpose,
            form,
            units,
        }
    }
}

/// A bundle as it is offered: `14: White, percale, 3 sheets of 96 in × 66 in`.
fn words(bundle: &Bundle, units: Units) -> String {
    let left = match (bundle.sheets_left(), bundle.sheet_length_nm, bundle.sheet_width_nm) {
        (Some(left), Some(length), Some(width)) => {
            let sheets = if left == 1 { "sheet" } else { "sheets" };
            format!("{left} {sheets} of {} × {}", length.show(units), width.show(units))
        }
        (Some(left), ..) => format!("{left} sheets, not measured"),
        _ => format!("{}, not counted", bundle.balance_mg.show(units)),
    };
    format!("{}: {}, {}, {left}", bundle.tag, bundle.colour_name, bundle.kind.facts().title.to_lowercase())
}
