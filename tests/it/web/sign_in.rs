//! Signing in: tries are counted by name and by address; who gets in; where it leads; what a passphrase may be.
use std::net::SocketAddr;

use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::header;
use jiff::ToSpan as _;
use thrumhall::store::Store;
use thrumhall::web::Config;

use super::sessions::{PHRASE, set_up, setup, setup_link, sign_in, volunteer};
use crate::support::browser::{Browser, Page, World};
use crate::support::evening;

/// Fewest failed tries that close the door: by one name from one address, from one address, on one's own device (DEVELOPERS.md, limits).
const BY_PAIR: usize = 5;
const BY_ADDRESS: usize = 30;
const ON_DEVICE: usize = 10;

/// A try over a connection from an address, with what a proxy may have written.
async fn try_from(world: &World, (peer, forwarded): (&str, Option<&str>), name: &str, phrase: &str) -> Page {
    let mut browser = world.stranger();
    let fields = [("name", name), ("passphrase", phrase)];
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let mut request = browser
        .request("POST", "/sign-in")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    if let Some(forwarded) = forwarded {
        request = request.header("x-forwarded-for", forwarded);
    }
    let mut request = request.body(Body::from(body)).unwrap();
    let peer: SocketAddr = format!("{peer}:40123").parse().unwrap();
    request.extensions_mut().insert(ConnectInfo(peer));
    browser.send(request).await
}

const WRONG: &str = "not this one, no";

#[tokio::test]
async fn tries_by_one_name_are_counted_for_a_quarter_of_an_hour() {
    let (world, mut ana) = set_up(Config::default()).await;
    volunteer(&world, &mut ana, "Viggo").await;
    // Getting in forgets what was counted before.
    for _ in 1..BY_PAIR {
        sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    }
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(303);
    for n in 0..BY_PAIR {
        let name = if n % 2 == 0 { "Ana Brook" } else { "  ANA   brook " };
        sign_in(&world, name, WRONG).await.1.is(422);
        // The later tries don't make the time begin again.
        world.clock.set(evening() + (n as i64 + 1).minutes());
    }
    let waits = sign_in(&world, "Ana Brook", PHRASE).await.1.is(429);
    let after: i64 = waits.headers[header::RETRY_AFTER].to_str().unwrap().parse().unwrap();
    assert!((600..=660).contains(&after), "{after} s is not what is left of a quarter of an hour");
    sign_in(&world, "Viggo", PHRASE).await.1.is(303);
    world.clock.set(evening() + 15.minutes() - 1.microsecond());
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(429);
    world.clock.set(evening() + 15.minutes());
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(303);
}

/// Old failures don't add up with new ones.
#[tokio::test]
async fn failures_of_another_time_count_no_more() {
    let (world, _) = set_up(Config::default()).await;
    for _ in 1..BY_PAIR {
        sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    }
    world.clock.set(evening() + 15.minutes() + 1.microsecond());
    for _ in 1..BY_PAIR {
        sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    }
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(303);
}

#[tokio::test]
async fn tries_from_one_address_are_counted_whatever_name_is_tried_and_whatever_is_written_of_it() {
    let (world, _) = set_up(Config::default()).await;
    for n in 0..BY_ADDRESS {
        // Without our own proxy nobody is believed about where they come from.
        let written = format!("203.0.113.{n}");
        try_from(&world, ("198.51.100.7", Some(&written)), &format!("Name {n}"), WRONG).await.is(422);
    }
    let from =
        async |peer, written| try_from(&world, (peer, written), "Ana Brook", PHRASE).await.status.as_u16();
    assert_eq!(from("198.51.100.7", Some("192.0.2.1")).await, 429, "the address is not counted");
    assert_eq!(from("198.51.100.7", None).await, 429);
    assert_eq!(from("198.51.100.8", Some("198.51.100.7")).await, 303, "another address is shut out");
    world.clock.set(evening() + 15.minutes() - 1.microsecond());
    assert_eq!(from("198.51.100.7", None).await, 429);
    world.clock.set(evening() + 15.minutes());
    assert_eq!(from("198.51.100.7", None).await, 303);
}

