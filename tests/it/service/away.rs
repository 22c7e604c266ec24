//! While the database is away, locked or slow: what was typed is not lost, nothing is said that isn't so, and the log names the
//! first cause.
use std::time::{Duration, Instant};

use axum::Router;
use sqlx::postgres::PgPoolOptions;
use sqlx::{Connection as _, PgConnection};
use thrumhall::clock::Clock;
use thrumhall::store::people::Role;
use thrumhall::store::{Actor, Error, RequestKey, Store};
use thrumhall::units::Units;
use thrumhall::web::{App, Config, service};

use crate::support::browser::{World, enter};
use crate::support::forms;
use crate::support::program::database;
use crate::support::{Database, evening, loft, noon};

#[tokio::test]
async fn what_was_posted_while_the_database_is_away_can_be_sent_again() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let key = RequestKey::new().to_string();
    let note = "first line\nsecond \"line\" <b>";
    let typed = [("key", key.as_str()), ("role", "weaver"), ("name", "Nils"), ("contact", note)];
    world.store().close().await;

    let page = instructor.post("/people?from=here", &typed).await.is(503);
    assert_eq!(page.attr("main form", "action"), "/people?from=here");
    assert_eq!(page.attr("main form", "method"), "post");
    for (name, value) in typed {
        assert_eq!(page.field(name), value);
    }
    // Neither a secret nor what another site made somebody send is carried.
    let secret = [("name", "Nils"), ("passphrase", "four words of wool")];
    let page = world.stranger().post("/sign-in", &secret).await.is(503);
    assert!(!page.text.contains("four words of wool") && page.all("main form").is_empty());
    let foreign = instructor
        .request("POST", "/people")
        .header("sec-fetch-site", "cross-site")
        .header("content-type", "application/x-www-form-urlencoded");
    let page = instructor.send(foreign.body("name=Nils".into()).unwrap()).await.is(403);
    assert!(page.all("main form").is_empty());
    assert!(instructor.get("/people").await.is(503).all("main form").is_empty());
}

#[tokio::test]
async fn what_is_sent_again_is_done_once() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let path = format!("sqlite://{}", world.database.file().unwrap().display());
    let mut other = sqlx::SqliteConnection::connect(&path).await.unwrap();
    sqlx::query("BEGIN IMMEDIATE").execute(&mut other).await.unwrap();
    let key = RequestKey::new().to_string();
    let nils = [("key", key.as_str()), ("role", "weaver"), ("name", "Nils"), ("contact", "")];
    let page = instructor.post("/people", &nils).await.is(503);
    sqlx::query("ROLLBACK").execute(&mut other).await.unwrap();
    let (action, fields) = (page.attr("main form", "action"), ["key", "role", "name", "contact"]);
    let again: Vec<(&str, String)> = fields.iter().map(|name| (*name, page.field(name))).collect();
    let again: Vec<(&str, &str)> = again.iter().map(|(name, value)| (*name, value.as_str())).collect();
    for _ in 0..2 {
        instructor.post(&action, &again).await.is(303);
    }
    let names = instructor.get("/people").await.is(200).all("tbody th");
    assert_eq!(names.iter().filter(|name| name.contains("Nils")).count(), 1, "{names:?}");
}

#[tokio::test]
async fn one_person_has_no_more_open_rugs_than_anybody_weaves() {
    let world = World::new().await;
    let (weaver, mut browser) = world.weaver().await;
    for n in 0..99 {
        loft::rug(world.store(), weaver, &format!("Rug {n}"), &loft::usual("S1"), None).await;
    }
    let me = loft::instructor(world.store()).await;
    loft::frame(world.store(), me, &loft::usual("S1")).await;
    let rug = forms::rug(&[
        ("name", "One more"),
        ("band-1-height", "30 in"),
        ("band-1-first", "white"),
        ("band-1-other", "navy"),
    ]);
    browser.post("/rugs", &rug).await.is(303);
    let page = browser.post("/rugs", &rug).await.is(422);
    assert_eq!(page.field("name"), "One more");
    let said = page.one("#errors li");
    assert!(said.contains("100"), "{said}");
}

#[tokio::test]
async fn the_workrooms_page_tells_which_version_runs() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    assert!(instructor.get("/workroom").await.is(200).text.contains(env!("CARGO_PKG_VERSION")));
}

/// The pages over a database on a server.
async fn pages(store: &Store) -> Router {
    let mut tx = store.write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    service(App::new(store.clone(), Clock::fixed(evening()), Config::default()))
}

/// It waits for as long as a change waits for a lock: four seconds.
#[tokio::test(flavor = "multi_thread")]
async fn a_table_that_somebody_holds_takes_nothing_else_down() {
    let Some(held) = Database::pg().await else { return };
    let router = pages(&held.store).await;
    let (_, mut instructor) = enter(&router, &held.store, Role::Instructor, "Ines").await;
    let [_, address] = database(&held.store);
    let mut other = PgConnection::connect(&address).await.unwrap();
    sqlx::query("BEGIN").execute(&mut other).await.unwrap();
    sqlx::query("LOCK TABLE frame IN ACCESS EXCLUSIVE MODE").execute(&mut other).await.unwrap();
    let began = Instant::now();
    let frames = tokio::spawn({
        let mut instructor = instructor.clone();
        async move { instructor.get("/frames").await }
    });
    assert_eq!(instructor.get("/healthz").await.is(200).text, "ok\n");
    instructor.get("/readyz").await.is(200);
    instructor.get("/people").await.is(200);
    assert!(began.elapsed() < Duration::from_secs(3), "{:?}", began.elapsed());
    let page = frames.await.unwrap().is(503);
    assert!(!page.one("h1").is_empty());
    assert!(began.elapsed() < Duration::from_secs(6), "{:?}", began.elapsed());
    other.close().await.unwrap();
    held.drop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn an_older_program_goes_on_after_a_newer_one_changed_the_tables() {
    let Some(held) = Database::pg().await else { return };
    let [_, address] = database(&held.store);
    let mut newer = PgConnection::connect(&address).await.unwrap();
    let looks = || async { held.store.read().await.unwrap().share_outs(9).await.map(|found| found.len()) };
    assert_eq!(looks().await.unwrap(), 0);
    sqlx::query("ALTER TABLE share_out ADD COLUMN later BIGINT NOT NULL DEFAULT 0")
        .execute(&mut newer)
        .await
        .unwrap();
    // The first to meet the change is told to try again; nobody after them.
    let mut refused = 0;
    for _ in 0..8 {
        match looks().await {
            Ok(found) => assert_eq!(found, 0),
            Err(Error::Unavailable(_)) => refused += 1,
            Err(other) => panic!("{other}"),
        }
    }
    assert!(refused <= 1, "{refused} were refused");
    newer.close().await.unwrap();
    held.drop().await;
}

#[tokio::test]
async fn the_first_cause_is_named_when_no_connection_is_to_be_had() {
    // Nobody listens on port 1.
    let pool = PgPoolOptions::new().acquire_timeout(Duration::from_millis(100));
    let store = Store::Pg(pool.connect_lazy("postgres://nobody@127.0.0.1:1/nothing").unwrap());
    let Err(Error::Unavailable(cause)) = store.read().await.map(|_| ()) else { panic!("it is there") };
    assert!(cause.to_lowercase().contains("refused"), "{cause}");
}
