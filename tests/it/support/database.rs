//! A fresh database for one test.
use std::path::PathBuf;

use jiff::Timestamp;
use sqlx::{Connection as _, PgConnection};
use thrumhall::store::{Actor, FILE_NAME, PersonId, Place, Store};

/// A database that lives as long as its test.
pub struct Database {
    pub store: Store,
    behind: Behind,
}

enum Behind {
    Lite(tempfile::TempDir),
    Pg(String),
}

/// 2026-10-07 was a Wednesday; the clock stands at noon UTC.
pub fn noon() -> Timestamp {
    "2026-10-07T12:00:00Z".parse().unwrap()
}

/// Somebody acting at [`noon`].
pub fn actor(person: PersonId) -> Actor {
    Actor { person: Some(person), at: noon() }
}

fn server() -> String {
    std::env::var("THRUMHALL_TEST_PG").unwrap_or_else(|_| "postgres://postgres@127.0.0.1:5432/test".into())
}

/// The address of a database on the test server.
fn address_of(name: &str) -> String {
    let server = server();
    let (base, _) = server.rsplit_once('/').unwrap();
    format!("{base}/{name}")
}

impl Database {
    pub async fn lite() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::open(&Place::Dir(dir.path().to_path_buf())).await.unwrap();
        Self { store, behind: Behind::Lite(dir) }
    }

    /// `None`, said plainly, where no PostgreSQL answers; a failure where one has to be (CI).
    pub async fn pg() -> Option<Self> {
        let mut admin = match PgConnection::connect(&server()).await {
            Ok(admin) => admin,
            Err(error) => {
                assert!(std::env::var_os("CI").is_none(), "PostgreSQL has to be there in CI: {error}");
                eprintln!("SKIPPED: no PostgreSQL at the test address ({error})");
                return None;
            }
        };
        let name = format!("thrumhall_test_{}", PersonId::fresh().to_string().replace('-', ""));
        let make = sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}"));
        sqlx::query(make).execute(&mut admin).await.unwrap();
        admin.close().await.unwrap();
        let store = Store::open(&Place::Url(address_of(&name))).await.unwrap();
        Some(Self { store, behind: Behind::Pg(name) })
    }

    /// The same database, opened once more, as a second copy of the program would.
    pub async fn open_again(&self) -> Store {
        let place = match &self.behind {
            Behind::Lite(dir) => Place::Dir(dir.path().to_path_buf()),
            Behind::Pg(name) => Place::Url(address_of(name)),
        };
        Store::open(&place).await.unwrap()
    }

    /// The file behind, on SQLite.
    pub fn file(&self) -> Option<PathBuf> {
        match &self.behind {
            Behind::Lite(dir) => Some(dir.path().join(FILE_NAME)),
            Behind::Pg(_) => None,
        }
    }

    pub async fn drop(self) {
        self.store.close().await;
        match self.behind {
            Behind::Lite(dir) => dir.close().unwrap(),
            Behind::Pg(name) => {
                let mut admin = PgConnection::connect(&server()).await.unwrap();
                let gone = sqlx::AssertSqlSafe(format!("DROP DATABASE {name} WITH (FORCE)"));
                sqlx::query(gone).execute(&mut admin).await.unwrap();
            }
        }
    }
}
