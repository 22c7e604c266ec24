//! What a workroom or a person measures in, and the workroom's time zone, read from a form.
use jiff::tz::TimeZone;

use crate::store::units_word;
use crate::units::Units;
use crate::web::Form;

/// Reads a system of units.
pub(in crate::web) fn read_units(form: &mut Form) -> Option<Units> {
    let chosen =
        [Units::Inches, Units::Metric].into_iter().find(|units| units_word(*units) == form.value("units"));
    if chosen.is_none() {
        form.add_error("units", "Choose what to measure in: inches and pounds, or centimetres and grams.");
    }
    chosen
}

/// Reads an IANA time zone name.
pub(in crate::web) fn read_zone(form: &mut Form) -> Option<String> {
    let zone = form.value("time_zone").trim().to_owned();
    if zone.is_empty() || TimeZone::get(&zone).is_err() {
        form.add_error("time_zone", "Choose a time zone from the list, such as America/New_York.");
        return None;
    }
    Some(zone)
}
