//! Who was at which meeting, and who says before that they can't come. The absences of a whole term are kept in
//! [`crate::store::timetable`].
use serde_json::json;
use sqlx::FromRow;

use super::columns::{Day, TimeOfDay};
use super::tx::{EntityKind, Read, Write, sql};
use super::{Error, MeetingId, PersonId, TermId};
use crate::store::columns::Instant;

/// Somebody who was at a meeting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, FromRow)]
pub struct Present {
    /// The meeting.
    pub meeting_id: MeetingId,
    /// Who.
    pub person_id: PersonId,
}

/// Since when a weaver has been in a term.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct Since {
    /// Who.
    pub person_id: PersonId,
    /// When they were enrolled.
    pub made_at: Instant,
}

/// The meeting of a weaver's own that comes next, and what they said of it.
#[derive(Clone, Debug, FromRow)]
pub struct OwnMeeting {
    /// The meeting.
    pub id: MeetingId,
    /// Its day.
    pub on_day: Day,
    /// When it begins.
    pub starts_at: TimeOfDay,
    /// Whether they are noted as here.
    pub here: bool,
    /// Whether they said that they can't come.
    pub away: bool,
}

/// What a weaver says of a meeting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coming {
    /// They are here.
    Here,
    /// They can't come.
    Away,
    /// Neither, as before anybody said anything.
    Expected,
}

impl Read {
    /// Who was at which of a term's meetings.
    pub async fn attendance(&mut self, term: TermId) -> Result<Vec<Present>, Error> {
        sql!(
            all Present, self,
            "SELECT a.meeting_id, a.person_id FROM attendance a JOIN meeting m ON m.id = a.meeting_id WHERE m.term_id = $1
             ORDER BY a.meeting_id, a.person_id",
            term
        )
    }

    /// Since when each weaver of a term has been in it.
    pub async fn enrolled_since(&mut self, term: TermId) -> Result<Vec<Since>, Error> {
        sql!(
            all Since, self,
            "SELECT e.person_id, e.made_at FROM enrolment e WHERE e.term_id = $1 ORDER BY e.person_id", term
        )
    }

    /// The next meeting from a day on, of those terms that run and that a weaver is in.
    pub async fn own_meeting(&mut self, person: PersonId, from: Day) -> Result<Option<OwnMeeting>, Error> {
        sql!(
            opt OwnMeeting, self,
            "SELECT m.id, m.on_day, m.starts_at, a.person_id IS NOT NULL AS here, b.person_id IS NOT NULL AS away
             FROM enrolment e JOIN term t ON t.id = e.term_id AND t.closed_at IS NULL JOIN meeting m ON m.term_id = e.term_id
             LEFT JOIN attendance a ON a.meeting_id = m.id AND a.person_id = e.person_id
             LEFT JOIN absence b ON b.meeting_id = m.id AND b.person_id = e.person_id
             WHERE e.person_id = $1 AND m.on_day >= $2 AND m.called_off = FALSE ORDER BY m.on_day, m.starts_at LIMIT 1",
            person, from
        )
    }
}

impl Write {
    /// Notes who is at a meeting, and who of those asked about isn't; only weavers of its term. Nothing is recorded where nothing
    /// changes.
    pub async fn take_roll(
        &mut self,
        meeting: MeetingId,
        here: &[PersonId],
        not_here: &[PersonId],
    ) -> Result<(), Error> {
        let (mut came, mut gone) = (0, 0);
        for person in here {
            came += self.note_here(meeting, *person).await?;
        }
        for person in not_here {
            gone += self.note_not_here(meeting, *person).await?;
        }
        if came + gone == 0 {
            self.skip_audit();
            return Ok(());
        }
        let detail = json!({ "here": came, "not_here": gone });
        self.audit_log(EntityKind::Meeting, meeting, "roll taken", detail).await
    }

    async fn note_here(&mut self, meeting: MeetingId, person: PersonId) -> Result<u64, Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "INSERT INTO attendance (meeting_id, person_id, at)
             SELECT m.id, e.person_id, $3 FROM meeting m JOIN enrolment e ON e.term_id = m.term_id AND e.person_id = $2
             WHERE m.id = $1
             ON CONFLICT DO NOTHING",
            meeting, person, at
        )?;
        sql!(exec self, "DELETE FROM absence WHERE meeting_id = $1 AND person_id = $2", meeting, person)?;
        Ok(rows)
    }

    async fn note_not_here(&mut self, meeting: MeetingId, person: PersonId) -> Result<u64, Error> {
        sql!(exec self, "DELETE FROM attendance WHERE meeting_id = $1 AND person_id = $2", meeting, person)
    }

    /// Keeps what a weaver says of a meeting of their own term: whether they are there.
    pub async fn says_coming(
        &mut self,
        meeting: MeetingId,
        person: PersonId,
        coming: Coming,
    ) -> Result<(), Error> {
        let act = match coming {
            Coming::Here => {
                self.note_here(meeting, person).await?;
                "here"
            }
            Coming::Away => {
                self.note_not_here(meeting, person).await?;
                sql!(
                    exec self,
                    "INSERT INTO absence (meeting_id, person_id) VALUES ($1, $2) ON CONFLICT DO NOTHING", meeting, person
                )?;
                "cannot come"
            }
            Coming::Expected => {
                self.note_not_here(meeting, person).await?;
                sql!(exec self, "DELETE FROM absence WHERE meeting_id = $1 AND person_id = $2", meeting, person)?;
                "comes after all"
            }
        };
        self.audit_log(EntityKind::Meeting, meeting, act, json!({})).await
    }
}
