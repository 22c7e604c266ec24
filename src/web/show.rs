//! How things are written out for people: moments and days in the workroom's time zone, and tables to take away.
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _, civil};

use super::Error;
use crate::store::Instant;
use crate::store::terms::Meeting;

/// A moment: `Wed 25 Nov 2026, 18:30`.
pub(super) fn moment(at: Instant, zone: &TimeZone) -> String {
    at.0.to_zoned_datetime(zone.clone()).strftime("%a %-d %b %Y, %H:%M").to_string()
}

/// A moment for a table that a program reads: `2026-11-25T18:30:00+01:00`.
pub(super) fn stamp(at: Instant, zone: &TimeZone) -> String {
    at.0.to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// A day: `Wednesday 25 November 2026`.
pub(super) fn day(day: civil::Date) -> String {
    day.strftime("%A %-d %B %Y").to_string()
}

/// A day where space is short: `Wed 25 Nov`.
pub(super) fn short_day(day: civil::Date) -> String {
    day.strftime("%a %-d %b").to_string()
}

/// A time of day: `18:30`.
pub(super) fn time(time: civil::Time) -> String {
    time.strftime("%H:%M").to_string()
}

/// When a meeting is over: its length counts from its start on the workroom's clock, whatever the clocks do meanwhile.
pub(super) fn end_of(meeting: &Meeting, zone: &TimeZone) -> Option<Timestamp> {
    let starts = meeting.on_day.0.to_datetime(meeting.starts_at.0);
    stretch(starts, meeting.minutes, zone).map(|(_, end)| end)
}

/// From when to when something lasts that starts so on the workroom's clock; nothing where no instant is meant.
pub(super) fn stretch(
    starts: civil::DateTime,
    minutes: i64,
    zone: &TimeZone,
) -> Option<(Timestamp, Timestamp)> {
    let start = zone.to_timestamp(starts).ok()?;
    Some((start, start.checked_add(minutes.minutes()).ok()?))
}

/// Minutes as people say them: `45 min`, `6 h 5 min`.
pub(super) fn minutes(minutes: f64) -> String {
    let whole = minutes.round().max(0.0) as i64;
    match (whole / 60, whole % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

/// A chance, 0 to 1, as so many in ten, rounded down: nobody is promised more than is known.
pub(super) fn in_ten(chance: f64) -> u32 {
    (chance * 10.0).floor().clamp(0.0, 10.0) as u32
}

/// A table as CSV (RFC 4180). Cells that a spreadsheet would take for a formula are led by an apostrophe;
/// numbers of less than nothing are numbers.
pub(super) fn csv<const N: usize>(
    head: &[&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    out.write_record(head)?;
    for row in rows {
        out.write_record(row.map(|cell| {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
            if formula { format!("'{cell}") } else { cell }
        }))?;
    }
    out.into_inner().map_err(|e| csv::Error::from(std::io::Error::other(e.to_string())))
}

/// A table as a CSV file to take away.
pub(super) fn csv_file<const N: usize>(
    name: &'static str,
    head: &[&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> Result<Response, Error> {
    let csv = csv(head, rows).map_err(|e| Error::Internal(e.to_string()))?;
    let kind = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    Ok((kind, csv).into_response())
}

#[cfg(test)]
mod tests {
    use super::{csv, minutes};

    #[test]
    fn minutes_are_said_in_hours() {
        assert_eq!(minutes(0.4), "0 min");
        assert_eq!(minutes(59.6), "1 h");
        assert_eq!(minutes(365.0), "6 h 5 min");
    }

    #[test]
    fn a_cell_never_becomes_a_formula() {
        let table = csv(&["a"], [["=1+1".to_owned()], ["plain, said".to_owned()]].into_iter()).unwrap();
        assert_eq!(String::from_utf8(table).unwrap(), "a\r\n'=1+1\r\n\"plain, said\"\r\n");
        let table = csv(&["a"], [["-1.5".to_owned()], ["-1+2".to_owned()]].into_iter()).unwrap();
        assert_eq!(String::from_utf8(table).unwrap(), "a\r\n-1.5\r\n'-1+2\r\n");
    }
}