#[tokio::test]
async fn behind_a_proxy_the_address_is_the_last_that_it_wrote() {
    let (world, _) = set_up(Config { behind_proxy: true, ..Config::default() }).await;
    let proxy = "10.0.0.2";
    for n in 0..BY_ADDRESS {
        // All but the last is what the visitor made up.
        let written = format!("192.0.2.{n}, 203.0.113.5");
        try_from(&world, (proxy, Some(&written)), &format!("Name {n}"), WRONG).await.is(422);
    }
    let from = async |written| try_from(&world, (proxy, written), "Ana Brook", PHRASE).await.status.as_u16();
    assert_eq!(from(Some("192.0.2.77,203.0.113.5")).await, 429, "a new lie opens the door again");
    assert_eq!(from(Some("203.0.113.5")).await, 429);
    assert_eq!(from(Some("203.0.113.5, 198.51.100.7")).await, 303, "all visitors are taken for one");
    assert_eq!(from(None).await, 303);
}

#[tokio::test]
async fn whoever_left_and_whoever_has_no_passphrase_are_refused_alike() {
    let (world, mut ana) = set_up(Config::default()).await;
    let viggo = volunteer(&world, &mut ana, "Viggo").await;
    ana.post("/people", &[("role", "weaver"), ("name", "Wanda")]).await.is(303);
    sign_in(&world, "Viggo", PHRASE).await.1.is(303);
    ana.post(&format!("{viggo}/leave"), &[]).await.is(303);
    let mut said = Vec::new();
    for (name, phrase) in
        [("Viggo", PHRASE), ("Wanda", PHRASE), ("Nobody Here", PHRASE), ("Ana Brook", WRONG)]
    {
        let (browser, page) = sign_in(&world, name, phrase).await;
        assert!(browser.cookie.is_none(), "{name} is let in");
        said.push(page.is(422).error("name"));
    }
    said.dedup();
    assert_eq!(said.len(), 1, "the answer tells which names exist: {said:?}");
    let empty = sign_in(&world, "Wanda", "").await.1.is(422);
    empty.error("passphrase");
}

#[tokio::test]
async fn after_signing_in_one_is_led_to_a_path_of_ours_only() {
    let (world, _) = set_up(Config::default()).await;
    let led = async |to: &str| {
        let fields = [("name", "Ana Brook"), ("passphrase", PHRASE), ("to", to)];
        world.stranger().post("/sign-in", &fields).await.to().to_owned()
    };
    assert_eq!(led("/rugs?x=1&y=%20#standing").await, "/rugs?x=1&y=%20#standing");
    for elsewhere in [
        "//evil.example",
        "///evil.example/",
        "https://evil.example/",
        "evil.example",
        "/\\evil.example",
        "\\/evil.example",
        "/\t/evil.example",
        "/\n/evil.example",
        "javascript:alert(1)",
        "",
        " //evil.example",
    ] {
        assert_eq!(led(elsewhere).await, "/", "{elsewhere:?} leads elsewhere");
    }
    // The way back is carried from the page that was asked for to the form, as it was.
    let asked = world.stranger().get("/rugs?state=planned&q=a%20b").await.to().to_owned();
    let page = world.stranger().get(&asked).await.is(200);
    assert_eq!(page.field("to"), "/rugs?state=planned&q=a%20b");
}

#[tokio::test]
async fn the_setup_link_works_once_and_only_the_last_one() {
    let world = World::empty().await;
    let older = setup_link(&world).await;
    let link = setup_link(&world).await;
    world.stranger().get(&older).await.is(404);
    world.stranger().post(&older, &setup("Eve")).await.is(404);
    let mut ana = world.stranger();
    ana.get(&link).await.is(200);
    ana.post(&link, &setup("Ana Brook")).await.is(303);
    world.stranger().get(&link).await.is(404);
    let mut eve = world.stranger();
    eve.post(&link, &setup("Eve")).await.is(404);
    assert!(eve.cookie.is_none());
    assert_eq!(ana.get("/people").await.is(200).all("tbody th"), ["Ana Brook"]);
}

