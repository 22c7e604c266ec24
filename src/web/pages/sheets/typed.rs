//! The form for sheets: rows of equal sheets with their hems, corners and spoilt places, filled from bundles or typed.
use super::purpose::Purpose;
use crate::optimize::cutting::{Blocked, Sheet, Way};
use crate::optimize::sheets::{Lot, MOST_SHEETS, Wish};
use crate::planning::colour::NEAR;
use crate::store::cloth::bundles::Bundle;
use crate::units::{Length, Units};
use crate::web::Form;

/// The most rows of equal sheets, and the most spoilt places of one.
pub(super) const MOST_LOTS: usize = 8;
pub(super) const MOST_STAINS: usize = 4;
/// The four measures of a spoilt place: along the sheet from, to; across it from, to.
pub(super) const STAIN: [&str; 4] = ["from", "to", "left", "right"];

/// A name of a field of row `n`, counted from 1.
pub(super) fn field(n: usize, what: &str) -> String {
    format!("lot-{n}-{what}")
}

/// A name of a measure of spoilt place `m` of row `n`.
pub(super) fn stain_field(n: usize, m: usize, what: &str) -> String {
    format!("lot-{n}-stain-{m}-{what}")
}

/// What sheets are looked for, and where they come from.
pub(super) struct SheetsAsked {
    pub wish: Wish,
    /// Rows that were filled in.
    pub lots: Vec<Lot>,
    /// Of each, what it is called and which bundle it is of.
    pub names: Vec<(String, Option<usize>)>,
    /// Whether strips are torn.
    pub torn: bool,
}

/// The form before anything was asked.
pub(super) fn blank(purpose: &Purpose, units: Units) -> Form {
    Form::blank(units)
        .with("wanted", purpose.wanted.map_or(String::new(), |wanted| rounded(wanted, units)))
        .with("strip", purpose.strip.exact(units))
        .with("join", purpose.join.exact(units))
        .with("least", Length::inches(12.0).exact(units))
        .with("way", "any")
}

/// A long strip, rounded up to what anybody would type.
fn rounded(length: Length, units: Units) -> String {
    match units {
        Units::Inches => format!("{} yd", (length.yards() * 2.0).ceil() / 2.0),
        Units::Metric => format!("{} m", (length.metres() * 2.0).ceil() / 2.0),
    }
}

/// Whether a row has nothing in it.
fn is_empty(form: &Form, n: usize) -> bool {
    ["bundle", "count", "length", "width"].iter().all(|what| form.is_empty(&field(n, what)))
}

/// Whether no row has anything in it.
pub(super) fn is_bare(form: &Form) -> bool {
    (1..=MOST_LOTS).all(|n| is_empty(form, n))
}

/// How many rows the form shows: those filled in and one to spare.
pub(super) fn rows(form: &Form) -> usize {
    let last = (1..=MOST_LOTS).rev().find(|&n| !is_empty(form, n)).unwrap_or(0);
    (last + 1).min(MOST_LOTS)
}

/// How many spoilt places a row shows.
pub(super) fn stains(form: &Form, n: usize) -> usize {
    let filled = |m: usize| STAIN.iter().any(|what| !form.is_empty(&stain_field(n, m, what)));
    let last = (1..=MOST_STAINS).rev().find(|&m| filled(m)).unwrap_or(0);
    (last + 1).min(MOST_STAINS)
}

/// Fills a row with a bundle's sheets.
pub(super) fn put(form: &mut Form, n: usize, bundle: &Bundle, count: Option<u32>) {
    let units = form.units();
    form.set(&field(n, "bundle"), bundle.id);
    if let Some(count) = count {
        form.set(&field(n, "count"), count);
    }
    for (what, side) in [("length", bundle.sheet_length_nm), ("width", bundle.sheet_width_nm)] {
        if let Some(side) = side {
            form.set(&field(n, what), side.exact(units));
        }
    }
    form.set(&field(n, "hem"), bundle.sheet_hem_nm.unwrap_or(Length::inches(1.0)).exact(units));
}

/// Fills the rows with the bundles that serve best: of the cloth that is wanted, nearest in colour, oldest first, until they
/// suffice.
pub(super) fn suggest(form: &mut Form, purpose: &Purpose, bundles: &[Bundle]) {
    let Some(wanted) = purpose.wanted else { return };
    let apart = |bundle: &Bundle| purpose.hex.map_or(0.0, |hex| hex.difference(bundle.colour_hex));
    let mut fit: Vec<(&Bundle, u32, Length, Length)> = bundles
        .iter()
        .filter(|bundle| purpose.kind == Some(bundle.kind) && apart(bundle) <= NEAR)
        .filter_map(|b| {
            Some((b, b.sheets_left().filter(|&left| left > 0)?, b.sheet_length_nm?, b.sheet_width_nm?))
        })
        .collect();
    fit.sort_by(|a, b| apart(a.0).total_cmp(&apart(b.0)).then(a.0.tag.cmp(&b.0.tag)));
    // Hems, edges and joins take a part of what the area would give.
    let (enough, hems) = (wanted.scale(1.1), Length::inches(2.0));
    let mut gives = Length::ZERO;
    for (n, (bundle, left, length, width)) in (1..=MOST_LOTS / 2).zip(fit) {
        let one = (length - hems).scale((width - hems).ratio(purpose.strip));
        let lacking = (enough - gives).ratio(one).ceil() as u32;
        let count = left.min(lacking.max(1) + 1);
        put(form, n, bundle, Some(count));
        gives += one * i64::from(count);
        if gives >= enough {
            break;
        }
    }
}

