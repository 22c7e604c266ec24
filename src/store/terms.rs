//! Terms, their meetings, and who is enrolled.
use jiff::Timestamp;
use jiff::tz::TimeZone;
use serde_json::json;
use sqlx::FromRow;

use super::columns::{Day, Instant, TimeOfDay};
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, MeetingId, PersonId, TermId};
use crate::units::dates;

/// A term, with what its list shows.
#[derive(Clone, Debug, FromRow)]
pub struct Term {
    /// Its id.
    pub id: TermId,
    /// What it is called.
    pub name: String,
    /// Anything worth knowing.
    pub note: String,
    /// When it was closed; `None` while it runs.
    pub closed_at: Option<Instant>,
    /// Rises with each change.
    pub revision: i64,
    /// How many meetings it has, without those called off.
    pub meetings: i64,
    /// How many weavers are enrolled.
    pub weavers: i64,
    /// How many it takes; `None` for any number.
    pub most: Option<i64>,
    /// How many wait for a place.
    pub waiting: i64,
    /// The first meeting's day.
    pub first_day: Option<Day>,
    /// The last meeting's day.
    pub last_day: Option<Day>,
}

/// One dated meeting of a term.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct Meeting {
    /// Its id.
    pub id: MeetingId,
    /// The term's.
    pub term_id: TermId,
    /// The day.
    pub on_day: Day,
    /// When it begins, on the workroom's clock.
    pub starts_at: TimeOfDay,
    /// How long it lasts.
    pub minutes: i64,
    /// Whether it will not take place.
    pub called_off: bool,
}

impl Meeting {
    /// When it is over: its length counts from its start on the workroom's clock, whatever the clocks do meanwhile.
    pub fn end(&self, zone: &TimeZone) -> Option<Timestamp> {
        let starts = self.on_day.0.to_datetime(self.starts_at.0);
        dates::stretch(starts, self.minutes, zone).map(|(_, end)| end)
    }
}

/// Somebody who is enrolled in a term, or could be.
#[derive(Clone, Debug, FromRow)]
pub struct Enrolled {
    /// Who.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
}

/// A term that runs, and whether somebody is in it.
#[derive(Clone, Debug, FromRow)]
pub struct OwnTerm {
    /// The term.
    pub id: TermId,
    /// What it is called.
    pub name: String,
    /// Whether they are enrolled.
    pub enrolled: bool,
    /// Whether they wait for a place.
    pub waits: bool,
    /// Whether nobody can be enrolled without waiting.
    pub full: bool,
}

impl Read {
    /// The terms that run, the newest first, and whether somebody is in each.
    pub async fn own_terms(&mut self, person: PersonId) -> Result<Vec<OwnTerm>, Error> {
        sql!(
            all OwnTerm, self,
            "SELECT t.id, t.name, e.person_id IS NOT NULL AS enrolled, w.person_id IS NOT NULL AS waits,
                 COALESCE(t.most <= (SELECT COUNT(*) FROM enrolment i JOIN person p ON p.id = i.person_id
                         WHERE i.term_id = t.id AND p.left_at IS NULL)
                     + (SELECT COUNT(*) FROM waiting o WHERE o.term_id = t.id), FALSE) AS full
             FROM term t LEFT JOIN enrolment e ON e.term_id = t.id AND e.person_id = $1
             LEFT JOIN waiting w ON w.term_id = t.id AND w.person_id = $1
             WHERE t.closed_at IS NULL ORDER BY t.id DESC",
            person
        )
    }

    /// All terms, those that run first, then the newest.
    pub async fn terms(&mut self) -> Result<Vec<Term>, Error> {
        self.terms_where(None).await
    }

    /// One term.
    pub async fn term(&mut self, id: TermId) -> Result<Option<Term>, Error> {
        Ok(self.terms_where(Some(id)).await?.pop())
    }

    async fn terms_where(&mut self, id: Option<TermId>) -> Result<Vec<Term>, Error> {
        sql!(
            all Term, self,
            "SELECT t.id, t.name, t.note, t.closed_at, t.revision, t.most,
                 (SELECT COUNT(*) FROM waiting w WHERE w.term_id = t.id) AS waiting,
                 (SELECT COUNT(*) FROM meeting m WHERE m.term_id = t.id AND NOT m.called_off) AS meetings,
                 (SELECT COUNT(*) FROM enrolment e JOIN person p ON p.id = e.person_id
                     WHERE e.term_id = t.id AND p.left_at IS NULL) AS weavers,
                 (SELECT MIN(m.on_day) FROM meeting m WHERE m.term_id = t.id AND NOT m.called_off) AS first_day,
                 (SELECT MAX(m.on_day) FROM meeting m WHERE m.term_id = t.id AND NOT m.called_off) AS last_day
             FROM term t WHERE CAST($1 AS TEXT) IS NULL OR t.id = $1
             ORDER BY CASE WHEN t.closed_at IS NULL THEN 0 ELSE 1 END, t.id DESC",
            id
        )
    }

    /// A term's meetings in order, those called off among them.
    pub async fn meetings(&mut self, term: TermId) -> Result<Vec<Meeting>, Error> {
        sql!(
            all Meeting, self,
            "SELECT id, term_id, on_day, starts_at, minutes, called_off FROM meeting
             WHERE term_id = $1 ORDER BY on_day, starts_at",
            term
        )
    }

    /// One meeting.
    pub async fn meeting(&mut self, id: MeetingId) -> Result<Option<Meeting>, Error> {
        sql!(
            opt Meeting, self,
            "SELECT id, term_id, on_day, starts_at, minutes, called_off FROM meeting WHERE id = $1",
            id
        )
    }

