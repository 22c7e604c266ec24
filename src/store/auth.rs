//! How people enter: the setup link, passphrases, personal links, sessions, and counted failures.
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use serde_json::json;
use sqlx::FromRow;

use super::columns::Instant;
use super::people::{Role, name_key};
use super::tx::{EntityKind, Read, Write, sql};
use super::{Error, PersonId};
use crate::units::Units;

/// Who is asking, with what every page needs of the workroom: one row, one query.
#[derive(Clone, Debug, FromRow)]
pub struct Visitor {
    /// The person.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
    /// What they are here.
    pub role: Role,
    /// Their own units, if chosen.
    pub own_units: Option<Units>,
    /// The workroom's name.
    pub workroom: String,
    /// The workroom's units.
    pub workroom_units: Units,
    /// The workroom's time zone, an IANA name.
    pub time_zone: String,
}

impl Visitor {
    /// What they read lengths and weights in.
    pub fn units(&self) -> Units {
        self.own_units.unwrap_or(self.workroom_units)
    }

    /// The workroom's time zone; UTC when this machine no longer knows it.
    pub fn zone(&self) -> TimeZone {
        super::workroom::zone(&self.time_zone)
    }
}

/// What checking a passphrase needs.
#[derive(Clone, Debug, FromRow)]
pub struct Lock {
    /// Whose it is.
    pub id: PersonId,
    /// The argon2 hash in PHC form; `None`: this person has no passphrase.
    pub passphrase_hash: Option<String>,
}

/// Failed sign-ins counted since `first_at`.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct Failures {
    /// How many.
    pub failures: i64,
    /// Since when.
    pub first_at: Instant,
}

impl Read {
    /// Who holds this session, unless it ran out or they left.
    pub async fn visitor(&mut self, token_hash: &str, now: Timestamp) -> Result<Option<Visitor>, Error> {
        sql!(
            opt Visitor, self,
            "SELECT p.id AS person_id, p.name, p.role, p.units AS own_units, w.name AS workroom,
                    w.units AS workroom_units, w.time_zone
             FROM session s JOIN person p ON p.id = s.person_id CROSS JOIN workroom w
             WHERE s.token_hash = $1 AND s.expires_at > $2 AND p.left_at IS NULL",
            token_hash.to_owned(), Instant(now)
        )
    }

    /// The lock of the instructor or volunteer of that name.
    pub async fn lock(&mut self, name: &str) -> Result<Option<Lock>, Error> {
        sql!(
            opt Lock, self,
            "SELECT id, passphrase_hash FROM person
             WHERE name_key = $1 AND role <> 'weaver' AND left_at IS NULL",
            name_key(name)
        )
    }

    /// Whose personal link this is, if it still works.
    pub async fn link_owner(&mut self, token_hash: &str) -> Result<Option<PersonId>, Error> {
        Ok(sql!(
            opt(PersonId,),
            self,
            "SELECT l.person_id FROM entry_link l JOIN person p ON p.id = l.person_id
             WHERE l.token_hash = $1 AND l.replaced_at IS NULL AND p.left_at IS NULL",
            token_hash.to_owned()
        )?
        .map(|row| row.0))
    }

    /// Whether this is the hash of the waiting setup link.
    pub async fn setup_waits_for(&mut self, token_hash: &str) -> Result<bool, Error> {
        Ok(sql!(
            val i64, self,
            "SELECT COUNT(*) FROM setup_link WHERE token_hash = $1", token_hash.to_owned()
        )? == 1)
    }

    /// The failures counted for a name or an address.
    pub async fn failures(&mut self, who: &str) -> Result<Option<Failures>, Error> {
        sql!(opt Failures, self, "SELECT failures, first_at FROM attempt WHERE who = $1", who.to_owned())
    }
}

impl Write {
    /// Puts a new setup link in place of any earlier one.
    pub async fn set_setup_link(&mut self, token_hash: &str) -> Result<(), Error> {
        let at = self.now();
        self.skip_audit();
        sql!(
            exec self,
            "INSERT INTO setup_link (id, token_hash, made_at) VALUES ('setup', $1, $2)
             ON CONFLICT (id) DO UPDATE SET token_hash = excluded.token_hash, made_at = excluded.made_at",
            token_hash.to_owned(), at
        )?;
        Ok(())
    }

    /// Uses the setup link up; `false` when it isn't the one that waits.
    pub async fn use_setup_link(&mut self, token_hash: &str) -> Result<bool, Error> {
        Ok(sql!(exec self, "DELETE FROM setup_link WHERE token_hash = $1", token_hash.to_owned())? == 1)
    }

    /// Gives a person a new personal link; an older one stops working.
    pub async fn replace_link(&mut self, person: PersonId, token_hash: &str) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "UPDATE entry_link SET replaced_at = $1 WHERE person_id = $2 AND replaced_at IS NULL", at, person
        )?;
        sql!(
            exec self,
            "INSERT INTO entry_link (token_hash, person_id, made_at) VALUES ($1, $2, $3)",
            token_hash.to_owned(), person, at
        )?;
        // A session opened by the old link ends with it.
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", person)?;
        self.audit_log(EntityKind::Person, person, "link replaced", json!({})).await
    }

    /// Opens a session of `lasts` for a person, and clears away those that ran out.
    pub async fn open_session(
        &mut self,
        token_hash: &str,
        person: PersonId,
        lasts: Span,
    ) -> Result<(), Error> {
        let at = self.now();
        let ends = Instant(at.0.saturating_add(lasts).unwrap_or(at.0));
        sql!(exec self, "DELETE FROM session WHERE expires_at <= $1", at)?;
        sql!(
            exec self,
            "INSERT INTO session (token_hash, person_id, made_at, expires_at) VALUES ($1, $2, $3, $4)",
            token_hash.to_owned(), person, at, ends
        )?;
        self.audit_log(EntityKind::Person, person, "signed in", json!({})).await
    }

    /// Ends a session.
    pub async fn end_session(&mut self, token_hash: &str) -> Result<(), Error> {
        self.skip_audit();
        sql!(exec self, "DELETE FROM session WHERE token_hash = $1", token_hash.to_owned())?;
        Ok(())
    }

    /// Counts a failed sign-in; counting starts over when the last count began before `since`.
    pub async fn count_failure(&mut self, who: &str, since: Timestamp) -> Result<(), Error> {
        let at = self.now();
        self.skip_audit();
        sql!(
            exec self,
            "INSERT INTO attempt (who, failures, first_at) VALUES ($1, 1, $2)
             ON CONFLICT (who) DO UPDATE SET
                 failures = CASE WHEN attempt.first_at < $3 THEN 1 ELSE attempt.failures + 1 END,
                 first_at = CASE WHEN attempt.first_at < $3 THEN excluded.first_at ELSE attempt.first_at END",
            who.to_owned(), at, Instant(since)
        )?;
        Ok(())
    }

    /// Forgets the failures of a name that got in.
    pub async fn forget_failures(&mut self, who: &str) -> Result<(), Error> {
        sql!(exec self, "DELETE FROM attempt WHERE who = $1", who.to_owned())?;
        Ok(())
    }

    /// Gives an instructor or volunteer a new passphrase; their other sessions end.
    pub async fn set_passphrase(&mut self, person: PersonId, hash: String) -> Result<(), Error> {
        sql!(
            exec self,
            "UPDATE person SET passphrase_hash = $1, revision = revision + 1 WHERE id = $2", hash, person
        )?;
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", person)?;
        self.audit_log(EntityKind::Person, person, "passphrase set", json!({})).await
    }
}
