//! The database: one file per noun, the SQL beside the row types. Nothing else speaks SQL.
//!
//! Naming: `frame(id)` reads one (an `Option`), `frames(…)` reads many, `add_frame`, `change_frame` write; reading
//! methods stand on [`Read`], writing ones on [`Write`]. SQL texts are string literals that begin with their verb: a test
//! prepares each of them on both databases.
pub mod attendance;
pub mod audit_log;
pub mod auth;
pub mod backups;
pub mod calendar;
pub mod cloth;
mod columns;
mod erasure;
mod error;
pub mod files;
pub mod frames;
mod ids;
mod invariants;
pub mod loans;
pub mod notices;
mod open;
pub mod people;
mod personal_data;
pub mod retention;
mod revision;
pub mod rods;
pub mod rugs;
pub mod terms;
pub mod timetable;
pub mod today;
mod tx;
pub mod waiting;
pub mod whole;
pub mod workroom;

use std::path::PathBuf;
use std::time::Duration;

use sqlx::{Connection as _, PgConnection, PgPool, SqlitePool};

pub use columns::{Day, Instant, TimeOfDay, UnknownWord, units_word, woven_from, woven_from_word};
pub use erasure::{NOBODY, NotErased};
pub use error::{Error, Rule, Violation};
pub use ids::*;
pub use invariants::questions;
pub use open::{Filling, OpenError, schema_version};
pub use revision::Revision;
pub use tx::{Actor, EntityKind, Read, TRANSACTIONS, Write};

/// The embedded migrations, one set for both databases.
pub static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!();

/// The database behind the program: SQLite in a file, or PostgreSQL.
#[derive(Clone, Debug)]
pub enum Store {
    /// One file, owned by this program.
    Sqlite(SqlitePool),
    /// A server that several copies of the program may share.
    Pg(PgPool),
}

/// Where the database is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// A directory that holds `thrumhall.sqlite`.
    Dir(PathBuf),
    /// A `postgres://…` address.
    Url(String),
}

/// The database's file inside its directory.
pub const FILE_NAME: &str = "thrumhall.sqlite";

impl Store {
    /// Why no connection was to be had: the pool tells only that its time was up, the database itself says more.
    async fn first_cause(&self, error: sqlx::Error) -> Error {
        let Self::Pg(pool) = self else { return error.into() };
        if !matches!(error, sqlx::Error::PoolTimedOut) {
            return error.into();
        }
        let options = pool.connect_options();
        let tried = PgConnection::connect_with(&options);
        match tokio::time::timeout(Duration::from_secs(1), tried).await {
            Ok(Ok(connection)) => {
                let _ = connection.close().await;
                let open = pool.size();
                Error::Unavailable(format!(
                    "each of its {open} connections is in use for more than {} s",
                    open::WAIT.as_secs()
                ))
            }
            Ok(Err(cause)) => Error::Unavailable(cause.to_string()),
            Err(_) => Error::Unavailable("it doesn’t answer".into()),
        }
    }

    /// How many connections there are, and how many of them nobody uses.
    pub fn connections(&self) -> (u32, usize) {
        match self {
            Self::Sqlite(pool) => (pool.size(), pool.num_idle()),
            Self::Pg(pool) => (pool.size(), pool.num_idle()),
        }
    }

    /// Finishes what is going on and closes every connection.
    pub async fn close(&self) {
        match self {
            Self::Sqlite(pool) => pool.close().await,
            Self::Pg(pool) => pool.close().await,
        }
    }
}
