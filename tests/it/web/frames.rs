//! The inventory of frames.
use thrumhall::store::frames::Condition;

use crate::support::browser::World;
use crate::support::loft::{self, usual};

const GOOD: [(&str, &str); 7] = [
    ("tag", "K-03"),
    ("span", "33 in"),
    ("width", "18 in"),
    ("nails", "33"),
    ("pitch", ""),
    ("condition", "sound"),
    ("note", ""),
];

/// The good form with some fields typed otherwise.
fn with<'a>(changed: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = GOOD.into_iter().filter(|(name, _)| changed.iter().all(|(other, _)| other != name));
    kept.chain(changed.iter().copied()).collect()
}

#[tokio::test]
async fn a_frame_is_added_once_and_stands_in_the_list() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let page = browser.get("/frames").await.is(200);
    assert_eq!(page.one(".empty h2"), "No frame is listed yet");
    let key = browser.get("/frames/new").await.is(200).field("key");
    let typed = with(&[("key", &key), ("pitch", "9/16 in"), ("span", "2 ft 9 in"), ("note", "Ähre ⚓ 結び")]);
    let first = browser.post("/frames", &typed).await.to().to_owned();
    assert_eq!(browser.post("/frames", &typed).await.to(), first, "a second press adds nothing");
    let page = browser.get(&first).await.is(200);
    assert_eq!((page.one("h1"), page.one(".notice")), ("Frame K-03".into(), "Added.".into()));
    assert!(page.text.contains("Ähre ⚓ 結び"));
    let page = browser.get("/frames").await.is(200);
    assert_eq!(page.all("tbody tr"), ["K-03 18 in × 33 in 33, 9/16 in sound In Hand out"]);
    let csv = browser.get("/frames.csv").await.is(200).table();
    assert!(csv.contains("K-03,33 in,18 in,33,9/16 in,sound,in,,,Ähre ⚓ 結び\r\n"), "{csv}");
}

#[tokio::test]
async fn wrong_sizes_come_back_at_their_fields() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let long = "x".repeat(10_000);
    let cases: &[(&str, &str, &[&str])] = &[
        ("span", "0", &["zero", "4 in", "144 in"]),
        ("span", "-33 in", &["-33 in", "zero", "4 in", "144 in"]),
        ("span", "1 mile", &["1 mile", "length"]),
        ("span", "5280 ft", &["63360 in", "4 in", "144 in"]),
        ("width", "", &[]),
        ("width", "wide", &["wide", "length"]),
        ("nails", "2", &["2", "3", "600"]),
        ("nails", "3.5", &["3", "600", "3.5"]),
        ("nails", "５", &["3", "600", "５"]),
        ("nails", "500", &["pitch"]),
        ("pitch", "1 in", &["33", "1 in", "32 in", "18 in"]),
        ("far_nails", "many", &["3", "600", "many"]),
        ("set_off", "9 in", &["9 in", "-4 in", "4 in"]),
        ("near_places", "0; oak", &["2", "oak"]),
        ("pitch", "0", &["zero", "1/8 in", "4 in"]),
        ("tag", "", &[]),
        ("tag", &long, &["10000", "24"]),
        ("tag", "K\u{202e}3", &["character"]),
        ("condition", "so-so", &["condition"]),
    ];
    for &(name, typed, values) in cases {
        let page = browser.post("/frames", &with(&[(name, typed)])).await.is(422);
        page.only_error_at(name);
        page.error_names(name, values);
        if !["condition", "near_places"].contains(&name) {
            assert_eq!(page.field(name), typed);
        }
        assert_eq!(page.all("[aria-invalid]").len(), 1, "{name}");
    }
    assert_eq!(browser.get("/frames").await.one(".empty h2"), "No frame is listed yet");
}

#[tokio::test]
async fn two_frames_never_share_a_tag() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    browser.post("/frames", &GOOD).await.is(303);
    let page = browser.post("/frames", &with(&[("tag", " k-03 ")])).await.is(422);
    assert!(page.error("tag").starts_with("Another frame has this tag"));
    let other = browser.post("/frames", &with(&[("tag", "K-04")])).await.to().to_owned();
    let path = other.split('?').next().unwrap();
    let page = browser.post(path, &with(&[("revision", "1")])).await.is(422);
    assert!(page.error("tag").starts_with("Another frame has this tag"));
}

