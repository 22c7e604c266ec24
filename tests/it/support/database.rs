//! A fresh database for one test, which is gone when the test is over, however it ended.
use std::path::{Path, PathBuf};

use jiff::{SignedDuration, Timestamp};
use sqlx::{Connection as _, PgConnection};
use thrumhall::secrets;
use thrumhall::store::{Actor, FILE_NAME, MIGRATIONS, PersonId, Place, Store};
use tokio::sync::OnceCell;

/// A database that lives as long as its test.
pub struct Database {
    pub store: Store,
    behind: Behind,
}

enum Behind {
    Lite(tempfile::TempDir),
    Pg(Guard),
}

/// A database of the server that is gone with this.
#[allow(dead_code, reason = "it is there to be dropped")]
pub struct Bare(Guard);

/// Deletes a database of the server when it is dropped: a test that panics cleans up, too.
struct Guard(String);

impl Drop for Guard {
    fn drop(&mut self) {
        let name = std::mem::take(&mut self.0);
        // A drop can't wait within the test's own runtime; a thread has one of its own.
        let gone = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build();
            runtime.unwrap().block_on(async {
                let mut admin = PgConnection::connect(&server()).await?;
                delete(&mut admin, &name).await
            })
        });
        match gone.join() {
            Ok(Ok(())) => {}
            left => eprintln!("a test's database is left behind: {left:?}"),
        }
    }
}

/// What the names of our databases begin with; an id follows, which tells when it was made.
const PREFIX: &str = "thrumhall_test_";

/// A name for a database of ours that none had before.
fn new_name() -> String {
    format!("{PREFIX}{}", PersonId::new().to_string().replace('-', ""))
}

async fn delete(admin: &mut PgConnection, name: &str) -> Result<(), sqlx::Error> {
    let gone = sqlx::AssertSqlSafe(format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)"));
    sqlx::query(gone).execute(admin).await.map(|_| ())
}

/// When one of our databases was made, by the version 7 UUID in its name; nothing for any other database.
fn made_at(name: &str) -> Option<Timestamp> {
    let id = name.strip_prefix(PREFIX).filter(|id| id.len() == 32)?;
    let ms = i64::try_from(u64::from_str_radix(&id[..12], 16).ok()?).ok()?;
    Timestamp::from_millisecond(ms).ok()
}

/// Deletes what runs that were killed left behind more than an hour ago.
pub async fn sweep(admin: &mut PgConnection) {
    let names: Vec<String> =
        sqlx::query_scalar("SELECT datname FROM pg_database").fetch_all(&mut *admin).await.unwrap();
    #[allow(clippy::disallowed_methods, reason = "what is left on a server is as old as the machine says")]
    let before = Timestamp::now() - SignedDuration::from_hours(1);
    for name in names.iter().filter(|name| made_at(name).is_some_and(|at| at < before)) {
        // Another run may be sweeping, too.
        if let Err(error) = delete(admin, name).await {
            eprintln!("{name} stays: {error}");
        }
    }
}

/// What the names of templates begin with; a mark of the migrations and when they were made follow.
const TEMPLATES: &str = "thrumhall_template_";

/// The database with our tables in it that others are copied from, which is much quicker than migrating each. It stays on the
/// server for the next run of the same role, since nobody may copy or drop what another owns; those of other versions go after
/// a day.
async fn template(admin: &mut PgConnection) -> String {
    let sums: Vec<u8> = MIGRATIONS.iter().flat_map(|one| one.checksum.to_vec()).collect();
    let ours = format!("{TEMPLATES}{}_", &secrets::secret_hash(&format!("{sums:?}"))[..16]);
    // Another run may be making the same one: the second waits, and finds it.
    sqlx::query("SELECT pg_advisory_lock(hashtext($1))").bind(TEMPLATES).execute(&mut *admin).await.unwrap();
    let names: Vec<String> = sqlx::query_scalar(
        "SELECT d.datname FROM pg_database d JOIN pg_roles r ON r.oid = d.datdba
         WHERE starts_with(d.datname, $1) AND r.rolname = CURRENT_USER ORDER BY d.datname",
    )
    .bind(TEMPLATES)
    .fetch_all(&mut *admin)
    .await
    .unwrap();
    #[allow(clippy::disallowed_methods, reason = "what is left on a server is as old as the machine says")]
    let before = Timestamp::now() - SignedDuration::from_hours(24);
    for name in names.iter().filter(|name| !name.starts_with(&ours)) {
        let made = name.rsplit_once('_').and_then(|(_, id)| made_at(&format!("{PREFIX}{id}")));
        if made.is_none_or(|at| at < before) {
            delete(admin, name).await.unwrap();
        }
    }
    let name = if let Some(name) = names.into_iter().find(|name| name.starts_with(&ours)) {
        name
    } else {
        // It takes its name when it is whole, so that a run that is killed leaves none that is half made.
        let making = new_name();
        let name = making.replace(PREFIX, &ours);
        let statement = |text: String| sqlx::query(sqlx::AssertSqlSafe(text));
        statement(format!("CREATE DATABASE {making}")).execute(&mut *admin).await.unwrap();
        Store::open(&Place::Url(address_of(&making))).await.unwrap().close().await;
        statement(format!("ALTER DATABASE {making} RENAME TO {name}")).execute(&mut *admin).await.unwrap();
        name
    };
    sqlx::query("SELECT pg_advisory_unlock(hashtext($1))")
        .bind(TEMPLATES)
        .execute(&mut *admin)
        .await
        .unwrap();
    name
}

