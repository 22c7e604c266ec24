//! How people enter: the setup link, passphrases, personal links, and sessions. Tries are counted in [`self::tries`].
pub mod half_way;
pub mod second_factors;
pub mod tablets;
pub mod tries;

use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use serde_json::json;
use sqlx::FromRow;

use crate::store::columns::{Instant, string_enum};
use crate::store::people::{Role, name_key};
use crate::store::revision::Revision;
use crate::store::tx::{EntityKind, Read, Write, check_revision, sql};
use crate::store::{Error, PersonId};
use crate::units::Units;
use crate::units::dates::WallClock;

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
    /// Whether the workroom writes times of day as 6:30 pm.
    pub twelve_hours: bool,
    /// Whether somebody else gave them their passphrase, so that they must choose their own first.
    #[sqlx(default)]
    pub passphrase_given: bool,
    /// For how many microseconds their session may lie idle; 0 where its end doesn't move.
    #[sqlx(default)]
    idle: i64,
    /// When it was last used, in microseconds; noted now and then.
    #[sqlx(default)]
    seen_at: i64,
    /// Whether they must set up a second factor before anything else.
    #[sqlx(default)]
    pub second_factor_due: bool,
    /// When their session ends, if it isn't used before.
    #[sqlx(default)]
    expires_at: i64,
    /// What the database is at.
    #[sqlx(default)]
    pub revision: Option<Revision>,
}

impl Visitor {
    /// Whether it is time to note that their session is in use: not at each request, which would each write.
    pub fn is_due(&self, now: Timestamp) -> bool {
        self.idle > 0 && now.as_microsecond() - self.seen_at >= self.idle / 12
    }

    /// Until when nothing about their session changes by time alone: it ends then, or it is due to be noted as in use.
    pub fn unchanged_until(&self) -> i64 {
        let due = if self.idle > 0 { self.seen_at + self.idle / 12 } else { i64::MAX };
        due.min(self.expires_at)
    }

    /// What they read lengths and weights in.
    pub fn units(&self) -> Units {
        self.own_units.unwrap_or(self.workroom_units)
    }

    /// The workroom's time zone; UTC when this machine no longer knows it.
    pub fn zone(&self) -> TimeZone {
        crate::store::workroom::zone(&self.time_zone)
    }

