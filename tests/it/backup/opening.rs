//! What is opened and what is refused: nothing is made up where a database was meant to be, and nobody else's is touched.
use sqlx::{Connection as _, PgConnection, SqliteConnection};
use thrumhall::store::{FILE_NAME, OpenError, Place, Store};

use crate::support::Database;

async fn both_refuse(place: &Place, why: fn(&OpenError) -> bool) {
    for refused in [Store::open(place).await, Store::connect(place).await] {
        let error = refused.expect_err("it is opened");
        assert!(why(&error), "{error:?}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_not_there_is_not_made_by_looking() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("typo");
    let error = Store::connect(&Place::Dir(dir.clone())).await.unwrap_err();
    assert!(matches!(error, OpenError::Missing(_)), "{error}");
    assert!(!dir.exists());
    std::fs::create_dir(&dir).unwrap();
    let error = Store::connect(&Place::Dir(dir.clone())).await.unwrap_err();
    assert!(matches!(error, OpenError::Missing(_)), "{error}");
    assert_eq!(std::fs::read_dir(&dir).unwrap().count(), 0);
    if let Some((_bare, place)) = Database::bare().await {
        let error = Store::connect(&place).await.unwrap_err();
        assert!(matches!(error, OpenError::Missing(_)), "{error}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_empty_file_and_one_without_our_tables_are_refused_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    let (place, file) = (Place::Dir(folder.path().to_path_buf()), folder.path().join(FILE_NAME));
    std::fs::write(&file, "").unwrap();
    both_refuse(&place, |error| matches!(error, OpenError::Empty(_))).await;
    assert_eq!(std::fs::metadata(&file).unwrap().len(), 0);
    std::fs::remove_file(&file).unwrap();

    let mut other =
        SqliteConnection::connect(&format!("sqlite://{}?mode=rwc", file.display())).await.unwrap();
    sqlx::query("CREATE TABLE recipe (name TEXT)").execute(&mut other).await.unwrap();
    both_refuse(&place, |error| matches!(error, OpenError::Foreign(_))).await;
    sqlx::query("DROP TABLE recipe").execute(&mut other).await.unwrap();
    assert!(
        matches!(Store::open(&place).await, Err(OpenError::Empty(_))),
        "a file without tables was never ours"
    );
    other.close().await.unwrap();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_database_with_somebody_elses_tables_is_refused() {
    let Some((_bare, place)) = Database::bare().await else { return };
    let Place::Url(url) = &place else { unreachable!() };
    let mut hand = PgConnection::connect(url).await.unwrap();
    sqlx::query("CREATE TABLE recipe (name TEXT)").execute(&mut hand).await.unwrap();
    both_refuse(&place, |error| matches!(error, OpenError::Foreign(_))).await;
    let ours: i64 = sqlx::query_scalar("SELECT COUNT(*) FROM pg_tables WHERE tablename = 'person'")
        .fetch_one(&mut hand)
        .await
        .unwrap();
    assert_eq!(ours, 0, "nothing was made beside it");
    sqlx::query("DROP TABLE recipe").execute(&mut hand).await.unwrap();
    hand.close().await.unwrap();
    Store::open(&place).await.unwrap().close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_newer_schema_is_refused_and_an_older_one_waits_for_serve() {
    let folder = tempfile::tempdir().unwrap();
    let place = Place::Dir(folder.path().to_path_buf());
    let store = Store::open(&place).await.unwrap();
    let Store::Sqlite(pool) = &store else { unreachable!() };
    let newer = "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)
        VALUES (9999, 'of the future', TRUE, x'00', 0)";
    sqlx::query(newer).execute(pool).await.unwrap();
    both_refuse(&place, |error| matches!(error, OpenError::Newer(_))).await;
    for statement in ["DELETE FROM _sqlx_migrations WHERE version IN (9999, 18)", "DROP TABLE backup_run"] {
        sqlx::query(sqlx::AssertSqlSafe(statement)).execute(pool).await.unwrap();
    }
    store.close().await;
    if thrumhall::store::schema_version() == 18 {
        let error = Store::connect(&place).await.unwrap_err();
        assert!(matches!(error, OpenError::Older(_)), "{error}");
        Store::open(&place).await.unwrap().close().await;
        Store::connect(&place).await.unwrap().close().await;
    }
}