/// Source: NIST SP 800-63B-4 (2025), 3.1.1.2: fifteen characters at least for a passphrase that stands alone, each Unicode
/// code point counted as one; at least 64 are accepted; all characters are, the blank among them; the whole is verified.
#[tokio::test]
async fn a_passphrase_is_long_enough_and_kept_as_typed() {
    let (world, mut ana) = set_up(Config::default()).await;
    // Letters that follow no pattern, and then something that does.
    let start = "wgxkzqnbfyd tmh";
    let long = |length: usize| start.chars().chain("wool".chars().cycle()).take(length).collect::<String>();
    let mut tried = 0;
    for (phrase, again, wrong) in [
        (long(14), None, Some("passphrase")),
        (long(15), None, None),
        ("ÄÖÜéß結び ÄÖÜéß結".into(), None, Some("passphrase")),
        ("ÄÖÜéß結び ÄÖÜéß結び".into(), None, None),
        (long(256), None, None),
        (long(257), None, Some("passphrase")),
        ("abcdabcdabcdabcdabcd".into(), None, Some("passphrase")),
        ("passwordpassword".into(), None, Some("passphrase")),
        ("Net Loft Net Loft".into(), None, Some("passphrase")),
        ("Ana Brook Ana Brook".into(), None, Some("passphrase")),
        (" leading and trailing ".into(), None, None),
        (long(20), Some(long(21)), Some("again")),
        (long(20), Some(String::new()), Some("again")),
    ] {
        tried += 1;
        let (name, again) = (format!("Helper {tried}"), again.unwrap_or_else(|| phrase.clone()));
        let typed = [("role", "volunteer"), ("name", &name), ("passphrase", &phrase), ("again", &again)];
        let page = ana.post("/people", &typed).await;
        if let Some(field) = wrong {
            assert_eq!(page.status, 422, "{phrase}");
            assert!(!page.error(field).is_empty());
            assert!(!page.text.contains(&phrase), "a passphrase is given back in the page");
            sign_in(&world, &name, &phrase).await.1.is(422);
            continue;
        }
        page.is(303);
        sign_in(&world, &name, &phrase).await.1.is(303);
        for other in
            [phrase.trim().to_owned() + if phrase.trim() == phrase { "x" } else { "" }, phrase.to_uppercase()]
        {
            if other != phrase {
                sign_in(&world, &name, &other).await.1.is(422);
            }
        }
    }
}

#[tokio::test]
async fn a_stranger_locks_nobody_out() {
    let (world, _) = set_up(Config::default()).await;
    let home = ("192.0.2.1", None);
    let mut desk = world.stranger();
    desk.post("/sign-in", &[("name", "Ana Brook"), ("passphrase", PHRASE)]).await.is(303);
    // From elsewhere, until the door is closed there.
    for _ in 0..BY_PAIR {
        try_from(&world, ("198.51.100.7", None), "Ana Brook", WRONG).await.is(422);
    }
    try_from(&world, ("198.51.100.7", None), "Ana Brook", PHRASE).await.is(429);
    try_from(&world, home, "Ana Brook", PHRASE).await.is(303);
    // From the same place, as in a workroom: the device that she signed in on before gets in.
    for _ in 0..BY_PAIR {
        sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    }
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(429);
    desk.post("/sign-in", &[("name", "Ana Brook"), ("passphrase", PHRASE)]).await.is(303);
    // Tries on it are counted too.
    for _ in 0..ON_DEVICE {
        desk.post("/sign-in", &[("name", "Ana Brook"), ("passphrase", WRONG)]).await.is(422);
    }
    desk.post("/sign-in", &[("name", "Ana Brook"), ("passphrase", PHRASE)]).await.is(429);
}

#[tokio::test]
async fn neighbours_in_an_ipv6_network_are_counted_together() {
    let (world, _) = set_up(Config::default()).await;
    for n in 0..BY_PAIR {
        let mut browser = world.stranger();
        let page = try_at(&mut browser, &format!("[2001:db8:1:2::{n}]"), "Ana Brook", WRONG).await;
        page.is(422);
    }
    for (peer, status) in [("[2001:db8:1:2:ffff::1]", 429), ("[2001:db8:1:3::1]", 303)] {
        try_at(&mut world.stranger(), peer, "Ana Brook", PHRASE).await.is(status);
    }
}

async fn try_at(browser: &mut Browser, peer: &str, name: &str, phrase: &str) -> Page {
    let fields = [("name", name), ("passphrase", phrase)];
    let body = form_urlencoded::Serializer::new(String::new()).extend_pairs(fields).finish();
    let request = browser
        .request("POST", "/sign-in")
        .header("sec-fetch-site", "same-origin")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    let mut request = request.body(Body::from(body)).unwrap();
    let peer: SocketAddr = format!("{peer}:40123").parse().unwrap();
    request.extensions_mut().insert(ConnectInfo(peer));
    browser.send(request).await
}

