//! Days and moments as people read them, written apart from the program. Should pages write them otherwise one day, this is
//! the one place in the tests that follows.
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _};

const WEEKDAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// The day's weekday and month.
fn words(day: Date) -> [&'static str; 2] {
    [WEEKDAYS[day.weekday().to_monday_zero_offset() as usize], MONTHS[day.month() as usize - 1]]
}

#[track_caller]
fn date(day: &str) -> Date {
    day.parse().unwrap_or_else(|error| panic!("{day} is no day: {error}"))
}

/// A day where space is short: `2026-11-25` is `Wed 25 Nov`.
#[track_caller]
pub fn short(day: &str) -> String {
    short_day(date(day))
}

/// The same of a day that was worked out.
pub fn short_day(day: Date) -> String {
    let [weekday, month] = words(day).map(|word| &word[..3]);
    format!("{weekday} {} {month}", day.day())
}

/// The day of 2026 or 2027 that is written so where space is short: `Wed 25 Nov` is `2026-11-25`.
#[track_caller]
pub fn read_short(written: &str) -> String {
    let days = Date::constant(2026, 1, 1).series(1.day()).take(2 * 365);
    let found = days.into_iter().find(|day| short_day(*day) == written);
    found.unwrap_or_else(|| panic!("“{written}” is no day of 2026 or 2027")).to_string()
}

/// A day in full: `2026-11-25` is `Wednesday 25 November 2026`.
#[track_caller]
pub fn long(day: &str) -> String {
    long_day(date(day))
}

/// The same of a day that was worked out.
pub fn long_day(day: Date) -> String {
    let [weekday, month] = words(day);
    format!("{weekday} {} {month} {}", day.day(), day.year())
}

/// `Wed 25 Nov 2026, 18:30`, on the workroom's clock.
pub fn moment(at: Timestamp, zone: &TimeZone) -> String {
    let at = at.to_zoned_datetime(zone.clone());
    format!("{} {}, {:02}:{:02}", short_day(at.date()), at.year(), at.hour(), at.minute())
}

#[test]
fn days_are_written_as_people_do() {
    assert_eq!(
        (short("2026-11-25"), long("2027-03-01")),
        ("Wed 25 Nov".into(), "Monday 1 March 2027".into())
    );
    assert_eq!(
        (read_short("Wed 25 Nov"), read_short("Mon 1 Mar")),
        ("2026-11-25".into(), "2027-03-01".into())
    );
    let evening =
        moment("2026-11-26T01:05:00Z".parse().unwrap(), &TimeZone::get("America/New_York").unwrap());
    assert_eq!(evening, "Wed 25 Nov 2026, 20:05");
}
