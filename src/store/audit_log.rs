//! The record read back: who changed what, when.
use sqlx::FromRow;

use super::columns::Instant;
use super::tx::{EntityKind, Read, sql};
use super::{ChangeId, Error};
use crate::units::Length;

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
    pub entity: EntityKind,
    /// Which one.
    pub entity_id: String,
    /// What was done.
    pub act: String,
    /// The details, as JSON.
    pub detail: String,
}

/// A line of the record with what the thing is called by now.
#[derive(Clone, Debug, FromRow)]
pub struct NamedChange {
    /// The line.
    #[sqlx(flatten)]
    pub change: Change,
    /// A frame's or bundle's tag, a name, a meeting's day; of a loan its frame's tag. `None` for what has none.
    pub called: Option<String>,
    /// Of a rod: its length.
    pub length: Option<Length>,
    /// Of a rod: its diameter.
    pub diameter: Option<Length>,
}

impl Read {
    /// The newest `limit` lines before `before`, newest first.
    pub async fn audit_log_before(
        &mut self,
        before: Option<ChangeId>,
        limit: i64,
    ) -> Result<Vec<NamedChange>, Error> {
        // Ids sort by time (UUID version 7), so the id serves as the page mark.
        sql!(
            all NamedChange, self,
            "SELECT c.id, c.at, p.name AS who, c.noun AS entity, c.noun_id AS entity_id, c.act, c.detail,
                    COALESCE(f.tag, lf.tag, CAST(b.tag AS TEXT), u.name, o.name, t.name, m.on_day, v.name) AS called,
                    r.length_nm AS length, r.diameter_nm AS diameter
             FROM change c LEFT JOIN person p ON p.id = c.person_id
             LEFT JOIN frame f ON c.noun = 'frame' AND f.id = c.noun_id
             LEFT JOIN loan l ON c.noun = 'loan' AND l.id = c.noun_id LEFT JOIN frame lf ON lf.id = l.frame_id
             LEFT JOIN bundle b ON c.noun = 'bundle' AND b.id = c.noun_id
             LEFT JOIN rug u ON c.noun = 'rug' AND u.id = c.noun_id
             LEFT JOIN person o ON c.noun = 'person' AND o.id = c.noun_id
             LEFT JOIN term t ON c.noun = 'term' AND t.id = c.noun_id
             LEFT JOIN meeting m ON c.noun = 'meeting' AND m.id = c.noun_id
             LEFT JOIN receiver v ON c.noun = 'receiver' AND v.id = c.noun_id
             LEFT JOIN rod r ON c.noun = 'rod' AND r.id = c.noun_id
             WHERE CAST($1 AS TEXT) IS NULL OR c.id < $1 ORDER BY c.id DESC LIMIT $2",
            before, limit
        )
    }

    /// All lines, newest first.
    pub async fn audit_log(&mut self) -> Result<Vec<Change>, Error> {
        sql!(
            all Change, self,
            "SELECT c.id, c.at, p.name AS who, c.noun AS entity, c.noun_id AS entity_id, c.act, c.detail
             FROM change c LEFT JOIN person p ON p.id = c.person_id ORDER BY c.id DESC"
        )
    }

    /// The lines about one thing, newest first: its history, and who changed it last.
    pub async fn audit_log_of(&mut self, entity: EntityKind, id: &str) -> Result<Vec<Change>, Error> {
        sql!(
            all Change, self,
            "SELECT c.id, c.at, p.name AS who, c.noun AS entity, c.noun_id AS entity_id, c.act, c.detail
             FROM change c LEFT JOIN person p ON p.id = c.person_id
             WHERE c.noun = $1 AND c.noun_id = $2 ORDER BY c.id DESC LIMIT 200",
            entity, id.to_owned()
        )
    }
}
