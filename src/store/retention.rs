//! How long things are kept that nobody needs for good, and their clearing away. The page *What is kept* says the same.
use jiff::{SignedDuration, Timestamp};

use super::Error;
use super::columns::Instant;
use super::tx::{Write, sql};

/// Days that a count of failed sign-ins is kept.
pub const ATTEMPT_DAYS: i64 = 2;
/// Days that the key of a form is kept, by which a second copy of it is known: a device may send late what waits on it.
pub const KEY_DAYS: i64 = 90;
/// Days that a link which was replaced is kept.
pub const LINK_DAYS: i64 = 90;
/// Days that a device is known after somebody signed in on it.
pub const DEVICE_DAYS: i64 = 400;
/// Days that notices and how they went out are kept.
pub const NOTICE_DAYS: i64 = 400;

impl Write {
    /// Clears away what is past its time: sessions, tablets and half sign-ins that ran out, counts of tries, devices that were long not used, keys of forms, links that were
    /// replaced, notices. The record and the ledgers stay.
    pub async fn sweep(&mut self) -> Result<(), Error> {
        self.skip_audit();
        let now = self.now();
        let before = |days: i64| {
            let since = now.0.saturating_sub(SignedDuration::from_hours(24 * days));
            Instant(since.unwrap_or(Timestamp::MIN))
        };
        sql!(exec self, "DELETE FROM session WHERE expires_at <= $1", now)?;
        sql!(exec self, "DELETE FROM tablet WHERE ends_at <= $1", now)?;
        // By the row that a try at a door waits for, too, so that neither waits for the other.
        sql!(exec self, "UPDATE counter SET last = last WHERE name = 'try'")?;
        sql!(exec self, "DELETE FROM attempt WHERE first_at < $1", before(ATTEMPT_DAYS))?;
        sql!(exec self, "DELETE FROM known_device WHERE seen_at < $1", before(DEVICE_DAYS))?;
        sql!(exec self, "DELETE FROM half_way WHERE expires_at <= $1", now)?;
        sql!(exec self, "DELETE FROM let_in_link WHERE expires_at <= $1", now)?;
        sql!(exec self, "DELETE FROM done_request WHERE at < $1", before(KEY_DAYS))?;
        sql!(exec self, "DELETE FROM entry_link WHERE replaced_at < $1", before(LINK_DAYS))?;
        sql!(exec self, "DELETE FROM calendar_link WHERE replaced_at < $1", before(LINK_DAYS))?;
        let old = before(NOTICE_DAYS);
        sql!(
            exec self,
            "DELETE FROM delivery WHERE notice_id IN (SELECT n.id FROM notice n WHERE n.at < $1)", old
        )?;
        sql!(
            exec self,
            "DELETE FROM notice_person WHERE notice_id IN (SELECT n.id FROM notice n WHERE n.at < $1)", old
        )?;
        sql!(exec self, "DELETE FROM notice WHERE at < $1", old)?;
        Ok(())
    }
}