    /// The workroom's clock.
    pub fn wall(&self) -> WallClock {
        WallClock { zone: self.zone(), hours: crate::store::workroom::hours(self.twelve_hours) }
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

string_enum! {
    /// The kind of device that a session is on, as far as it says.
    Device {
        /// It fits a pocket.
        Phone = "phone",
        /// Larger, to be touched.
        Tablet = "tablet",
        /// Anything else.
        Computer = "computer",
    }
}

/// How long a session lasts, and on what.
#[derive(Clone, Copy, Debug)]
pub struct Stay {
    /// For how long it may lie idle.
    pub idle: Span,
    /// How long it lasts at most.
    pub most: Span,
    /// What it is on.
    pub device: Device,
}

/// An open session as its owner sees it.
#[derive(Clone, Debug, FromRow)]
pub struct OpenSession {
    /// The hash of its secret.
    pub token_hash: String,
    /// Since when.
    pub made_at: Instant,
    /// When it was last used, to a twelfth of the time it may lie idle.
    pub seen_at: Instant,
    /// When it ends, if it isn't used before.
    pub expires_at: Instant,
    /// What it is on.
    pub device: Device,
}

impl OpenSession {
    /// What it is called in forms: enough of the hash to tell it from others, not all of it.
    pub fn handle(&self) -> &str {
        self.token_hash.get(..HANDLE).unwrap_or(&self.token_hash)
    }
}

/// So many digits of a hash name a session in a form.
const HANDLE: usize = 16;

impl Read {
    /// Who holds this session, unless it ran out or they left.
    pub async fn visitor(&mut self, token_hash: &str, now: Timestamp) -> Result<Option<Visitor>, Error> {
        sql!(
            opt Visitor, self,
            "SELECT p.id AS person_id, p.name, p.role, p.units AS own_units, w.name AS workroom,
                    w.units AS workroom_units, w.time_zone, w.twelve_hours, p.passphrase_given, s.idle, s.seen_at, s.expires_at,
                    (SELECT v.word || COALESCE((SELECT MAX(h.id) FROM change h), '') FROM database_revision v) AS revision,
                    (w.second_factor_required AND p.role <> 'weaver'
                     AND NOT EXISTS (SELECT 1 FROM passkey k WHERE k.person_id = p.id)
                     AND NOT EXISTS (SELECT 1 FROM one_time_code c
                                     WHERE c.person_id = p.id AND c.confirmed_at IS NOT NULL)) AS second_factor_due
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

    /// Whose personal link this is, if it still works: until it is replaced, its owner leaves, or the last of the terms that
    /// they are in is closed.
    pub async fn link_owner(&mut self, token_hash: &str) -> Result<Option<PersonId>, Error> {
        Ok(sql!(
            opt(PersonId,),
            self,
            "SELECT l.person_id FROM entry_link l JOIN person p ON p.id = l.person_id
             WHERE l.token_hash = $1 AND l.replaced_at IS NULL AND p.left_at IS NULL
                 AND (EXISTS (SELECT 1 FROM enrolment e JOIN term t ON t.id = e.term_id
                              WHERE e.person_id = l.person_id AND t.closed_at IS NULL)
                     OR NOT EXISTS (SELECT 1 FROM enrolment e JOIN term t ON t.id = e.term_id
                                    WHERE e.person_id = l.person_id AND t.closed_at >= l.made_at))",
            token_hash.to_owned()
        )?
        .map(|row| row.0))
    }

    /// Somebody's open sessions, the one used last first.
    pub async fn sessions(&mut self, person: PersonId, now: Timestamp) -> Result<Vec<OpenSession>, Error> {
        sql!(
            all OpenSession, self,
            "SELECT token_hash, made_at, CASE WHEN seen_at < made_at THEN made_at ELSE seen_at END AS seen_at,
                    expires_at, device
             FROM session WHERE person_id = $1 AND expires_at > $2 ORDER BY 3 DESC, token_hash",
            person, Instant(now)
        )
    }

    /// Whether this is the hash of the waiting setup link.
    pub async fn setup_waits_for(&mut self, token_hash: &str) -> Result<bool, Error> {
        Ok(sql!(
            val i64, self,
            "SELECT COUNT(*) FROM setup_link WHERE token_hash = $1", token_hash.to_owned()
        )? == 1)
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
        // A session opened by the old link ends with it, and so does the calendar: whoever had the one may have the other.
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", person)?;
        sql!(
            exec self,
            "UPDATE calendar_link SET replaced_at = $1 WHERE person_id = $2 AND replaced_at IS NULL", at, person
        )?;
        self.audit_log(EntityKind::Person, person, "link replaced", json!({})).await
    }

    /// Opens a session for a person, and clears away those that ran out.
    pub async fn open_session(
        &mut self,
        token_hash: &str,
        person: PersonId,
        stay: Stay,
    ) -> Result<(), Error> {
        let at = self.now();
        let after = |span| Instant(at.0.saturating_add(span).unwrap_or(at.0));
        let (idle, latest) = (after(stay.idle), after(stay.most));
        sql!(exec self, "DELETE FROM session WHERE expires_at <= $1", at)?;
        sql!(
            exec self,
            "INSERT INTO session (token_hash, person_id, made_at, expires_at, idle, latest_at, seen_at, device)
             VALUES ($1, $2, $3, $4, $5, $6, $3, $7)",
            token_hash.to_owned(), person, at, idle.min(latest),
            idle.0.as_microsecond() - at.0.as_microsecond(), latest, stay.device
        )?;
        self.audit_log(EntityKind::Person, person, "signed in", json!({})).await
    }

    /// Notes that a session is in use, which moves its end as far as it may go.
    pub async fn session_in_use(&mut self, token_hash: &str) -> Result<(), Error> {
        let at = self.now();
        self.skip_audit_unseen();
        sql!(
            exec self,
            "UPDATE session SET seen_at = $1,
                 expires_at = CASE WHEN $1 + idle < latest_at THEN $1 + idle ELSE latest_at END
             WHERE token_hash = $2 AND seen_at < $1 AND idle > 0 AND expires_at > $1",
            at, token_hash.to_owned()
        )?;
        Ok(())
    }

    /// Ends one of a person's sessions, by what it is called in forms; whether there was one.
    pub async fn end_session_called(&mut self, person: PersonId, handle: &str) -> Result<bool, Error> {
        let ended = sql!(
            exec self,
            "DELETE FROM session WHERE person_id = $1 AND SUBSTR(token_hash, 1, 16) = $2", person, handle.to_owned()
        )?;
        self.audit_log(EntityKind::Person, person, "signed out elsewhere", json!({})).await?;
        Ok(ended > 0)
    }

    /// Ends all of a person's sessions; no device of theirs is known any more.
    pub async fn end_sessions(&mut self, person: PersonId) -> Result<(), Error> {
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", person)?;
        self.forget_devices(person).await?;
        self.audit_log(EntityKind::Person, person, "signed out everywhere", json!({})).await
    }

    /// Ends a session.
    pub async fn end_session(&mut self, token_hash: &str) -> Result<(), Error> {
        self.skip_audit();
        sql!(exec self, "DELETE FROM session WHERE token_hash = $1", token_hash.to_owned())?;
        Ok(())
    }

    /// Gives an instructor or volunteer a new passphrase; their sessions end, and no device of theirs is known any more. One
    /// that somebody else gave them must be changed before anything else.
    ///
    /// # Errors
    /// [`Error::Stale`] when they left.
    pub async fn set_passphrase(&mut self, person: PersonId, hash: String) -> Result<(), Error> {
        let given = self.actor.person != Some(person);
        let rows = sql!(
            exec self,
            "UPDATE person SET passphrase_hash = $1, passphrase_given = $2, revision = revision + 1
             WHERE id = $3 AND left_at IS NULL",
            hash, given, person
        )?;
        check_revision(rows)?;
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", person)?;
        self.forget_devices(person).await?;
        // A sign-in that an earlier passphrase began ends with it, and so does a link to a new one.
        sql!(exec self, "DELETE FROM half_way WHERE person_id = $1", person)?;
        sql!(exec self, "DELETE FROM let_in_link WHERE person_id = $1", person)?;
        self.audit_log(EntityKind::Person, person, "passphrase set", json!({})).await
    }
    /// Puts a passphrase's hash that was made anew in the old one's place. It is the same passphrase: nothing else changes.
    pub async fn renew_hash(&mut self, person: PersonId, old: &str, anew: String) -> Result<(), Error> {
        sql!(
            exec self,
            "UPDATE person SET passphrase_hash = $3 WHERE id = $1 AND passphrase_hash = $2 AND left_at IS NULL",
            person, old.to_owned(), anew
        )?;
        Ok(())
    }
}
