//! The size of a class and its waiting list: how many weavers a term takes, and who waits for a place, in order.
use serde_json::json;
use sqlx::FromRow;

use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, PersonId, TermId};

/// Somebody who waits for a place in a term.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct Waiting {
    /// Who.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
}

/// A term in which somebody waits for a place.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct OwnWait {
    /// The term.
    pub term_id: TermId,
    /// What it is called.
    pub name: String,
    /// How many wait before them.
    pub before: i64,
}

/// Where somebody is after they were to be enrolled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seat {
    /// In the term, as they may have been before.
    Enrolled,
    /// On its waiting list.
    Waiting,
}

impl Read {
    /// Who waits for a place in a term, the next first.
    pub async fn waiting(&mut self, term: TermId) -> Result<Vec<Waiting>, Error> {
        sql!(
            all Waiting, self,
            "SELECT w.person_id, p.name FROM waiting w JOIN person p ON p.id = w.person_id WHERE w.term_id = $1
             ORDER BY w.position, w.person_id",
            term
        )
    }

    /// The terms that run in which somebody waits for a place.
    pub async fn own_waits(&mut self, person: PersonId) -> Result<Vec<OwnWait>, Error> {
        sql!(
            all OwnWait, self,
            "SELECT w.term_id, t.name, (SELECT COUNT(*) FROM waiting o WHERE o.term_id = w.term_id
                 AND (o.position < w.position OR (o.position = w.position AND o.person_id < w.person_id))) AS before
             FROM waiting w JOIN term t ON t.id = w.term_id WHERE w.person_id = $1 AND t.closed_at IS NULL ORDER BY t.id DESC",
            person
        )
    }

    /// How many more a term takes; those who wait aren't counted. `None` where it takes any number.
    pub async fn places_left(&mut self, term: TermId) -> Result<Option<i64>, Error> {
        let row = sql!(
            opt(Option<i64>, i64),
            self,
            "SELECT t.most, (SELECT COUNT(*) FROM enrolment e JOIN person p ON p.id = e.person_id
                 WHERE e.term_id = t.id AND p.left_at IS NULL) FROM term t WHERE t.id = $1",
            term
        )?;
        Ok(row.and_then(|(most, weavers)| Some((most? - weavers).max(0))))
    }
}

impl Write {
    /// Says how many weavers a term takes; `None` for any number. Who is in it stays.
    pub async fn limit_term(&mut self, term: TermId, most: Option<i64>) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE term SET most = $2 WHERE id = $1 AND COALESCE(most, 0) <> COALESCE(CAST($2 AS BIGINT), 0)",
            term, most
        )?;
        if rows == 1 {
            return self.audit_log(EntityKind::Term, term, "size", json!({ "most": most })).await;
        }
        self.skip_audit();
        Ok(())
    }

    /// Enrols a weaver, or puts them at the end of the waiting list where the term is full, or others wait for what is free.
    pub async fn enrol_or_wait(&mut self, term: TermId, person: PersonId) -> Result<Seat, Error> {
        // Two who come at once for the last place: the second sees the first.
        sql!(exec self, "UPDATE term SET revision = revision WHERE id = $1", term)?;
        let known = sql!(
            opt(i64,),
            self,
            "SELECT CAST(1 AS BIGINT) FROM enrolment WHERE term_id = $1 AND person_id = $2",
            term,
            person
        )?;
        if known.is_some() {
            self.skip_audit();
            return Ok(Seat::Enrolled);
        }
        let waiting = self.waiting(term).await?;
        if waiting.iter().any(|one| one.person_id == person) {
            self.skip_audit();
            return Ok(Seat::Waiting);
        }
        let left = self.places_left(term).await?;
        if left.is_none_or(|left| left > waiting.len() as i64) {
            self.enrol(term, person).await?;
            return Ok(Seat::Enrolled);
        }
        let at = self.now();
        let rows = sql!(
            exec self,
            "INSERT INTO waiting (term_id, person_id, position, made_at)
             SELECT $1, p.id, (SELECT COALESCE(MAX(w.position), 0) + 1 FROM waiting w WHERE w.term_id = $1), $3
             FROM person p WHERE p.id = $2 AND p.role = 'weaver' AND p.left_at IS NULL",
            term, person, at
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Term, term, "waits", json!({ "person": person.to_string() })).await?;
        Ok(Seat::Waiting)
    }

    /// Gives somebody who waits a place, if one is free; whether it did.
    pub async fn give_place(&mut self, term: TermId, person: PersonId) -> Result<bool, Error> {
        sql!(exec self, "UPDATE term SET revision = revision WHERE id = $1", term)?;
        if self.places_left(term).await? == Some(0) {
            self.skip_audit();
            return Ok(false);
        }
        self.forget_wait(term, person).await?;
        self.enrol(term, person).await?;
        Ok(true)
    }

    /// Moves somebody who waits before the one who is before them.
    pub async fn move_up(&mut self, term: TermId, person: PersonId) -> Result<(), Error> {
        sql!(exec self, "UPDATE term SET revision = revision WHERE id = $1", term)?;
        let waiting = self.waiting(term).await?;
        let at = waiting.iter().position(|one| one.person_id == person);
        let Some(at) = at.filter(|at| *at > 0) else {
            self.skip_audit();
            return Ok(());
        };
        // The two change places; all are numbered again, since positions may have gaps.
        let swapped = |nth: usize| {
            if nth == at {
                at - 1
            } else if nth + 1 == at {
                at
            } else {
                nth
            }
        };
        for (nth, one) in waiting.iter().enumerate() {
            let position = swapped(nth) as i64 + 1;
            sql!(
                exec self,
                "UPDATE waiting SET position = $3 WHERE term_id = $1 AND person_id = $2",
                term, one.person_id, position
            )?;
        }
        self.audit_log(EntityKind::Term, term, "moved up", json!({ "person": person.to_string() })).await
    }

    /// Takes somebody off a waiting list.
    pub async fn stop_waiting(&mut self, term: TermId, person: PersonId) -> Result<(), Error> {
        self.forget_wait(term, person).await?;
        self.audit_log(EntityKind::Term, term, "waits no more", json!({ "person": person.to_string() })).await
    }

    async fn forget_wait(&mut self, term: TermId, person: PersonId) -> Result<(), Error> {
        let rows =
            sql!(exec self, "DELETE FROM waiting WHERE term_id = $1 AND person_id = $2", term, person)?;
        check_revision(rows)
    }
}