    /// Whether a term has a rug that is still to be made.
    pub async fn has_rugs_to_make(&mut self, term: TermId) -> Result<bool, Error> {
        let rugs = sql!(
            val i64, self,
            "SELECT COUNT(*) FROM rug WHERE term_id = $1 AND state IN ('planned', 'weaving')", term
        )?;
        Ok(rugs > 0)
    }

    /// Who is enrolled in a term, by name.
    pub async fn enrolled(&mut self, term: TermId) -> Result<Vec<Enrolled>, Error> {
        sql!(
            all Enrolled, self,
            "SELECT e.person_id, p.name FROM enrolment e JOIN person p ON p.id = e.person_id
             WHERE e.term_id = $1 AND p.left_at IS NULL ORDER BY p.name_key, p.id",
            term
        )
    }

    /// The weavers who are here but neither in a term nor waiting for it, by name.
    pub async fn not_enrolled(&mut self, term: TermId) -> Result<Vec<Enrolled>, Error> {
        sql!(
            all Enrolled, self,
            "SELECT p.id AS person_id, p.name FROM person p
             WHERE p.role = 'weaver' AND p.left_at IS NULL
                 AND NOT EXISTS (SELECT 1 FROM enrolment e WHERE e.term_id = $1 AND e.person_id = p.id)
                 AND NOT EXISTS (SELECT 1 FROM waiting w WHERE w.term_id = $1 AND w.person_id = p.id)
             ORDER BY p.name_key, p.id",
            term
        )
    }
}

impl Write {
    /// Adds a term.
    pub async fn add_term(&mut self, id: TermId, name: &str, note: &str) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO term (id, name, note, made_at) VALUES ($1, $2, $3, $4)",
            id, name.to_owned(), note.to_owned(), at
        )?;
        self.audit_log(EntityKind::Term, id, "added", json!({ "name": name })).await
    }

    /// Changes a term's name and note, if nobody else did since `revision`.
    pub async fn change_term(
        &mut self,
        id: TermId,
        revision: i64,
        name: &str,
        note: &str,
    ) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE term SET name = $3, note = $4, revision = revision + 1 WHERE id = $1 AND revision = $2",
            id, revision, name.to_owned(), note.to_owned()
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Term, id, "changed", json!({ "name": name })).await
    }

    /// Closes a term, or opens it again. Nothing happens, and nothing is recorded, when it is so already.
    pub async fn close_term(&mut self, id: TermId, closed: bool) -> Result<(), Error> {
        let at = closed.then_some(self.now());
        let rows = sql!(
            exec self,
            "UPDATE term SET closed_at = $2, revision = revision + 1 WHERE id = $1
                 AND ((closed_at IS NULL AND $3) OR (closed_at IS NOT NULL AND NOT $3))",
            id, at, closed
        )?;
        if rows == 1 {
            self.audit_log(EntityKind::Term, id, if closed { "closed" } else { "opened again" }, json!({}))
                .await?;
        } else {
            self.skip_audit();
        }
        Ok(())
    }

    /// Adds a meeting; a second at the same time breaks `u_meeting__term_id__on_day__starts_at`.
    pub async fn add_meeting(&mut self, meeting: &Meeting) -> Result<(), Error> {
        let (m, at) = (meeting.clone(), self.now());
        sql!(
            exec self,
            "INSERT INTO meeting (id, term_id, on_day, starts_at, minutes, called_off, changed_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            m.id, m.term_id, m.on_day, m.starts_at, m.minutes, m.called_off, at
        )?;
        let detail = json!({ "day": m.on_day.0.to_string(), "minutes": m.minutes });
        self.audit_log(EntityKind::Meeting, m.id, "added", detail).await
    }

    /// Calls a meeting off, or on again, and gives its revision; nothing when it was so already.
    pub async fn call_off(&mut self, id: MeetingId, off: bool) -> Result<Option<i64>, Error> {
        let at = self.now();
        let changed = sql!(
            opt (i64,), self,
            "UPDATE meeting SET called_off = $2, revision = revision + 1, changed_at = $3 WHERE id = $1 AND called_off <> $2
             RETURNING revision",
            id, off, at
        )?;
        if changed.is_some() {
            self.audit_log(
                EntityKind::Meeting,
                id,
                if off { "called off" } else { "called on again" },
                json!({}),
            )
            .await?;
        } else {
            self.skip_audit();
        }
        Ok(changed.map(|(revision,)| revision))
    }

    /// Enrols a weaver, whatever the term's size; somebody who waited for it waits no more. Nothing happens, and nothing is
    /// recorded, when they are enrolled already or are no weaver here.
    pub async fn enrol(&mut self, term: TermId, person: PersonId) -> Result<(), Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "INSERT INTO enrolment (term_id, person_id, made_at)
             SELECT $1, p.id, $3 FROM person p WHERE p.id = $2 AND p.role = 'weaver' AND p.left_at IS NULL
             ON CONFLICT DO NOTHING",
            term, person, at
        )?;
        sql!(exec self, "DELETE FROM waiting WHERE term_id = $1 AND person_id = $2", term, person)?;
        if rows == 1 {
            self.audit_log(EntityKind::Term, term, "enrolled", json!({ "person": person.to_string() }))
                .await?;
        } else {
            self.skip_audit();
        }
        Ok(())
    }

    /// Takes a weaver off a term; their rugs stay theirs.
    pub async fn withdraw(&mut self, term: TermId, person: PersonId) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "DELETE FROM enrolment WHERE term_id = $1 AND person_id = $2", term, person
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Term, term, "withdrawn", json!({ "person": person.to_string() })).await
    }
}
