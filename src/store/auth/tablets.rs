//! Tablets at the scale that volunteers share for an evening: each a session of the device's own, which is nobody's. What such a
//! session reaches is the pages' business; who may stand at one is asked here.
use jiff::{SignedDuration, Timestamp};
use serde_json::json;
use sqlx::FromRow;

use crate::store::auth::Visitor;
use crate::store::columns::Instant;
use crate::store::people::Person;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{BundleId, Error, PersonId, TabletId};

/// Hours that one is open at most; the table holds to it, too.
pub const MOST_HOURS: i64 = 12;

/// The longest time between two uses of which both are noted.
const NOTED: SignedDuration = SignedDuration::from_mins(1);

/// A tablet behind a request.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct Tablet {
    /// Its own.
    pub id: TabletId,
    /// When it ends by itself.
    pub ends_at: Instant,
    /// When it was last used, to a minute.
    pub used_at: Instant,
}

impl Tablet {
    /// Whether it is time to note that it is in use: not at each request, which would each write.
    pub fn is_due(&self, now: Timestamp) -> bool {
        now.duration_since(self.used_at.0) >= NOTED
    }
}

/// An open tablet as instructors see it.
#[derive(Clone, Debug, FromRow)]
pub struct OpenTablet {
    /// Its own.
    pub id: TabletId,
    /// The name of who opened it.
    pub opened_by: String,
    /// Since when.
    pub opened_at: Instant,
    /// When it ends by itself.
    pub ends_at: Instant,
    /// When it was last used, to a minute.
    pub used_at: Instant,
}

impl Read {
    /// The open tablet whose secret has this hash.
    pub async fn tablet(&mut self, token_hash: &str, now: Timestamp) -> Result<Option<Tablet>, Error> {
        sql!(
            opt Tablet, self,
            "SELECT id, ends_at, used_at FROM tablet WHERE token_hash = $1 AND ends_at > $2",
            token_hash.to_owned(), Instant(now)
        )
    }

    /// Somebody who stands at a tablet: a volunteer who is here, and nobody else.
    pub async fn at_tablet(&mut self, person: PersonId) -> Result<Option<Visitor>, Error> {
        sql!(
            opt Visitor, self,
            "SELECT p.id AS person_id, p.name, p.role, p.units AS own_units, w.name AS workroom,
                    w.units AS workroom_units, w.time_zone, w.twelve_hours
             FROM person p CROSS JOIN workroom w
             WHERE p.id = $1 AND p.role = 'volunteer' AND p.left_at IS NULL",
            person
        )
    }

    /// Those whose names can be tapped: the volunteers who are here, by name.
    pub async fn volunteers(&mut self) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person
             WHERE role = 'volunteer' AND left_at IS NULL ORDER BY name_key, id"
        )
    }

    /// The tablets that are open, the one opened last first.
    pub async fn open_tablets(&mut self, now: Timestamp) -> Result<Vec<OpenTablet>, Error> {
        sql!(
            all OpenTablet, self,
            "SELECT t.id, p.name AS opened_by, t.opened_at, t.ends_at, t.used_at
             FROM tablet t JOIN person p ON p.id = t.opened_by WHERE t.ends_at > $1 ORDER BY t.opened_at DESC, t.id",
            Instant(now)
        )
    }
}

impl Write {
    /// Opens a tablet until a moment within the next [`MOST_HOURS`], and clears away those that ended. Who opens it is the
    /// change's actor.
    pub async fn open_tablet(
        &mut self,
        id: TabletId,
        token_hash: &str,
        ends_at: Timestamp,
    ) -> Result<(), Error> {
        let (at, by) = (self.now(), self.actor.person);
        sql!(exec self, "DELETE FROM tablet WHERE ends_at <= $1", at)?;
        sql!(
            exec self,
            "INSERT INTO tablet (id, token_hash, opened_by, opened_at, ends_at, used_at) VALUES ($1, $2, $3, $4, $5, $4)",
            id, token_hash.to_owned(), by, at, Instant(ends_at)
        )?;
        self.audit_log(EntityKind::Tablet, id, "opened", json!({ "until": ends_at.to_string() })).await
    }

    /// Notes that a tablet is in use.
    pub async fn tablet_in_use(&mut self, id: TabletId) -> Result<(), Error> {
        let at = self.now();
        self.skip_audit();
        sql!(exec self, "UPDATE tablet SET used_at = $1 WHERE id = $2 AND used_at < $1", at, id)?;
        Ok(())
    }

    /// Notes on which tablet something was done with a bundle: a name that was tapped proves less than one that signed in.
    pub async fn done_at_tablet(
        &mut self,
        id: TabletId,
        act: &'static str,
        bundle: BundleId,
    ) -> Result<(), Error> {
        self.audit_log(EntityKind::Tablet, id, act, json!({ "bundle": bundle })).await
    }

    /// Ends a tablet; whether it was open.
    pub async fn end_tablet(&mut self, id: TabletId) -> Result<bool, Error> {
        let ended = sql!(exec self, "DELETE FROM tablet WHERE id = $1", id)?;
        self.audit_log(EntityKind::Tablet, id, "ended", json!({})).await?;
        Ok(ended > 0)
    }
}