/// 2026-10-07 was a Wednesday; the clock stands at noon UTC.
pub fn noon() -> Timestamp {
    "2026-10-07T12:00:00Z".parse().unwrap()
}

/// Six in the evening of the same Wednesday in Los Angeles, where it is Thursday in UTC already.
pub fn evening() -> Timestamp {
    "2026-10-08T01:00:00Z".parse().unwrap()
}

/// Somebody acting at [`noon`].
pub fn actor(person: PersonId) -> Actor {
    Actor { person: Some(person), at: noon() }
}

pub(super) fn server() -> String {
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
        // In memory where there is such a folder: each commit waits for the disk otherwise.
        let memory = Path::new("/dev/shm");
        let dir = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() }.unwrap();
        let store = Store::open(&Place::Dir(dir.path().to_path_buf())).await.unwrap();
        Self { store, behind: Behind::Lite(dir) }
    }

    /// `None`, said plainly, where no PostgreSQL answers; a failure where one has to be (CI).
    pub async fn pg() -> Option<Self> {
        static SWEPT: OnceCell<()> = OnceCell::const_new();
        static TEMPLATE: OnceCell<String> = OnceCell::const_new();
        let mut admin = match PgConnection::connect(&server()).await {
            Ok(admin) => admin,
            Err(error) => {
                assert!(std::env::var_os("CI").is_none(), "PostgreSQL has to be there in CI: {error}");
                eprintln!("SKIPPED: no PostgreSQL at the test address ({error})");
                return None;
            }
        };
        SWEPT.get_or_init(|| sweep(&mut admin)).await;
        let template = TEMPLATE.get_or_init(|| template(&mut admin)).await.clone();
        let name = new_name();
        let make = sqlx::AssertSqlSafe(format!("CREATE DATABASE {name} TEMPLATE {template}"));
        sqlx::query(make).execute(&mut admin).await.unwrap();
        let guard = Guard(name.clone());
        // What a test keeps need not outlive the machine.
        let hasty = sqlx::AssertSqlSafe(format!("ALTER DATABASE {name} SET synchronous_commit = off"));
        sqlx::query(hasty).execute(&mut admin).await.unwrap();
        admin.close().await.unwrap();
        let store = Store::open(&Place::Url(address_of(&name))).await.unwrap();
        Some(Self { store, behind: Behind::Pg(guard) })
    }

    /// A database of the server in which nothing is; see [`Database::pg`].
    pub async fn bare() -> Option<(Bare, Place)> {
        let mut admin = match PgConnection::connect(&server()).await {
            Ok(admin) => admin,
            Err(error) => {
                assert!(std::env::var_os("CI").is_none(), "PostgreSQL has to be there in CI: {error}");
                eprintln!("SKIPPED: no PostgreSQL at the test address ({error})");
                return None;
            }
        };
        let name = new_name();
        sqlx::query(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}")))
            .execute(&mut admin)
            .await
            .unwrap();
        let place = Place::Url(address_of(&name));
        Some((Bare(Guard(name)), place))
    }

    fn place(&self) -> Place {
        match &self.behind {
            Behind::Lite(dir) => Place::Dir(dir.path().to_path_buf()),
            Behind::Pg(guard) => Place::Url(address_of(&guard.0)),
        }
    }

    /// The same database, opened once more, as a second copy of the program would.
    pub async fn open_again(&self) -> Store {
        Store::open(&self.place()).await.unwrap()
    }

    /// The same by a single connection: a caller who holds it and wants another one is never served.
    pub async fn by_one_connection(&self) -> Store {
        Store::connect_at_most(&self.place(), 1).await.unwrap()
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
            Behind::Pg(guard) => drop(guard),
        }
    }
}
