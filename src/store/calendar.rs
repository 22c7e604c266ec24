//! Calendar feeds: their secret links, and the dated things that stand in them.
use serde_json::json;
use sqlx::FromRow;

use super::auth::Visitor;
use super::columns::{Day, Instant, TimeOfDay};
use super::tx::{EntityKind, Read, Write, sql};
use super::{Error, LoanId, MeetingId, PersonId, TermId};

/// A meeting as a feed shows it.
#[derive(Clone, Debug, FromRow)]
pub struct DatedMeeting {
    /// Its id.
    pub id: MeetingId,
    /// The term's name.
    pub term: String,
    /// The day.
    pub on_day: Day,
    /// When it begins, on the workroom's clock.
    pub starts_at: TimeOfDay,
    /// How long it lasts.
    pub minutes: i64,
    /// Whether it will not take place.
    pub called_off: bool,
    /// Rises with each change, from 1.
    pub revision: i64,
    /// When it was last changed.
    pub changed_at: Instant,
}

/// A frame that is due back.
#[derive(Clone, Debug, FromRow)]
pub struct DatedLoan {
    /// The loan.
    pub id: LoanId,
    /// The frame.
    pub frame_tag: String,
    /// The rug on it.
    pub rug: String,
    /// Who has it.
    pub weaver: String,
    /// Due when.
    pub due_on: Day,
    /// Since when it is out.
    pub handed_out_at: Instant,
}

impl Read {
    /// Whose feed this is, unless its link was replaced, they left, or the last of the terms that they are in is closed.
    pub async fn calendar_owner(&mut self, token_hash: &str) -> Result<Option<Visitor>, Error> {
        sql!(
            opt Visitor, self,
            "SELECT p.id AS person_id, p.name, p.role, p.units AS own_units, w.name AS workroom,
                    w.units AS workroom_units, w.time_zone, w.twelve_hours
             FROM calendar_link l JOIN person p ON p.id = l.person_id CROSS JOIN workroom w
             WHERE l.token_hash = $1 AND l.replaced_at IS NULL AND p.left_at IS NULL
                 AND (EXISTS (SELECT 1 FROM enrolment e JOIN term t ON t.id = e.term_id
                              WHERE e.person_id = l.person_id AND t.closed_at IS NULL)
                     OR NOT EXISTS (SELECT 1 FROM enrolment e JOIN term t ON t.id = e.term_id
                                    WHERE e.person_id = l.person_id AND t.closed_at >= l.made_at))",
            token_hash.to_owned()
        )
    }

    /// Whether somebody has a calendar link.
    pub async fn has_calendar_link(&mut self, person: PersonId) -> Result<bool, Error> {
        let links = sql!(
            val i64, self,
            "SELECT COUNT(*) FROM calendar_link WHERE person_id = $1 AND replaced_at IS NULL", person
        )?;
        Ok(links > 0)
    }

    /// What somebody's calendar was told last of each entry, as JSON; empty when nothing was.
    pub async fn calendar_told(&mut self, person: PersonId) -> Result<String, Error> {
        let told =
            sql!(opt(String,), self, "SELECT entries FROM calendar_told WHERE person_id = $1", person)?;
        Ok(told.map(|row| row.0).unwrap_or_default())
    }

    /// The meetings of all terms that run, in order: those that one weaver is enrolled in, or all.
    pub async fn dated_meetings(&mut self, weaver: Option<PersonId>) -> Result<Vec<DatedMeeting>, Error> {
        sql!(
            all DatedMeeting, self,
            "SELECT m.id, t.name AS term, m.on_day, m.starts_at, m.minutes, m.called_off, m.revision, m.changed_at
             FROM meeting m JOIN term t ON t.id = m.term_id
             WHERE t.closed_at IS NULL AND (CAST($1 AS TEXT) IS NULL
                 OR EXISTS (SELECT 1 FROM enrolment e WHERE e.term_id = t.id AND e.person_id = $1))
             ORDER BY m.on_day, m.starts_at, m.id",
            weaver
        )
    }

    /// The frames that are out and when they are due: those of one weaver, or all.
    pub async fn dated_loans(&mut self, weaver: Option<PersonId>) -> Result<Vec<DatedLoan>, Error> {
        self.dated_loans_where(weaver, None).await
    }

    /// The frames that are out for rugs of a term, and when they are due.
    pub async fn term_loans(&mut self, term: TermId) -> Result<Vec<DatedLoan>, Error> {
        self.dated_loans_where(None, Some(term)).await
    }

    async fn dated_loans_where(
        &mut self,
        weaver: Option<PersonId>,
        term: Option<TermId>,
    ) -> Result<Vec<DatedLoan>, Error> {
        sql!(
            all DatedLoan, self,
            "SELECT l.id, f.tag AS frame_tag, r.name AS rug, p.name AS weaver, l.due_on, l.handed_out_at
             FROM loan l JOIN frame f ON f.id = l.frame_id JOIN rug r ON r.id = l.rug_id JOIN person p ON p.id = r.weaver_id
             WHERE l.taken_back_at IS NULL AND (CAST($1 AS TEXT) IS NULL OR r.weaver_id = $1)
                 AND (CAST($2 AS TEXT) IS NULL OR r.term_id = $2)
             ORDER BY l.due_on, f.tag",
            weaver, term
        )
    }
}

impl Write {
    /// Locks what somebody's calendar was told, and gives it as JSON; nothing for those who left.
    pub async fn lock_calendar_told(&mut self, person: PersonId) -> Result<Option<String>, Error> {
        self.skip_audit();
        let told = sql!(
            opt(String,),
            self,
            "INSERT INTO calendar_told (person_id, entries, revision)
             SELECT p.id, '{}', 1 FROM person p WHERE p.id = $1 AND p.left_at IS NULL
             ON CONFLICT (person_id) DO UPDATE SET revision = calendar_told.revision + 1 RETURNING entries",
            person
        )?;
        Ok(told.map(|row| row.0))
    }

    /// Keeps what somebody's calendar is told now.
    pub async fn keep_calendar_told(&mut self, person: PersonId, entries: String) -> Result<(), Error> {
        self.skip_audit();
        sql!(exec self, "UPDATE calendar_told SET entries = $2 WHERE person_id = $1", person, entries)?;
        Ok(())
    }

    /// Gives a person a new calendar link; an older one stops working.
    pub async fn replace_calendar_link(&mut self, person: PersonId, token_hash: &str) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "UPDATE calendar_link SET replaced_at = $1 WHERE person_id = $2 AND replaced_at IS NULL", at, person
        )?;
        sql!(
            exec self,
            "INSERT INTO calendar_link (token_hash, person_id, made_at) VALUES ($1, $2, $3)",
            token_hash.to_owned(), person, at
        )?;
        self.audit_log(EntityKind::Person, person, "calendar link replaced", json!({})).await
    }
}
