//! What is noted of a rug beside its plan, and which rugs weavers may start from.
use serde_json::json;
use sqlx::FromRow;

use crate::store::tx::{EntityKind, Read, Write, check_revision, sql};
use crate::store::{Error, RugId};

/// A rug that weavers may start from.
#[derive(Clone, Debug, FromRow)]
pub struct ClassPattern {
    /// The rug.
    pub id: RugId,
    /// What it is called.
    pub name: String,
}

impl Read {
    /// The patterns of the class, the newest first.
    pub async fn patterns(&mut self) -> Result<Vec<ClassPattern>, Error> {
        sql!(
            all ClassPattern, self,
            "SELECT r.id, r.name FROM rug r WHERE r.pattern ORDER BY r.id DESC LIMIT 40"
        )
    }
}

impl Write {
    /// Notes something of a rug, in place of what `was` noted.
    ///
    /// # Errors
    /// [`Error::Stale`] when somebody else noted something meanwhile.
    pub async fn note_rug(&mut self, id: RugId, was: &str, note: &str) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE rug SET note = $3 WHERE id = $1 AND note = $2", id, was.to_owned(), note.to_owned()
        )?;
        check_revision(rows)?;
        // The record is read by more people than the note.
        self.audit_log(EntityKind::Rug, id, "noted", json!({})).await
    }

    /// Lets weavers start from a rug, or no longer.
    pub async fn set_pattern(&mut self, id: RugId, pattern: bool) -> Result<(), Error> {
        let rows =
            sql!(exec self, "UPDATE rug SET pattern = $2 WHERE id = $1 AND pattern <> $2", id, pattern)?;
        if rows == 0 {
            self.skip_audit();
            return Ok(());
        }
        let act = if pattern { "made a class pattern" } else { "no class pattern any more" };
        self.audit_log(EntityKind::Rug, id, act, json!({})).await
    }
}
