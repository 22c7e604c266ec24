//! Sizes of rods and their counts.
use thrumhall::store::{LoanId, RodId};

use crate::support::browser::{Browser, World};
use crate::support::loft;

const GOOD: [(&str, &str); 3] = [("length", "36 in"), ("diameter", "1/8 in"), ("owned", "14")];

#[tokio::test]
async fn a_size_is_added_once_and_stands_in_the_list() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    assert_eq!(browser.get("/rods").await.is(200).one(".empty h2"), "No rods are listed yet");
    let page = browser.get("/rods/new").await.is(200);
    assert_eq!(page.field("diameter"), "1/8 in");
    let key = page.field("key");
    let typed = [GOOD.as_slice(), &[("key", key.as_str())]].concat();
    let first = browser.post("/rods", &typed).await.to().to_owned();
    assert_eq!(browser.post("/rods", &typed).await.to(), first, "a second press adds nothing");
    assert_eq!(browser.get("/rods").await.all("tbody tr"), ["36 in × 1/8 in 33 in 14 0 0 14"]);
}

#[tokio::test]
async fn wrong_sizes_come_back_at_their_fields() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let long = "9".repeat(10_000);
    let cases: &[(&str, &str, &[&str])] = &[
        ("length", "0", &["zero", "6 in", "160 in"]),
        ("length", "1 m 2", &["1 m 2"]),
        ("length", "5280 ft", &["63360 in", "6 in", "160 in"]),
        ("diameter", "-1/8 in", &["-1/8 in", "zero", "1/32 in", "1 in"]),
        ("diameter", "⅛\u{200b}\u{200b}x", &["length"]),
        ("owned", "0", &["0", "1", "500"]),
        ("owned", &long, &["1", "500"]),
    ];
    for &(name, typed, values) in cases {
        let kept = GOOD.into_iter().filter(|(other, _)| *other != name);
        let fields: Vec<_> = kept.chain([(name, typed)]).collect();
        let page = browser.post("/rods", &fields).await.is(422);
        page.only_error_at(name);
        page.error_names(name, values);
        assert_eq!(page.field(name), typed);
    }
    browser.post("/rods", &GOOD).await.is(303);
    let page = browser.post("/rods", &GOOD).await.is(422);
    assert_eq!(page.error("length"), "This size is in the list already. Count the rods there.");
}

async fn counts(browser: &mut Browser, id: RodId) -> Vec<String> {
    browser.get(&format!("/rods/{id}")).await.is(200).all(".stat b")
}

#[tokio::test]
async fn what_happened_is_counted_once_and_never_below_none() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let id = loft::rods(world.store(), me, 36.0, 5).await;
    let path = format!("/rods/{id}/count");
    let key = browser.get(&format!("/rods/{id}")).await.field("key");
    let bent = [("key", key.as_str()), ("act", "found bent"), ("rods", "2")];
    browser.post(&path, &bent).await.is(303);
    browser.post(&path, &bent).await.is(303);
    assert_eq!(counts(&mut browser, id).await, ["3", "0", "2", "5"], "in, out, bent, owned");
    let cases: &[(&str, &str, &[&str])] = &[
        ("lost", "4", &["4", "3", "straight"]),
        ("scrapped", "3", &["3", "2", "bent"]),
        ("bought", "0", &["0", "1", "500"]),
        ("bought", "-1", &["-1", "1", "500"]),
        ("bought", "", &["1", "500"]),
    ];
    for &(act, rods, values) in cases {
        let page = browser.post(&path, &[("act", act), ("rods", rods)]).await.is(422);
        page.only_error_at("rods");
        page.error_names("rods", values);
        assert_eq!(page.field("rods"), rods);
    }
    let page = browser.post(&path, &[("act", "eaten"), ("rods", "1")]).await.is(422);
    assert_eq!(page.error("act"), "Choose what happened.");
    assert_eq!(counts(&mut browser, id).await, ["3", "0", "2", "5"]);
    let page = browser.get(&format!("/rods/{id}")).await;
    assert!(page.one("tbody tr").ends_with("Ines Probe found bent: rods 2"), "{}", page.one("tbody tr"));
}

#[tokio::test]
async fn a_size_is_corrected_and_the_second_editor_is_told() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let id = loft::rods(world.store(), me, 36.0, 5).await;
    loft::rods(world.store(), me, 48.0, 5).await;
    let path = format!("/rods/{id}");
    let edit = |length, revision| [("revision", revision), ("length", length), ("diameter", "1/8 in")];
    let page = browser.post(&path, &edit("a yard", "1")).await.is(422);
    assert!(page.error("length").starts_with("“a yard”"));
    let page = browser.post(&path, &edit("48 in", "1")).await.is(422);
    assert!(page.error("length").starts_with("This size is in the list already."));
    browser.post(&path, &edit("37 in", "1")).await.is(303);
    let page = browser.post(&path, &edit("38 in", "1")).await.is(409);
    assert_eq!(page.field("length"), "38 in");
    assert_eq!(
        page.error("length"),
        "The length was changed by Ines Probe and is now: 37 in. Keep yours by saving again."
    );
}

#[tokio::test]
async fn unknown_sizes_are_not_here() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    for id in [RodId::new().to_string(), LoanId::new().to_string(), "36in".to_owned()] {
        browser.get(&format!("/rods/{id}")).await.is(404);
        browser.post(&format!("/rods/{id}/count"), &[("act", "lost"), ("rods", "1")]).await.is(404);
    }
}
