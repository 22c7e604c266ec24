//! The class's outlook: which rugs may not be finished in time, and which may run out of a colour. Shown on Today; a
//! rug's own page says what helps.
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::learning::Learning;
use super::rug_calendar;
use super::rug_plan::plan_of;
use super::rug_status::{lasts, tone};
use crate::services::Result;
use crate::store::RugId;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Colour, Rug};
use crate::store::terms::Meeting;
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
    pub weaver: String,
    pub in_ten: u32,
    pub tone: &'static str,
    /// How far it is: `row 64 of 128`; nothing before the first row.
    pub place: Option<String>,
    chance: f64,
}

/// A rug that may run out of a colour.
pub struct Short {
    pub id: RugId,
    pub rug: String,
    pub weaver: String,
    pub colour: Colour,
    pub tone: &'static str,
    pub lasts: String,
    chance: f64,
}

impl Outlook {
    /// Of the rugs still to be made, with the logs of all of them.
    pub fn of(
        rugs: Vec<Rug>,
        log: &[LogEntry],
        learning: &Learning,
        meetings: &[Meeting],
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
                    weaver: rug.weaver.clone(),
                    colour: known.input.colours[usize::from(told.colour)].clone(),
                    tone: tone(told.chance),
                    lasts: lasts(told.chance),
                    chance: told.chance,
                });
            }
            let chance = rug_calendar::chance(&rug, &known.status, meetings, now, zone);
            if let Some(chance) = chance.filter(|chance| *chance < LIKELY) {
                outlook.late.push(Late {
                    id: rug.id,
                    in_ten: dates::in_ten(chance),
                    tone: tone(chance),
                    place: progress
                        .began
                        .then(|| format!("row {} of {}", progress.rows, progress.rows_in_all)),
                    rug: rug.fields.name,
                    weaver: rug.weaver,
                    chance,
                });
            }
        }
        outlook.late.sort_by(|a, b| a.chance.total_cmp(&b.chance));
        outlook.short.sort_by(|a, b| a.chance.total_cmp(&b.chance));
        Ok(outlook)
    }
}
