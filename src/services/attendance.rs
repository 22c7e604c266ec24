//! How often somebody comes, for what can be expected of the meetings ahead.
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::services::Result;
use crate::store::attendance::{Present, Since};
use crate::store::rugs::Rug;
use crate::store::terms::Meeting;
use crate::store::timetable::Absence;
use crate::store::{PersonId, Read, TermId};

/// Nobody is known after an evening or two: so many meetings count as attended from the start. Ours, no source.
const TRUSTED: f64 = 2.0;

/// Who came to a term's meetings, and who won't come.
#[derive(Default)]
pub struct Attendance {
    here: Vec<Present>,
    since: Vec<Since>,
    absences: Vec<Absence>,
}

impl Attendance {
    /// Of a term.
    pub async fn load(read: &mut Read, term: TermId) -> Result<Self> {
        Ok(Self {
            here: read.attendance(term).await?,
            since: read.enrolled_since(term).await?,
            absences: read.absences(term).await?,
        })
    }

    /// Of the term that a rug is made in; of nobody where it is in none.
    pub async fn of_rug(read: &mut Read, rug: &Rug) -> Result<Self> {
        match rug.fields.term_id {
            Some(term) => Self::load(read, term).await,
            None => Ok(Self::default()),
        }
    }

    /// Whether somebody is noted as being at a meeting.
    pub fn is_here(&self, person: PersonId, meeting: &Meeting) -> bool {
        self.here.contains(&Present { meeting_id: meeting.id, person_id: person })
    }

    /// Whether somebody said that they won't come to a meeting.
    pub fn is_away(&self, person: PersonId, meeting: &Meeting) -> bool {
        self.absences.contains(&Absence { meeting_id: meeting.id, person_id: person })
    }

    /// How many are noted as being at a meeting.
    pub fn count(&self, meeting: &Meeting) -> usize {
        self.here.iter().filter(|one| one.meeting_id == meeting.id).count()
    }

    /// To how many meetings somebody came, and of how many: those that are over, where a roll was taken, since they were enrolled.
    pub fn came(
        &self,
        person: PersonId,
        meetings: &[Meeting],
        (now, zone): (Timestamp, &TimeZone),
    ) -> (usize, usize) {
        let since = self.since.iter().find(|one| one.person_id == person).map(|one| one.made_at.0);
        let told = meetings.iter().filter(|meeting| {
            let over = meeting.end(zone).filter(|end| *end <= now);
            let enrolled = over.is_some_and(|end| since.is_none_or(|since| since <= end));
            !meeting.called_off && enrolled && self.count(meeting) > 0
        });
        let told: Vec<&Meeting> = told.collect();
        (told.iter().filter(|meeting| self.is_here(person, meeting)).count(), told.len())
    }
}

/// The share of the meetings ahead that somebody can be expected at, over 0 to 1, who `came` to so many of so many.
pub fn share((came, of): (usize, usize)) -> f64 {
    (came as f64 + TRUSTED) / (of as f64 + TRUSTED)
}

#[cfg(test)]
mod tests {
    use super::share;

    #[test]
    fn who_missed_nothing_is_expected_at_every_meeting() {
        // By hand: (0 + 2) / (3 + 2).
        assert!((share((0, 3)) - 0.4).abs() < 1e-12);
        assert!((share((3, 3)) - 1.0).abs() < 1e-12 && (share((0, 0)) - 1.0).abs() < 1e-12);
    }
}
