//! The record read back: who changed what, when.
use sqlx::FromRow;

use super::columns::Instant;
use super::tx::{EntityKind, Read, sql};
use super::{ChangeId, Error};

/// One line of the record.
#[derive(Clone, Debug, FromRow)]
pub struct Change {
    /// The line's own id.
    pub id: ChangeId,
    /// When.
    pub at: Instant,
    /// Who; `None` is the program itself.
    pub who: Option<String>,
    /// What kind of thing.
    pub noun: EntityKind,
    /// Which one.
    pub noun_id: String,
    /// What was done.
    pub act: String,
    /// The details, as JSON.
    pub detail: String,
}

impl Read {
    /// The newest `limit` lines before `before`, newest first.
    pub async fn audit_log_before(
        &mut self,
        before: Option<ChangeId>,
        limit: i64,
    ) -> Result<Vec<Change>, Error> {
        // Ids sort by time (UUID version 7), so the id serves as the page mark.
        sql!(
            all Change, self,
            "SELECT c.id, c.at, p.name AS who, c.noun, c.noun_id, c.act, c.detail
             FROM change c LEFT JOIN person p ON p.id = c.person_id
             WHERE CAST($1 AS TEXT) IS NULL OR c.id < $1 ORDER BY c.id DESC LIMIT $2",
            before, limit
        )
    }

    /// The lines about one thing, newest first: its history, and who changed it last.
    pub async fn audit_log_of(&mut self, noun: EntityKind, id: &str) -> Result<Vec<Change>, Error> {
        sql!(
            all Change, self,
            "SELECT c.id, c.at, p.name AS who, c.noun, c.noun_id, c.act, c.detail
             FROM change c LEFT JOIN person p ON p.id = c.person_id
             WHERE c.noun = $1 AND c.noun_id = $2 ORDER BY c.id DESC LIMIT 200",
            noun, id.to_owned()
        )
    }
}
