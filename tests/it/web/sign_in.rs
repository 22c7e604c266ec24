//! Signing in: tries are counted by name and by address; who gets in; where it leads; what a passphrase may be.
use std::net::SocketAddr;

use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::header;
use jiff::ToSpan as _;
use thrumhall::web::Config;

use super::sessions::{PHRASE, set_up, setup, setup_link, sign_in, volunteer};
use crate::support::browser::{Page, World};
use crate::support::evening;

/// Fewest failed tries that close the door, by one name and from one address (DEVELOPERS.md, limits).
const BY_NAME: usize = 5;
const BY_ADDRESS: usize = 30;

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
    volunteer(&mut ana, "Viggo").await;
    // Getting in forgets what was counted before.
    for _ in 1..BY_NAME {
        sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    }
    sign_in(&world, "Ana Brook", PHRASE).await.1.is(303);
    for n in 0..BY_NAME {
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
    for _ in 1..BY_NAME {
        sign_in(&world, "Ana Brook", WRONG).await.1.is(422);
    }
    world.clock.set(evening() + 15.minutes() + 1.microsecond());
    for _ in 1..BY_NAME {
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
    let viggo = volunteer(&mut ana, "Viggo").await;
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
    let long = |length: usize| "abcdefghij".chars().cycle().take(length).collect::<String>();
    let mut tried = 0;
    for (phrase, again, wrong) in [
        (long(14), None, Some("passphrase")),
        (long(15), None, None),
        ("ÄÖÜéß結び ÄÖÜéß結".into(), None, Some("passphrase")),
        ("ÄÖÜéß結び ÄÖÜéß結び".into(), None, None),
        (long(256), None, None),
        (long(257), None, Some("passphrase")),
        ("abcdabcdabcdabcdabcd".into(), None, Some("passphrase")),
        (" leading and trailing ".into(), None, None),
        (long(20), Some(long(21)), Some("again")),
        (long(20), Some(String::new()), Some("again")),
    ] {
        tried += 1;
        let (name, again) = (format!("Helper {tried}"), again.unwrap_or_else(|| phrase.clone()));
        let typed = [("role", "volunteer"), ("name", &name), ("passphrase", &phrase), ("again", &again)];
        let page = ana.post("/people", &typed).await;
        if let Some(field) = wrong {
            let page = page.is(422);
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
