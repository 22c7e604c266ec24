//! Pages that are kept in memory: shown again while nothing changed, and never to anybody else, never from before an act, and
//! never with what was said after one.
use std::time::Duration;

use axum::body::Body;
use axum::http::header;
use jiff::ToSpan as _;
use thrumhall::clock::Clock;
use thrumhall::store::people::Role;
use thrumhall::store::rugs::log::LogFields;
use thrumhall::store::{Actor, LogId};
use thrumhall::web::{App, Config, service};

use crate::support::behind::Behind;
use crate::support::browser::{Browser, Page, World, enter};
use crate::support::loft::{self, usual};
use crate::support::{Database, noon};

/// Changes a name behind the program's back, so that the database is at the same revision: what still shows the old one was
/// kept.
async fn rename_behind(world: &World, to: &str) {
    let mut hand = Behind::beside(world.store()).await;
    assert_eq!(hand.run(&format!("UPDATE person SET name = '{to}' WHERE name LIKE 'Wanda%'")).await, 1);
}

#[tokio::test]
async fn a_page_is_kept_until_something_changes_or_a_minute_goes_by() {
    let world = World::new().await;
    world.weaver().await;
    let (_, mut ines) = world.instructor().await;
    assert!(ines.get("/people").await.is(200).text.contains("Wanda Probe"));
    rename_behind(&world, "Wanda Two").await;
    let kept = ines.get("/people").await.is(200);
    assert!(kept.text.contains("Wanda Probe"), "nothing was changed that the program knows of");
    // An act, anybody's.
    ines.post("/people", &[("role", "weaver"), ("name", "Nele"), ("contact", "")]).await.to();
    let page = ines.get("/people").await.is(200);
    assert!(page.text.contains("Wanda Two") && page.text.contains("Nele"));
    // Another minute.
    rename_behind(&world, "Wanda Three").await;
    assert!(ines.get("/people").await.text.contains("Wanda Two"));
    world.clock.set(world.clock.now() + 1.minutes());
    assert!(ines.get("/people").await.text.contains("Wanda Three"));
}

/// As a command beside the program does on its file: nothing in this process says so.
#[tokio::test]
async fn what_another_program_changes_shows_within_a_tenth_of_a_second() {
    let world = World::new().await;
    world.weaver().await;
    let (_, mut ines) = world.instructor().await;
    ines.get("/people").await.is(200);
    let mut hand = Behind::beside(world.store()).await;
    hand.run("UPDATE person SET name = 'Wanda Two' WHERE name LIKE 'Wanda%'").await;
    hand.run("UPDATE database_revision SET word = 'another'").await;
    tokio::time::sleep(Duration::from_millis(110)).await;
    assert!(ines.get("/people").await.is(200).text.contains("Wanda Two"));
}

#[tokio::test]
async fn each_is_shown_their_own_page_at_their_own_address() {
    let world = World::new().await;
    let (_, mut ines) = world.instructor().await;
    let (_, mut viggo) = world.volunteer().await;
    let (_, mut wanda) = world.weaver().await;
    for _ in 0..2 {
        for (browser, name) in
            [(&mut ines, "Ines Probe"), (&mut viggo, "Viggo Probe"), (&mut wanda, "Wanda Probe")]
        {
            let page = browser.get("/cloth").await.is(200);
            assert!(page.text.contains(name), "{}", page.text);
            assert_eq!(page.text.matches("Probe").count(), 1, "the name of somebody else is on it");
            assert_eq!(page.headers[header::CACHE_CONTROL], "no-store");
        }
        assert!(viggo.get("/people").await.status.is_client_error());
        // Links lead to the host that was asked.
        let asked = ines.get("/cloth?q=navy").await.is(200);
        assert_eq!(asked.field("q"), "navy");
        assert_eq!(ines.get("/cloth").await.is(200).field("q"), "");
    }
}

#[tokio::test]
async fn what_is_said_after_an_act_is_said_once() {
    let world = World::new().await;
    let (_, mut ines) = world.instructor().await;
    ines.get("/frames").await.is(200);
    assert!(ines.get("/frames?said=added").await.is(200).text.contains("Added."));
    rename_behind_ines(&world).await;
    assert!(ines.get("/frames?said=added").await.is(200).text.contains("Renamed"), "it was made anew");
    assert!(!ines.get("/frames").await.is(200).text.contains("Added."));
}

async fn rename_behind_ines(world: &World) {
    let mut hand = Behind::beside(world.store()).await;
    hand.run("UPDATE person SET name = 'Renamed' WHERE name = 'Ines Probe'").await;
}

#[tokio::test]
async fn who_signed_out_or_stayed_away_too_long_is_shown_nothing() {
    let world = World::new().await;
    let (_, mut ines) = world.instructor().await;
    ines.get("/people").await.is(200);
    let mut left = ines.clone();
    left.get("/people").await.is(200);
    ines.post("/sign-out", &[]).await.to();
    assert!(left.get("/people").await.to().starts_with("/sign-in"));
    // A session that ends within the minute in which its page was kept.
    let (_, mut late) = world.enter(Role::Instructor, "Late Probe").await;
    let mut hand = Behind::beside(world.store()).await;
    let ends = (world.clock.now() + 5.seconds()).as_microsecond();
    hand.run(&format!("UPDATE session SET expires_at = {ends}, idle = 0")).await;
    late.get("/people").await.is(200);
    late.get("/people").await.is(200);
    world.clock.set(world.clock.now() + 6.seconds());
    assert!(late.get("/people").await.to().starts_with("/sign-in"));
}

