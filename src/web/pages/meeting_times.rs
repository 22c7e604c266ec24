//! When meetings are, read from a form: for one meeting, and for those of a new term.
use jiff::civil;
use jiff::tz::{AmbiguousOffset, TimeZone};

use crate::store::terms::Meeting;
use crate::store::{Day, MeetingId, TermId, TimeOfDay};
use crate::units::dates;
use crate::web::Form;

/// When a meeting is, and how long.
pub(in crate::web) struct MeetingTimes {
    pub day: civil::Date,
    pub starts: civil::Time,
    minutes: i64,
}

impl MeetingTimes {
    pub fn read(form: &mut Form, what: &str) -> Option<Self> {
        let (day, starts) = (form.day("day", what), form.time("starts", "The start"));
        let minutes = form.count("minutes", "The length in minutes", 15..=720);
        Some(Self { day: day?, starts: starts?, minutes: minutes? })
    }

    pub fn meeting(&self, term_id: TermId, day: civil::Date) -> Meeting {
        let (on_day, starts_at) = (Day(day), TimeOfDay(self.starts));
        Meeting { id: MeetingId::new(), term_id, on_day, starts_at, minutes: self.minutes, called_off: false }
    }
}

/// Refuses a start that the workroom's clock skips on one of the days, as clocks do when daylight saving begins.
pub(in crate::web) fn refuse_skipped(
    form: &mut Form,
    zone: &TimeZone,
    starts: civil::Time,
    days: &[civil::Date],
) {
    let skipped = |day: &&civil::Date| {
        let offset = zone.to_ambiguous_timestamp(day.to_datetime(starts)).offset();
        matches!(offset, AmbiguousOffset::Gap { .. })
    };
    if let Some(day) = days.iter().find(skipped) {
        let (day, time) = (dates::day(*day), dates::time_typed(starts));
        form.add_error("starts", format!("On {day} the clocks go forward and there is no {time}."));
    }
}
