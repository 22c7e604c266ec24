//! Reads what was typed at the scale: weights with their basket, colours, sheets.
use super::Form;
use crate::planning::colour::{self, Hex};
use crate::store::cloth::bundles::Sheets;
use crate::store::cloth::ledger::Weighing;
use crate::units::{Length, Mass, Units};
use crate::web::http::form::LINE;

/// The value of the colour field that means "look at the field for another colour".
pub(super) const OWN: &str = "own";

/// What a field for another colour sends until a colour is picked; the form's macro `colour` shows it.
const UNTOUCHED: &str = "#808080";

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
        form.add_error(
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

pub(super) fn colour(form: &mut Form) -> Option<(String, Hex)> {
    let chosen = form.value("colour").to_owned();
    if let Some(named) = colour::named(&chosen) {
        return Some((named.name.to_owned(), named.hex));
    }
    if chosen != OWN {
        form.add_error("colour", "Choose a colour, or “Another” and give one below.");
        return None;
    }
    own(form, "own_name", "own_hex")
}

/// The other colour of a print or a stripe.
#[allow(clippy::option_option, reason = "not given is one answer, not understood another")]
pub(super) fn second(form: &mut Form) -> Option<Option<(String, Hex)>> {
    let chosen = form.value("second").to_owned();
    if chosen.is_empty() {
        // A colour that was picked counts without the choice that says so; an untouched field sends its grey.
        let picked = !form.is_empty("second_name") || !matches!(form.value("second_hex"), "" | UNTOUCHED);
        return if picked { own(form, "second_name", "second_hex").map(Some) } else { Some(None) };
    }
    if let Some(named) = colour::named(&chosen) {
        return Some(Some((named.name.to_owned(), named.hex)));
    }
    if chosen != OWN {
        form.add_error("second", "Choose a second colour, or “Another” and give one beside it.");
        return None;
    }
    own(form, "second_name", "second_hex").map(Some)
}

/// A colour given as it looks, with or without a name.
fn own(form: &mut Form, name: &str, hex: &str) -> Option<(String, Hex)> {
    let called = form.optional_text(name, "The colour’s name", LINE);
    let looks = Hex::parse(form.value(hex).trim()).map_err(|e| form.add_error(hex, e)).ok()?;
    let called = called?;
    let near = || format!("near {}", colour::nearest(looks).name.to_lowercase());
    Some((if called.is_empty() { near() } else { called }, looks))
}

#[allow(clippy::option_option, reason = "not given is one answer, not understood another")]
pub(super) fn sheets(form: &mut Form) -> Option<Option<Sheets>> {
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
