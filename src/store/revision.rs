//! What the database is at: a word that is another one after each change, so that what was worked out from it can be kept for
//! as long as it is the same. Copies of the program over one database see the same word, and need not talk.
//!
//! Each change writes the word last of all, before it is kept: on PostgreSQL its row is then locked until the change is there
//! to be seen, so that a view that sees a word sees all that came before it and nothing that came after.
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use super::columns::column;
use super::{Error, Store};

/// What the database is at. Two that are equal mean that nothing changed that anybody could see in between.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Revision(Arc<str>);

column!(Revision, String, |value| value.0.to_string(), |raw| Ok(Revision(raw.into())));

impl Revision {
    /// Whether it says anything: a database in which nothing was changed since it has the word says nothing.
    pub fn is_known(&self) -> bool {
        !self.0.is_empty()
    }
}

/// How many changes this process has ended, kept or not, over all its databases: it is another number as soon as one was kept.
static ENDED: AtomicU64 = AtomicU64::new(0);

/// Called when a change has ended.
pub(super) fn change_ended() {
    ENDED.fetch_add(1, Ordering::SeqCst);
}

impl Store {
    /// How many changes were ended by this program, where nobody else makes any but somebody who types a command: on SQLite, whose file
    /// the program owns. As long as it is the same, so is the revision, but for such a command.
    pub fn changes_ended(&self) -> Option<u64> {
        match self {
            Self::Sqlite(_) => Some(ENDED.load(Ordering::SeqCst)),
            Self::Pg(_) => None,
        }
    }

    /// What the database is at, by one statement and without a view.
    pub async fn revision(&self) -> Result<Revision, Error> {
        // The last line of the record stands beside the word for copies of an older version, which don't write it.
        const NOW: &str =
            "SELECT w.word || COALESCE((SELECT MAX(c.id) FROM change c), '') FROM database_revision w";
        let asked = match self {
            Self::Sqlite(pool) => sqlx::query_scalar(NOW).fetch_optional(pool).await,
            Self::Pg(pool) => sqlx::query_scalar(NOW).fetch_optional(pool).await,
        };
        match asked {
            Ok(word) => Ok(word.unwrap_or_else(|| Revision("".into()))),
            Err(error) => Err(self.first_cause(error).await),
        }
    }
}
