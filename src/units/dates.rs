//! How things are written out for people: moments, days and stretches of time, in the workroom's time zone.
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _, civil};

/// A moment: `Wed 25 Nov 2026, 18:30`.
pub fn moment(at: impl Into<Timestamp>, zone: &TimeZone) -> String {
    at.into().to_zoned_datetime(zone.clone()).strftime("%a %-d %b %Y, %H:%M").to_string()
}

/// A moment for a table that a program reads: `2026-11-25T18:30:00+01:00`.
pub fn stamp(at: impl Into<Timestamp>, zone: &TimeZone) -> String {
    at.into().to_zoned_datetime(zone.clone()).strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

/// A day: `Wednesday 25 November 2026`.
pub fn day(day: civil::Date) -> String {
    day.strftime("%A %-d %B %Y").to_string()
}

/// A day where space is short: `Wed 25 Nov`.
pub fn short_day(day: civil::Date) -> String {
    day.strftime("%a %-d %b").to_string()
}

/// A time of day: `18:30`.
pub fn time(time: civil::Time) -> String {
    time.strftime("%H:%M").to_string()
}

/// From when to when something lasts that starts so on the workroom's clock; nothing where no instant is meant.
///
/// # Examples
/// ```
/// use jiff::{civil::date, tz::TimeZone};
/// use thrumhall::units::dates;
///
/// let zone = TimeZone::get("Europe/Vienna")?;
/// let meeting = date(2026, 11, 25).at(18, 30, 0, 0);
/// let (from, to) = dates::stretch(meeting, 120, &zone).ok_or("no instant")?;
/// assert_eq!(dates::moment(from, &zone), "Wed 25 Nov 2026, 18:30");
/// assert_eq!(dates::stamp(to, &zone), "2026-11-25T20:30:00+01:00");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn stretch(starts: civil::DateTime, minutes: i64, zone: &TimeZone) -> Option<(Timestamp, Timestamp)> {
    let start = zone.to_timestamp(starts).ok()?;
    Some((start, start.checked_add(minutes.minutes()).ok()?))
}

/// Minutes as people say them: `45 min`, `6 h 5 min`.
pub fn minutes(minutes: f64) -> String {
    let whole = minutes.round().max(0.0) as i64;
    match (whole / 60, whole % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}

/// A chance, 0 to 1, as so many in ten, rounded down: nobody is promised more than is known.
pub fn in_ten(chance: f64) -> u32 {
    (chance * 10.0).floor().clamp(0.0, 10.0) as u32
}

#[cfg(test)]
mod tests {
    use super::minutes;

    #[test]
    fn minutes_are_said_in_hours() {
        assert_eq!(minutes(0.4), "0 min");
        assert_eq!(minutes(59.6), "1 h");
        assert_eq!(minutes(365.0), "6 h 5 min");
    }
}
