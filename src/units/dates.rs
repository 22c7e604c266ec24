//! How things are written out for people: moments, days and stretches of time, in the workroom's time zone.
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _, civil};

/// How times of day are written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Hours {
    /// `18:30`.
    #[default]
    TwentyFour,
    /// `6:30 pm`, with a space that doesn't break.
    Twelve,
}

/// The clock on a workroom's wall: its time zone, and how it writes times of day.
#[derive(Clone, Debug)]
pub struct WallClock {
    /// The time zone.
    pub zone: TimeZone,
    /// How times are written.
    pub hours: Hours,
}

/// A moment: `Wed 25 Nov 2026, 18:30`.
pub fn moment(at: impl Into<Timestamp>, wall: &WallClock) -> String {
    let at = at.into().to_zoned_datetime(wall.zone.clone());
    format!("{}, {}", at.strftime("%a %-d %b %Y"), time(at.time(), wall.hours))
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

/// A time of day: `18:30` or `6:30 pm`.
pub fn time(time: civil::Time, hours: Hours) -> String {
    match hours {
        Hours::TwentyFour => time_typed(time),
        Hours::Twelve => {
            let half = if time.hour() < 12 { "am" } else { "pm" };
            format!("{}\u{a0}{half}", time.strftime("%-I:%M"))
        }
    }
}

/// A time of day as a form's field holds it: `18:30`.
pub fn time_typed(time: civil::Time) -> String {
    time.strftime("%H:%M").to_string()
}

/// When something is that begins so, as said on a day: `Tonight`, `Today`, `Tomorrow`, `Wed 25 Nov`. What began on a day
/// before and goes on is of today.
pub fn coming(starts: civil::DateTime, today: civil::Date) -> String {
    let day = starts.date();
    if day <= today {
        if starts.time() >= civil::time(17, 0, 0, 0) { "Tonight" } else { "Today" }.to_owned()
    } else if today.tomorrow().is_ok_and(|tomorrow| day == tomorrow) {
        "Tomorrow".to_owned()
    } else {
        short_day(day)
    }
}

/// From when to when something lasts that starts so on the workroom's clock; nothing where no instant is meant.
///
/// # Examples
/// ```
/// use jiff::{civil::date, tz::TimeZone};
/// use thrumhall::units::dates::{self, Hours, WallClock};
///
/// let zone = TimeZone::get("Europe/Vienna")?;
/// let meeting = date(2026, 11, 25).at(18, 30, 0, 0);
/// let (from, to) = dates::stretch(meeting, 120, &zone).ok_or("no instant")?;
/// let wall = WallClock { zone: zone.clone(), hours: Hours::TwentyFour };
/// assert_eq!(dates::moment(from, &wall), "Wed 25 Nov 2026, 18:30");
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

/// So many in ten in words: `likely: 8 of 10`. The tens are the chance's, so that nobody reads them as inches.
pub fn likely(in_ten: u32) -> String {
    match in_ten {
        10.. => "as good as sure".to_owned(),
        5.. => format!("likely: {in_ten} of 10"),
        _ => format!("unlikely: {in_ten} of 10"),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil;

    use super::{Hours, in_ten, likely, minutes, time};

    #[test]
    fn noon_and_midnight_are_twelve() {
        // 12:00 pm for noon and 12:00 am for midnight: common practice in the United States, no source.
        let said = |hour, minute| time(civil::time(hour, minute, 0, 0), Hours::Twelve);
        let (midnight, noon) = (said(0, 0), said(12, 0));
        assert_eq!((&*midnight, &*noon), ("12:00\u{a0}am", "12:00\u{a0}pm"));
        assert_eq!((&*said(9, 5), &*said(18, 30)), ("9:05\u{a0}am", "6:30\u{a0}pm"));
        assert_eq!(time(civil::time(0, 5, 0, 0), Hours::TwentyFour), "00:05");
    }

    #[test]
    fn a_chance_is_said_in_words() {
        let said = |chance| likely(in_ten(chance));
        assert_eq!(
            [0.09, 0.499, 0.5, 0.99, 1.0].map(said),
            [
                "unlikely: 0 of 10",
                "unlikely: 4 of 10",
                "likely: 5 of 10",
                "likely: 9 of 10",
                "as good as sure"
            ]
        );
    }

    #[test]
    fn minutes_are_said_in_hours() {
        assert_eq!(minutes(0.4), "0 min");
        assert_eq!(minutes(59.6), "1 h");
        assert_eq!(minutes(365.0), "6 h 5 min");
    }
}