/// Reads what is wanted and every row; what is wrong stands at its field.
pub(super) fn read(form: &mut Form, purpose: &Purpose, bundles: &[Bundle]) -> Option<SheetsAsked> {
    let inches = Length::inches;
    let length = form.length("wanted", inches(1.0), inches(36_000.0));
    let width = form.length("strip", inches(0.25), inches(6.0));
    let join = if purpose.join == Length::ZERO {
        Some(Length::ZERO)
    } else {
        form.length("join", Length::ZERO, inches(12.0))
    };
    let least = form.length("least", join.unwrap_or_default(), inches(240.0));
    let (ways, torn) = match form.value("way") {
        "torn" => (vec![Way::Straight], true),
        "cut" => (vec![Way::Straight], false),
        "continuous" => (vec![Way::Continuous], false),
        "any" => (vec![Way::Straight, Way::Continuous], false),
        _ => {
            form.add_error("way", "Choose how the sheets become strips.");
            (Vec::new(), false)
        }
    };
    let (mut lots, mut names) = (Vec::new(), Vec::new());
    for n in (1..=MOST_LOTS).filter(|&n| !is_empty(form, n)).collect::<Vec<_>>() {
        if let Some((lot, name)) = read_lot(form, n, bundles) {
            lots.push(lot);
            names.push(name);
        }
    }
    if form.is_ok() && lots.is_empty() {
        form.add_error(
            &field(1, "bundle"),
            "Choose a bundle, or type how many sheets there are and how large they are.",
        );
    }
    let sheets: usize = lots.iter().map(|lot| lot.count as usize).sum();
    if sheets > MOST_SHEETS {
        form.add_error(
            &field(1, "count"),
            format!("{sheets} sheets are too many: at most {MOST_SHEETS} can be planned at once."),
        );
    }
    let wish = Wish { length: length?, width: width?, join: join?, least: least?, ways };
    form.is_ok().then_some(SheetsAsked { wish, lots, names, torn })
}

fn read_lot(form: &mut Form, n: usize, bundles: &[Bundle]) -> Option<(Lot, (String, Option<usize>))> {
    let chosen = form.value(&field(n, "bundle")).to_owned();
    let at = bundles.iter().position(|bundle| bundle.id.to_string() == chosen);
    if at.is_none() && !chosen.is_empty() {
        form.add_error(
            &field(n, "bundle"),
            "This bundle is not ready on the shelf any more. Choose another.",
        );
    }
    if let Some(bundle) = at.map(|at| &bundles[at]) {
        fill_in(form, n, bundle);
    }
    let count = form.count(&field(n, "count"), "The number of sheets", 1..=MOST_SHEETS as i64);
    let side =
        |form: &mut Form, what| form.length(&field(n, what), Length::inches(4.0), Length::inches(390.0));
    let (along, across) = (side(form, "length"), side(form, "width"));
    let half = along.unwrap_or_default().min(across.unwrap_or_default()).scale(0.5);
    let off = |form: &mut Form, what| {
        if form.is_empty(&field(n, what)) {
            Some(Length::ZERO)
        } else {
            form.length(&field(n, what), Length::ZERO, half)
        }
    };
    let (hem, corners) = (off(form, "hem"), off(form, "corners"));
    let mut spoilt = Vec::new();
    for m in 1..=MOST_STAINS {
        spoilt.extend(read_stain(form, n, m, along.unwrap_or_default(), across.unwrap_or_default()));
    }
    let name = at.map_or_else(
        || format!("Row {n}"),
        |at| format!("Bundle {}, {}", bundles[at].tag, bundles[at].colour_name),
    );
    let sheet = Sheet { along: along?, across: across?, hem: hem?, corners: corners?, stains: spoilt };
    Some((Lot { sheet, count: u32::try_from(count?).ok()? }, (name, at)))
}

/// What was left empty beside a bundle is the bundle's.
fn fill_in(form: &mut Form, n: usize, bundle: &Bundle) {
    let units = form.units();
    if form.is_empty(&field(n, "count"))
        && let Some(left) = bundle.sheets_left()
    {
        form.set(&field(n, "count"), left);
    }
    for (what, side) in [("length", bundle.sheet_length_nm), ("width", bundle.sheet_width_nm)] {
        let name = field(n, what);
        match side {
            Some(side) if form.is_empty(&name) => form.set(&name, side.exact(units)),
            None if form.is_empty(&name) => {
                form.add_error(
                    &name,
                    format!("No sheet of bundle {} was measured: type how large they are.", bundle.tag),
                );
            }
            _ => {}
        }
    }
}

fn read_stain(form: &mut Form, n: usize, m: usize, along: Length, across: Length) -> Option<Blocked> {
    let names = STAIN.map(|what| stain_field(n, m, what));
    if names.iter().all(|name| form.is_empty(name)) {
        return None;
    }
    let [from, to, left, right] = [&names[0], &names[1], &names[2], &names[3]];
    let from_at = form.length(from, Length::ZERO, along);
    let to_at = form.length(to, from_at.unwrap_or_default(), along);
    let left_at = form.length(left, Length::ZERO, across);
    let right_at = form.length(right, left_at.unwrap_or_default(), across);
    Some(Blocked { along: (from_at?, to_at?), across: (left_at?, right_at?) })
}
