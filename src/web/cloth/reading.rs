//! Reads what was typed at the scale: weights with their basket, colours, sheets.
use super::Form;
use crate::craft::cloth::Kind;
use crate::craft::colour::{self, Hex};
use crate::craft::units::{Length, Mass, Units};
use crate::store::bundles::{BundleFields, Sheets};
use crate::store::ledger::Weighing;
use crate::web::form::{LINE, NOTE};

/// The value of the colour field that means "look at the field for another colour".
pub(super) const OWN: &str = "own";

/// The least and the most that a bundle may weigh, round in each system. What people lift onto a table scale.
fn range(units: Units) -> (Mass, Mass) {
    match units {
        Units::Inches => (Mass::from_pounds(0.05 / 16.0), Mass::from_pounds(200.0)),
        Units::Metric => (Mass::from_grams(1.0), Mass::from_grams(100_000.0)),
    }
}

/// A weight and its basket, from the fields `weight` and `tare` after a prefix. The cloth itself must weigh something,
/// unless `nothing` may be left.
pub(in crate::web) fn weighing(form: &mut Form, prefix: &str, nothing: bool) -> Option<Weighing> {
    let (weight, basket) = (format!("{prefix}weight"), format!("{prefix}tare"));
    let (least, most) = range(form.units());
    let tare = if matches!(form.value(&basket).trim(), "" | "0") {
        Some(Mass::ZERO)
    } else {
        form.mass(&basket, Mass::ZERO, most)
    };
    let gross = form.mass(&weight, if nothing { Mass::ZERO } else { least }, most);
    let (gross, tare) = (gross?, tare?);
    if gross < tare || (gross == tare && !nothing) {
        let (shown, tare) = (gross.exact(form.units()), tare.exact(form.units()));
        form.refuse(
            &weight,
            format!(
                "The scale shows {shown}, but the basket alone weighs {tare}: the whole must weigh more."
            ),
        );
        return None;
    }
    Some(Weighing { typed: form.value(&weight).trim().to_owned(), gross, tare })
}

/// A weighing that may be left out.
#[allow(clippy::option_option, reason = "left out is one answer, not understood another")]
pub(super) fn optional_weighing(form: &mut Form, prefix: &str) -> Option<Option<Weighing>> {
    if form.is_empty(&format!("{prefix}weight")) {
        return Some(None);
    }
    weighing(form, prefix, false).map(Some)
}

/// What is said of a bundle at the scale.
pub(super) fn fields(form: &mut Form) -> Option<BundleFields> {
    let kind = form.choice::<Kind>("kind", "the kind of cloth");
    let colour = colour(form);
    let washed = match form.value("washed") {
        "yes" => Some(true),
        "no" => Some(false),
        _ => {
            form.refuse("washed", "Choose whether it is washed.");
            None
        }
    };
    let sheets = sheets(form);
    let note = form.optional_text("note", "The note", NOTE);
    let (colour_name, colour_hex) = colour?;
    Some(BundleFields { kind: kind?, colour_name, colour_hex, washed: washed?, sheets: sheets?, note: note? })
}

fn colour(form: &mut Form) -> Option<(String, Hex)> {
    let chosen = form.value("colour").to_owned();
    if let Some(named) = colour::named(&chosen) {
        return Some((named.name.to_owned(), named.hex));
    }
    if chosen != OWN {
        form.refuse("colour", "Choose a colour, or “Another” and give one below.");
        return None;
    }
    let name = form.optional_text("own_name", "The colour’s name", LINE);
    let hex = Hex::parse(form.value("own_hex").trim()).map_err(|e| form.refuse("own_hex", e)).ok()?;
    let name = name?;
    Some((
        if name.is_empty() { format!("near {}", colour::nearest(hex).name.to_lowercase()) } else { name },
        hex,
    ))
}

#[allow(clippy::option_option, reason = "not given is one answer, not understood another")]
fn sheets(form: &mut Form) -> Option<Option<Sheets>> {
    let size_given = !form.is_empty("sheet_length") || !form.is_empty("sheet_width");
    if form.is_empty("sheets") && !size_given {
        return Some(None);
    }
    let count = form.count("sheets", "The number of sheets", 1..=500);
    if !size_given {
        return Some(Some(Sheets { count: count?, size: None }));
    }
    let (least, most) = match form.units() {
        Units::Inches => (Length::inches(1.0), Length::inches(400.0)),
        Units::Metric => (Length::millimetres(20.0), Length::millimetres(10_000.0)),
    };
    let length = form.length("sheet_length", least, most);
    let width = form.length("sheet_width", least, most);
    Some(Some(Sheets { count: count?, size: Some((length?, width?)) }))
}
