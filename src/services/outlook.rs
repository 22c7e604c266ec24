//! The class's outlook: which rugs may not be finished in time, and which may run out of a colour. Shown on Today; a
//! rug's own page says what helps.
use std::sync::{Arc, LazyLock};
use std::time::Duration;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use moka::policy::EvictionPolicy;
use moka::sync::Cache;

use super::attendance::{Attendance, share};
use super::learning::Learning;
use super::rug_calendar;
use super::rug_plan::plan_of;
use super::rug_status::{lasts, tone};
use crate::services::Result;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Colour, Rug};
use crate::store::terms::Meeting;
use crate::store::today::Running;
use crate::store::{PersonId, Read, Revision, RugId, TermId};
use crate::units::Units;
use crate::units::dates;

/// A rug with less than this chance to be finished by the last meeting is shown.
const LIKELY: f64 = 0.7;

/// What is worth knowing in time, the most urgent first.
#[derive(Default)]
pub struct Outlook {
    pub late: Vec<Late>,
    pub short: Vec<Short>,
}

/// A rug that may not be finished by the term's last meeting.
pub struct Late {
    pub id: RugId,
    pub rug: String,
    pub weaver_id: PersonId,
    pub weaver: String,
    pub in_ten: u32,
    pub tone: &'static str,
    /// How far it is: `row 64 of 128`; nothing before the first row.
    pub place: Option<String>,
    /// To how many meetings the weaver came, and of how many.
    came: (usize, usize),
    chance: f64,
}

impl Late {
    /// How often the weaver came, where they missed a meeting.
    pub fn came(&self) -> Option<String> {
        let (came, of) = self.came;
        (came < of).then(|| format!("came to {came} of {of} meetings"))
    }

    /// How likely it is to be finished by then, in words.
    pub fn likely(&self) -> String {
        dates::likely(self.in_ten)
    }
}

/// A rug that may run out of a colour.
pub struct Short {
    pub id: RugId,
    pub rug: String,
    pub weaver_id: PersonId,
    pub weaver: String,
    pub colour: Colour,
    pub tone: &'static str,
    pub lasts: String,
    chance: f64,
}

/// By what an outlook is found again: what the database is at, the term, the units it is told in, and the minute.
type Moment = (Revision, TermId, Units, i64);

/// Outlooks that were worked out: one serves all who look until something changes or a minute goes by.
static KNOWN: LazyLock<Cache<Moment, Arc<Outlook>>> = LazyLock::new(|| {
    Cache::builder()
        .max_capacity(16)
        // The oldest goes first: what was asked for often before a change is of no use after it.
        .eviction_policy(EvictionPolicy::lru())
        .time_to_live(Duration::from_mins(1))
        .build()
});

impl Outlook {
    /// Of the rugs of a running term whose weavers are expected.
    pub async fn load(
        read: &mut Read,
        term: &Running,
        expected: &[PersonId],
        (now, zone): (Timestamp, &TimeZone),
        units: Units,
    ) -> Result<Arc<Self>> {
        let moment = read.revision().await?.map(|at| (at, term.id, units, now.as_second().div_euclid(60)));
        if let Some(known) = moment.as_ref().and_then(|moment| KNOWN.get(moment)) {
            return Ok(known);
        }
        let rugs = read.rugs(None, Some(term.id)).await?;
        let rugs = rugs.into_iter().filter(|rug| expected.contains(&rug.weaver_id)).collect();
        let log = read.term_log(term.id).await?;
        let learning = Learning::load(read).await?;
        let attendance = Attendance::load(read, term.id).await?;
        let outlook = Self::of(rugs, &log, &learning, (&term.meetings, &attendance), (now, zone), units)?;
        let outlook = Arc::new(outlook);
        if let Some(moment) = moment {
            KNOWN.insert(moment, Arc::clone(&outlook));
        }
        Ok(outlook)
    }

    /// Of the rugs still to be made, with the logs of all of them.
    pub fn of(
        rugs: Vec<Rug>,
        log: &[LogEntry],
        learning: &Learning,
        (meetings, attendance): (&[Meeting], &Attendance),
        (now, zone): (Timestamp, &TimeZone),
        units: Units,
    ) -> Result<Self> {
        let mut outlook = Self::default();
        for rug in rugs {
            if !rug.state.is_open() {
                continue;
            }
            let own: Vec<LogEntry> = log.iter().filter(|entry| entry.rug_id == rug.id).cloned().collect();
            let known = plan_of(&rug, learning, &own, units)?;
            let progress = &known.status.progress;
            for told in known.status.sufficiency.iter().filter(|told| told.short()) {
                outlook.short.push(Short {
                    id: rug.id,
                    rug: rug.fields.name.clone(),
                    weaver_id: rug.weaver_id,
                    weaver: rug.weaver.clone(),
                    colour: known.input.colours[usize::from(told.colour)].clone(),
                    tone: tone(told.chance),
                    lasts: lasts(told.chance),
                    chance: told.chance,
                });
            }
            let came = attendance.came(rug.weaver_id, meetings, (now, zone));
            let coming: Vec<Meeting> =
                meetings.iter().filter(|one| !attendance.is_away(rug.weaver_id, one)).cloned().collect();
            let chance = rug_calendar::chance(&rug, &known.status, &coming, share(came), (now, zone));
            if let Some(chance) = chance.filter(|chance| *chance < LIKELY) {
                outlook.late.push(Late {
                    id: rug.id,
                    in_ten: dates::in_ten(chance),
                    tone: tone(chance),
                    place: progress
                        .began
                        .then(|| format!("row {} of {}", progress.rows, progress.rows_in_all)),
                    rug: rug.fields.name,
                    weaver_id: rug.weaver_id,
                    weaver: rug.weaver,
                    came,
                    chance,
                });
            }
        }
        outlook.late.sort_by(|a, b| a.chance.total_cmp(&b.chance));
        outlook.short.sort_by(|a, b| a.chance.total_cmp(&b.chance));
        Ok(outlook)
    }
}