#[tokio::test]
async fn the_second_editor_is_told_what_changed_and_keeps_what_was_typed() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let path = browser.post("/frames", &GOOD).await.to().split('?').next().unwrap().to_owned();
    let revision = browser.get(&format!("{path}/edit")).await.is(200).field("revision");
    let edit = |width, span| with(&[("revision", revision.as_str()), ("width", width), ("span", span)]);
    browser.post(&path, &edit("18 1/4 in", "33 in")).await.is(303);
    let page = browser.post(&path, &edit("18 in", "34 in")).await.is(409);
    assert_eq!(page.field("span"), "34 in");
    assert_eq!(
        page.error("width"),
        "The width was changed by Ines Probe and is now: 18 1/4 in. Keep yours by saving again."
    );
    let now = page.field("revision");
    let again = with(&[("revision", now.as_str()), ("width", "18 1/4 in"), ("span", "34 in")]);
    browser.post(&path, &again).await.is(303);
    let page = browser.get(&path).await.is(200);
    let changes = page.all("section.section:has(h2) tbody tr");
    assert!(changes[0].ends_with("Ines Probe changed: span 34 in"), "{changes:?}");
    assert!(changes[1].ends_with("Ines Probe changed: width 18 1/4 in"), "{changes:?}");
}

#[tokio::test]
async fn lists_are_filtered_by_place_and_condition() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let store = world.store();
    loft::frame(store, me, &usual("K-1")).await;
    let mut worn = usual("K-2");
    worn.condition = Condition::Worn;
    let worn = loft::frame(store, me, &worn).await;
    let gone = loft::frame(store, me, &usual("K-3")).await;
    browser.post(&format!("/frames/{gone}/retire"), &[("revision", "1")]).await.is(303);
    let mut tags = async |query: &str| browser.get(&format!("/frames{query}")).await.is(200).all("tbody th");
    assert_eq!(tags("").await, ["K-1", "K-2"]);
    assert_eq!(tags("?condition=worn").await, ["K-2"]);
    assert_eq!(tags("?place=retired").await, ["K-3"]);
    assert!(tags("?place=out").await.is_empty());
    assert!(tags("?place=%F0%9F%92%A9&condition='").await.is_empty());
    let page = browser.get("/frames?place=overdue").await;
    assert_eq!(page.one("main p.lead a"), "Show all");
    // Clicking on the worn one leads to its page.
    assert_eq!(browser.get(&format!("/frames/{worn}")).await.is(200).one("h1"), "Frame K-2");
}

#[tokio::test]
async fn a_retired_frame_is_handed_out_no_more_until_it_is_back_in_use() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let id = loft::frame(world.store(), me, &usual("K-1")).await;
    let path = format!("/frames/{id}");
    browser.post(&format!("{path}/retire"), &[("revision", "7")]).await.is(409);
    browser.post(&format!("{path}/retire"), &[("revision", "1")]).await.is(303);
    let page = browser.get(&path).await.is(200);
    assert_eq!(page.one(".badge"), "Retired");
    assert!(!page.text.contains("/hand-out"));
    let page = browser.get(&format!("{path}/hand-out")).await.is(200);
    assert!(page.one("#errors").contains("Frame K-1 is broken or retired, so it stays here."));
    browser.post(&format!("{path}/restore"), &[("revision", "2")]).await.is(303);
    assert_eq!(browser.get(&path).await.one(".badge"), "In");
}

#[tokio::test]
async fn volunteers_look_and_unknown_frames_are_not_here() {
    let world = World::new().await;
    let (me, mut instructor) = world.instructor().await;
    let (_, mut volunteer) = world.volunteer().await;
    let id = loft::frame(world.store(), me, &usual("K-1")).await;
    let page = volunteer.get(&format!("/frames/{id}")).await.is(200);
    assert!(!page.text.contains("/edit") && !page.text.contains("/retire"));
    for unknown in ["01890000-0000-7000-8000-000000000000", "K-1", "%20", "..%2f"] {
        for path in ["", "/edit", "/hand-out"] {
            let page = instructor.get(&format!("/frames/{unknown}{path}")).await.is(404);
            assert_eq!(page.one("h1"), "Not here");
        }
    }
}

#[tokio::test]
async fn many_frames_are_paged_and_found_by_tag_or_weaver() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    for n in 0..103 {
        crate::support::loft::frame(world.store(), me, &crate::support::loft::usual(&format!("F{n:03}")))
            .await;
    }
    let rows = "tbody th";
    let page = browser.get("/frames").await.is(200);
    assert_eq!((page.all(rows).len(), page.all("#q").len()), (100, 1));
    assert!(page.one(".lead").starts_with("103 here"), "{}", page.one(".lead"));
    let next = page.attr(".pages a", "href");
    let page = browser.get(&next).await.is(200);
    assert_eq!(page.all(rows), ["F100", "F101", "F102"]);
    assert_eq!(page.attr(".pages a", "href"), "/frames");
    assert_eq!(browser.get("/frames?q=f05").await.all(rows).len(), 10);
    assert!(browser.get("/frames?q=f05&place=out").await.all(rows).is_empty());
    let page = browser.get("/frames?place=in&page=2").await.is(200);
    assert_eq!(page.attr(".pages a", "href"), "/frames?place=in");
}