/// A rug of a weaver's with an entry in its log, which can be undone by a form.
async fn logged(world: &World) -> (Browser, String) {
    let (wanda, browser) = world.weaver().await;
    let rug = loft::rug(world.store(), wanda, "Wave", &usual(""), None).await;
    let mut tx = world.store().write(Actor { person: Some(wanda), at: noon() }).await.unwrap();
    let fields = LogFields { rows: Some(12), ..LogFields::default() };
    tx.log_rug(LogId::new(), rug, &fields).await.unwrap();
    tx.commit().await.unwrap();
    (browser, format!("/rugs/{rug}"))
}

#[tokio::test]
async fn the_key_of_a_form_is_another_one_each_time() {
    let world = World::new().await;
    let (mut wanda, path) = logged(&world).await;
    let first = wanda.get(&path).await.is(200);
    rename_behind(&world, "Wanda Two").await;
    let (second, third) = (wanda.get(&path).await.is(200), wanda.get(&path).await.is(200));
    assert!(second.text.contains("Wanda Probe"), "it was kept");
    let keys: std::collections::BTreeSet<String> =
        [&first, &second, &third].into_iter().map(|page| page.field("key")).collect();
    assert_eq!(keys.len(), 3);
    let keys_of = |page: &Page| page.attrs("[name=key]", "value");
    let without =
        |page: &Page| keys_of(page).iter().fold(page.text.clone(), |text, key| text.replace(key, ""));
    assert_eq!(without(&first), without(&second));
    assert!(keys_of(&first).iter().all(|key| !keys_of(&second).contains(key)), "each form has its own");
    // And it works.
    let undo = "form[action$='/undo'] [name=key]";
    let (key, entry) = (second.attr(undo, "value"), second.field("entry"));
    let fields = [("key", key.as_str()), ("entry", entry.as_str())];
    wanda.post(&format!("{path}/log/undo"), &fields).await.to();
    assert!(wanda.get(&path).await.is(200).text.contains("undone"));
}

#[tokio::test]
async fn a_kept_page_comes_compressed_to_who_takes_that() {
    let world = World::new().await;
    let (_, mut ines) = world.instructor().await;
    let plain = ines.get("/frames").await.is(200);
    let request = ines.request("GET", "/frames").header(header::ACCEPT_ENCODING, "gzip");
    let packed = ines.send(request.body(Body::empty()).unwrap()).await.is(200);
    assert_eq!(packed.headers[header::CONTENT_ENCODING], "gzip");
    let mut text = String::new();
    std::io::Read::read_to_string(&mut flate2::read::GzDecoder::new(&*packed.bytes), &mut text).unwrap();
    assert_eq!(text, plain.text);
    assert!(ines.get("/frames").await.is(200).headers.get(header::CONTENT_ENCODING).is_none());
}

/// Two copies on one database, the second asked by the same session.
async fn over_two_copies(database: &Database) {
    use thrumhall::units::Units;
    let stores = [database.store.clone(), database.open_again().await];
    let mut tx = stores[0].write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", Units::Metric).await.unwrap();
    tx.commit().await.unwrap();
    let routers = stores
        .each_ref()
        .map(|store| service(App::new(store.clone(), Clock::fixed(noon()), Config::default())));
    let (_, mut here) = enter(&routers[0], &stores[0], Role::Instructor, "Ines Probe").await;
    let mut there = Browser::at(routers[1].clone());
    there.cookie.clone_from(&here.cookie);
    for nth in 0..5 {
        for path in ["/people", "/today", "/rugs", "/frames", "/cloth"] {
            here.get(path).await.is(200);
            there.get(path).await.is(200);
        }
        let name = format!("Nele {nth}");
        let fields = [("role", "weaver"), ("name", name.as_str()), ("contact", "")];
        let (actor, other) = if nth % 2 == 0 { (&mut here, &mut there) } else { (&mut there, &mut here) };
        actor.post("/people", &fields).await.to();
        assert!(other.get("/people").await.is(200).text.contains(&name));
        assert!(actor.get("/people").await.is(200).text.contains(&name));
    }
    here.post("/sign-out", &[]).await.to();
    assert!(there.get("/people").await.to().starts_with("/sign-in"));
}

#[tokio::test(flavor = "multi_thread")]
async fn copies_show_at_once_what_was_done_at_the_other_lite() {
    let database = Database::lite().await;
    over_two_copies(&database).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn copies_show_at_once_what_was_done_at_the_other_pg() {
    let Some(database) = Database::pg().await else { return };
    over_two_copies(&database).await;
    database.drop().await;
}

/// People read while others change: nobody reads a page older than what they were told was done.
#[tokio::test(flavor = "multi_thread")]
async fn nobody_reads_what_was_before_their_own_act() {
    let Some(database) = Database::pg().await else { return };
    let stores = [database.store.clone(), database.open_again().await];
    let mut tx = stores[0].write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", "UTC", thrumhall::units::Units::Metric).await.unwrap();
    tx.commit().await.unwrap();
    let routers = stores
        .each_ref()
        .map(|store| service(App::new(store.clone(), Clock::fixed(noon()), Config::default())));
    let mut going = tokio::task::JoinSet::new();
    for n in 0..6 {
        let (_, browser) =
            enter(&routers[n % 2], &stores[n % 2], Role::Instructor, &format!("Ines Probe {n}")).await;
        let mut other = Browser::at(routers[(n + 1) % 2].clone());
        other.cookie.clone_from(&browser.cookie);
        let mut browser = browser;
        going.spawn(async move {
            for nth in 0..8 {
                let name = format!("Nele {n} {nth}");
                let fields = [("role", "weaver"), ("name", name.as_str()), ("contact", "")];
                browser.post("/people", &fields).await.to();
                for page in [other.get("/people").await, browser.get("/people").await] {
                    assert!(page.is(200).text.contains(&name), "{name}");
                }
            }
        });
    }
    while let Some(done) = going.join_next().await {
        done.unwrap();
    }
    database.drop().await;
}
