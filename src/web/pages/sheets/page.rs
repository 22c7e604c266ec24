//! The page of sheets to cut: the form, and each sheet drawn with its cut lines and strip numbers.
use askama_web::WebTemplate;

use super::purpose::Purpose;
use super::typed::{self, MOST_LOTS, SheetsAsked};
use crate::drawing::cuts::CutPicture;
use crate::optimize::cutting::{Strip, Way};
use crate::optimize::sheets::{Choice, Opened};
use crate::store::cloth::bundles::Bundle;
use crate::units::{Length, Units};
use crate::web::{CurrentUser, Form, Layout};

#[derive(askama::Template, WebTemplate)]
#[template(path = "sheets/page.html")]
pub(super) struct SheetsPage {
    layout: Layout,
    purpose: Purpose,
    form: Form,
    bundles: Vec<(String, String)>,
    rows: Vec<LotRow>,
    chosen: Option<Chosen>,
    units: Units,
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
        let mut drawn: Vec<(usize, DrawnSheets)> = Vec::new();
        let mut first = 1_u32;
        for (at, opened) in choice.opened.iter().enumerate() {
            let strips = opened.strips.len() as u32;
            let numbers = match strips {
                1 => format!("strip {first}"),
                _ => format!("strips {first}–{}", first + strips - 1),
            };
            match drawn.last_mut().filter(|(last, _)| alike(&choice.opened[*last], opened)) {
                Some((_, same)) => {
                    same.sheets += 1;
                    same.numbers.push(numbers);
                }
                None => drawn.push((at, DrawnSheets::of(asked, opened, at, first, numbers, units))),
            }
            first += strips;
        }
        let pull = pull(asked, &choice, bundles, units);
        Self { drawn: drawn.into_iter().map(|(_, drawn)| drawn).collect(), torn: asked.torn, pull, choice }
    }

    fn strips(&self) -> usize {
        self.choice.opened.iter().map(|opened| opened.strips.len()).sum()
    }
}

fn alike(one: &Opened, other: &Opened) -> bool {
    one.lot == other.lot && one.turned == other.turned && one.way == other.way && one.strips == other.strips
}

impl DrawnSheets {
    fn of(
        asked: &SheetsAsked,
        opened: &Opened,
        at: usize,
        first: u32,
        numbers: String,
        units: Units,
    ) -> Self {
        let name = asked.names[opened.lot].0.clone();
        let picture = CutPicture {
            sheet: &opened.sheet,
            strips: &opened.strips,
            width: asked.wish.width,
            first,
            name: &name,
            units,
            id: &format!("sheet-{}", at + 1),
        };
        let way = match (opened.way, asked.torn) {
            (Way::Straight, true) => "torn straight through",
            (Way::Straight, false) => "cut straight through",
            (Way::Continuous, _) => "cut to and fro, a bridge of one strip width left at alternate ends",
        };
        let side = if opened.turned { "width" } else { "length" };
        let length: Length = opened.strips.iter().map(Strip::length).sum();
        Self {
            how: format!("Strips run along its {side}, {way}."),
            sheets: 1,
            numbers: vec![numbers],
            length: length.show_long(units),
            picture: picture.svg(),
            name,
        }
    }
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
        let offered = bundles.iter().filter(|bundle| fits(bundle) || picked(bundle));
        Self {
            layout: me.layout(),
            bundles: offered.map(|bundle| (bundle.id.to_string(), words(bundle, units))).collect(),
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
