//! No test leaves a database behind on the server.
use jiff::{SignedDuration, Timestamp};
use sqlx::{Connection as _, PgConnection};
use thrumhall::store::{PersonId, Store};

use super::Database;
use super::database::{server, sweep};

async fn there(admin: &mut PgConnection, name: &str) -> bool {
    let found = sqlx::query_scalar("SELECT COUNT(*) FROM pg_database WHERE datname = $1").bind(name);
    let found: i64 = found.fetch_one(admin).await.unwrap();
    found == 1
}

async fn make(admin: &mut PgConnection, name: &str) {
    sqlx::query(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}"))).execute(admin).await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_test_that_fails_leaves_no_database() {
    let Some(database) = Database::pg().await else { return };
    let Store::Pg(pool) = database.store.clone() else { unreachable!() };
    let name = pool.connect_options().get_database().unwrap().to_owned();
    let mut admin = PgConnection::connect(&server()).await.unwrap();
    assert!(there(&mut admin, &name).await);
    let failed = tokio::spawn(async move {
        let _held = database;
        panic!("as a test would");
    });
    assert!(failed.await.unwrap_err().is_panic());
    assert!(!there(&mut admin, &name).await, "{name} is left");
}

#[tokio::test(flavor = "multi_thread")]
async fn what_killed_runs_left_is_swept_after_an_hour() {
    let Some(database) = Database::pg().await else { return };
    let mut admin = PgConnection::connect(&server()).await.unwrap();
    let id = PersonId::new().to_string().replace('-', "");
    let of = |minutes: i64| {
        #[allow(clippy::disallowed_methods, reason = "names are as old as the machine says")]
        let at = Timestamp::now() - SignedDuration::from_mins(minutes);
        format!("thrumhall_test_{:012x}{}", at.as_millisecond(), &id[12..])
    };
    let (old, young, foreign) = (of(61), of(59), format!("thrumhall_trial_{id}"));
    for name in [&old, &young, &foreign] {
        make(&mut admin, name).await;
    }
    sweep(&mut admin).await;
    assert!(!there(&mut admin, &old).await, "{old} is left");
    for name in [&young, &foreign] {
        assert!(there(&mut admin, name).await, "{name} isn't ours to delete");
        let gone = sqlx::AssertSqlSafe(format!("DROP DATABASE {name}"));
        sqlx::query(gone).execute(&mut admin).await.unwrap();
    }
    database.drop().await;
}
