//! Tries at a passphrase: each is counted before it is known how it ends, so that many at once don't slip by, and forgiven
//! when it ends well. All copies of the program count together.
use jiff::Timestamp;
use sqlx::FromRow;

use crate::store::columns::Instant;
use crate::store::tx::{Read, Write, sql};
use crate::store::{Error, PersonId};

/// Tries counted at a door since `first_at`.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct Tries {
    /// How many.
    pub failures: i64,
    /// Since when.
    pub first_at: Instant,
}

impl Read {
    /// The tries counted at a door.
    pub async fn tries(&mut self, door: &str) -> Result<Option<Tries>, Error> {
        sql!(opt Tries, self, "SELECT failures, first_at FROM attempt WHERE who = $1", door.to_owned())
    }

    /// Whether somebody signed in on this device before.
    pub async fn knows_device(&mut self, token_hash: &str, person: PersonId) -> Result<bool, Error> {
        Ok(sql!(
            val i64, self,
            "SELECT COUNT(*) FROM known_device WHERE token_hash = $1 AND person_id = $2",
            token_hash.to_owned(), person
        )? == 1)
    }

    /// Whether anybody signed in on this device before.
    pub async fn knows_somebody_on(&mut self, token_hash: &str) -> Result<bool, Error> {
        Ok(sql!(
            val i64, self,
            "SELECT COUNT(*) FROM known_device WHERE token_hash = $1", token_hash.to_owned()
        )? > 0)
    }
}

impl Write {
    /// Counts a try at a door: how many there are now. Counting starts over when it began at `since` or before; what was counted
    /// then is forgotten at every door.
    pub async fn count_try(&mut self, door: &str, since: Timestamp) -> Result<Tries, Error> {
        let at = self.now();
        self.skip_audit();
        self.one_counts().await?;
        sql!(exec self, "DELETE FROM attempt WHERE first_at <= $1", Instant(since))?;
        sql!(
            one Tries, self,
            "INSERT INTO attempt (who, failures, first_at) VALUES ($1, 1, $2)
             ON CONFLICT (who) DO UPDATE SET failures = attempt.failures + 1
             RETURNING failures, first_at",
            door.to_owned(), at
        )
    }

    /// Takes a try back that ended well.
    pub async fn forgive_try(&mut self, door: &str) -> Result<(), Error> {
        self.one_counts().await?;
        sql!(exec self, "DELETE FROM attempt WHERE who = $1 AND failures <= 1", door.to_owned())?;
        sql!(exec self, "UPDATE attempt SET failures = failures - 1 WHERE who = $1", door.to_owned())?;
        Ok(())
    }

    /// Forgets all tries at a door.
    pub async fn forget_tries(&mut self, door: &str) -> Result<(), Error> {
        self.one_counts().await?;
        sql!(exec self, "DELETE FROM attempt WHERE who = $1", door.to_owned())?;
        Ok(())
    }

    /// Remembers that somebody signed in on this device.
    pub async fn know_device(&mut self, token_hash: &str, person: PersonId) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO known_device (token_hash, person_id, seen_at) VALUES ($1, $2, $3)
             ON CONFLICT (token_hash, person_id) DO UPDATE SET seen_at = excluded.seen_at",
            token_hash.to_owned(), person, at
        )?;
        Ok(())
    }

    /// Forgets that somebody signed in on this device.
    pub async fn forget_device(&mut self, token_hash: &str, person: PersonId) -> Result<(), Error> {
        sql!(
            exec self,
            "DELETE FROM known_device WHERE token_hash = $1 AND person_id = $2", token_hash.to_owned(), person
        )?;
        Ok(())
    }

    /// Forgets on which devices somebody signed in.
    pub async fn forget_devices(&mut self, person: PersonId) -> Result<(), Error> {
        sql!(exec self, "DELETE FROM known_device WHERE person_id = $1", person)?;
        Ok(())
    }

    /// Whoever counts waits here for whoever counts already: one change touches several doors, and two that took them in
    /// another order would wait for each other.
    async fn one_counts(&mut self) -> Result<(), Error> {
        sql!(exec self, "UPDATE counter SET last = last + 1 WHERE name = 'try'")?;
        Ok(())
    }
}