/// What a stranger typed as a name may be a passphrase: nothing of it is kept.
#[tokio::test]
async fn names_that_were_typed_are_not_kept() {
    let (world, _) = set_up(Config::default()).await;
    sign_in(&world, "my secret by mistake", WRONG).await.1.is(422);
    let Store::Sqlite(pool) = world.store() else { unreachable!() };
    let kept: Vec<String> = sqlx::query_scalar("SELECT who FROM attempt").fetch_all(pool).await.unwrap();
    assert_eq!(kept.len(), 2, "{kept:?}");
    assert!(!kept.iter().any(|door| door.contains("mistake") || door.contains("unknown")), "{kept:?}");
}

#[tokio::test]
async fn ones_own_passphrase_is_guessed_no_more_often_than_at_the_door() {
    let (world, mut ana) = set_up(Config::default()).await;
    let new = "a lamp for seven herrings";
    let change = |old| [("old", old), ("passphrase", new), ("again", new)];
    for _ in 0..ON_DEVICE {
        ana.post("/me/passphrase", &change(WRONG)).await.is(422).only_error_at("old");
    }
    ana.post("/me/passphrase", &change(PHRASE)).await.is(429);
    world.clock.set(evening() + 15.minutes());
    ana.post("/me/passphrase", &change(PHRASE)).await.is(303);
}

#[tokio::test]
async fn how_hard_a_passphrase_is_to_guess_is_told_while_it_is_typed() {
    let world = World::empty().await;
    let link = setup_link(&world).await;
    let mut founder = world.stranger();
    let page = founder.get(&link).await.is(200);
    let ask = page.attr("[name=passphrase]", "data-strength");
    let told = async |browser: &mut Browser, at: &str, phrase: &str| {
        let fields = [("passphrase", phrase), ("name", "Ana Brook"), ("workroom", "Saltern Row Workroom")];
        browser.post(at, &fields).await.is(200).text
    };
    assert!(told(&mut founder, &ask, "short").await.contains("15"));
    let of_this_place = told(&mut founder, &ask, "Saltern Row Workroom").await;
    assert_ne!(of_this_place, told(&mut founder, &ask, "Another Quay Altogether").await);
    world.stranger().post("/setup/another/strength", &[("passphrase", PHRASE)]).await.is(404);
    founder.post(&link, &setup("Ana Brook")).await.is(303);
    let ask = founder.get("/me/passphrase").await.is(200).attr("[name=passphrase]", "data-strength");
    assert_eq!(told(&mut founder, &ask, "Ana Brook Ana Brook").await, of_this_place);
}

/// Whoever doesn't hold the setup link gets no work done, whatever they send.
#[tokio::test]
async fn a_setup_link_is_looked_at_before_anything_else() {
    let world = World::empty().await;
    let _ = setup_link(&world).await;
    world.stranger().post("/setup/another", &[]).await.is(404);
    world.stranger().post("/setup/another", &setup("Eve")).await.is(404);
}

/// Source: argon2-cffi 25.1 (the reference implementation in C): "four words of wool" with the salt "a salt of sixtee", 8 MiB, one
/// pass.
const OLD: &str =
    "$argon2id$v=19$m=8192,t=1,p=1$YSBzYWx0IG9mIHNpeHRlZQ$aXDyypHRdykPOyhDC7AvVSFXtHU+eMD/0qQ4Rnlth1w";

#[tokio::test]
async fn a_hash_of_other_parameters_is_made_anew_by_the_next_sign_in() {
    let (world, _) = set_up(Config::default()).await;
    let kept = async || world.store().read().await.unwrap().lock("Ana Brook").await.unwrap().unwrap();
    let id = kept().await.id;
    let mut tx = world.store().write(crate::support::actor(id)).await.unwrap();
    tx.set_passphrase(id, OLD.into()).await.unwrap();
    tx.commit().await.unwrap();
    sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    assert_eq!(kept().await.passphrase_hash.as_deref(), Some(OLD), "a wrong one makes nothing anew");
    let mut first = sign_in(&world, "Ana Brook", PHRASE).await.0;
    let anew = kept().await.passphrase_hash.unwrap();
    assert!(anew.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{anew}");
    // It is the same passphrase: it opens, nobody was signed out, and it isn't made anew again.
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(303);
    first.get("/today").await.is(200);
    assert_eq!(kept().await.passphrase_hash.unwrap(), anew);
}
