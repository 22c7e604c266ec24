//! Reads what was typed at the scale: weights with their basket, colours, sheets.
use super::Form;
use crate::planning::colour::{self, Hex};
use crate::planning::usable::{Hems, SizeFrom};
use crate::secrets;
use crate::store::PersonId;
use crate::store::cloth::bundles::Sheets;
use crate::store::cloth::ledger::Weighing;
use crate::units::{Length, Mass, Units};
use crate::web::http::form::LINE;

/// The value of the colour field that means "look at the field for another colour".
pub(super) const OWN: &str = "own";

/// What a field for another colour sends until a colour is picked; the form's macro `colour` shows it.
const UNTOUCHED: &str = "#808080";

/// Whose weigh-ins wait on a device, as a mark that tells nothing.
pub(in crate::web) fn mark(person: PersonId) -> String {
    secrets::secret_hash(&person.to_string()).chars().take(12).collect()
}

/// The least and the most that a bundle may weigh, round in each system. What people lift onto a table scale, and no more at the least
/// than the gram that a share-out may promise.
fn range(units: Units) -> (Mass, Mass) {
    match units {
        Units::Inches => (Mass::from_pounds(0.03 / 16.0), Mass::from_pounds(200.0)),
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

/// Whether a weight is more than a limit, and was more than what a page told of it: pages round, and scales do.
pub(in crate::web) fn is_beyond(weight: Mass, most: Mass, units: Units) -> bool {
    weight > most && weight.show(units) != most.show(units)
}

/// A weighing that a page's rounding made a little more than what is there is of all that is there; what was typed stays.
pub(in crate::web) fn as_shown(weighing: &mut Weighing, there: Mass, units: Units) {
    if weighing.net() > there && !is_beyond(weighing.net(), there, units) {
        weighing.gross = there + weighing.tare;
    }
}

/// A weight from the scale's two boxes, `weight` and `weight_oz`, where a number alone is of its box's unit; what was typed
/// stays in them.
pub(super) fn boxes(form: &mut Form) -> Option<Weighing> {
    let typed = form.value("weight").to_owned();
    let whole = in_boxes(&typed, form.value("weight_oz"), form.units());
    form.set("weight", whole);
    let weighing = weighing(form, "", false);
    if weighing.is_none() {
        form.set("weight", typed);
    }
    weighing
}

/// What two boxes say together: `2` and `3.5` are `2 lb 3.5 oz`, `2 lb 3.5` is the same, `5.5` alone is `5.5 lb`; for metric
/// people `1.006` is `1.006 kg`. static/weigh-in-check.js reads them alike.
fn in_boxes(first: &str, second: &str, units: Units) -> String {
    let (first, second) = (first.trim(), second.trim());
    let named = |typed: &str, unit: &str| {
        let bare = !typed.is_empty() && !typed.chars().any(char::is_alphabetic);
        if bare { format!("{typed} {unit}") } else { typed.to_owned() }
    };
    match units {
        Units::Metric => named(first, "kg"),
        Units::Inches if second.is_empty() => ounces_after_pounds(&named(first, "lb")),
        Units::Inches => format!("{} {}", named(first, "lb"), named(second, "oz")).trim().to_owned(),
    }
}

/// A number that follows pounds without a unit of its own is ounces.
fn ounces_after_pounds(typed: &str) -> String {
    let Some((at, last)) = typed.char_indices().rev().find(|(_, c)| c.is_alphabetic()) else {
        return typed.to_owned();
    };
    let (before, after) = typed.split_at(at + last.len_utf8());
    let unit = before.rsplit(|c: char| !c.is_alphabetic()).next().unwrap_or_default().to_lowercase();
    let number = after.trim_matches(|c: char| c.is_whitespace() || matches!(c, '.' | ','));
    let pounds = matches!(unit.as_str(), "lb" | "lbs" | "pound" | "pounds");
    if pounds && !number.is_empty() { format!("{typed} oz") } else { typed.to_owned() }
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
    let hems_given = !form.is_empty("sheet_hem") || !form.is_empty("sheet_top_hem");
    let size_given = hems_given || !form.is_empty("sheet_length") || !form.is_empty("sheet_width");
    if form.is_empty("sheets") && !size_given {
        return Some(None);
    }
    let count = form.count("sheets", "The number of sheets", 1..=500);
    if !size_given {
        return Some(Some(Sheets::plain(count?, None)));
    }
    let (least, most) = match form.units() {
        Units::Inches => (Length::inches(1.0), Length::inches(400.0)),
        Units::Metric => (Length::millimetres(20.0), Length::millimetres(10_000.0)),
    };
    let length = form.length("sheet_length", least, most);
    let width = form.length("sheet_width", least, most);
    let hems = hems(form, length.unwrap_or(most));
    let from = if form.value("sheet_size") == LABEL { SizeFrom::Label } else { SizeFrom::Measured };
    Some(Some(Sheets { count: count?, size: Some((length?, width?)), hems: hems?, from }))
}

/// What the field for a size's origin sends where it is the label's.
pub(super) const LABEL: &str = "label";

/// The hems of a sheet: none given, the narrower alone, or both, which leave something of its length.
#[allow(clippy::option_option, reason = "not given is one answer, not understood another")]
fn hems(form: &mut Form, length: Length) -> Option<Option<Hems>> {
    let most = length.scale(0.25);
    if form.is_empty("sheet_hem") && form.is_empty("sheet_top_hem") {
        return Some(None);
    }
    let hem = form.length("sheet_hem", Length::ZERO, most);
    let top = form
        .optional("sheet_top_hem", None, |form| form.length("sheet_top_hem", Length::ZERO, most).map(Some));
    Some(Some(Hems { hem: hem?, top: top? }))
}

#[cfg(test)]
mod tests {
    use super::in_boxes;
    use crate::units::{Mass, Units};

    #[test]
    fn a_number_alone_is_of_its_boxs_unit() {
        // 16 oz to the pound (NIST Handbook 44, appendix C).
        let read = |first, second| Mass::parse(&in_boxes(first, second, Units::Inches), Units::Inches);
        for (first, second, is) in [
            ("2", "3.5", 35.5),
            ("2 lb 3.5", "", 35.5),
            ("1 lb 12", "", 28.0),
            ("2lb, 3 1/2", "", 35.5),
            ("5.5", "", 88.0),
            ("1½", "", 24.0),
            ("", "12", 12.0),
            ("2 lb 3.5 oz", "", 35.5),
            ("35.5oz", "", 35.5),
            ("2 lb", "3.5 oz", 35.5),
            ("2 lb.", "", 32.0),
        ] {
            // Pounds and ounces are each taken to a milligram.
            let off = read(first, second).unwrap().grams() - Mass::from_pounds(is / 16.0).grams();
            assert!(off.abs() < 0.0011, "{first:?} {second:?}: {off} g");
        }
        assert_eq!(in_boxes("1.006", "", Units::Metric), "1.006 kg");
        assert_eq!(in_boxes("1006 g", "", Units::Metric), "1006 g");
        assert_eq!(in_boxes("", "", Units::Inches), "");
        for wrong in ["2 kg 3", "3 oz 2", "two", "2 lb 3 lb"] {
            assert!(read(wrong, "").is_err(), "{wrong}");
        }
    }
}
