//! Calendar feeds by secret link.
use axum::body::Body;
use thrumhall::store::TermId;

use super::rugs::with;
use crate::support::actor;
use crate::support::browser::{Browser, Page, World};

/// A link of theirs, and its path.
async fn link(browser: &mut Browser) -> String {
    let page = browser.post("/me/calendar", &[]).await.is(200);
    assert!(page.attr("a.button", "href").starts_with("webcal://loft.test/calendar/"));
    let link = page.attr("p a.small", "href");
    link.strip_prefix("http://loft.test").unwrap().to_owned()
}

/// A term with a meeting on each of these days, at a time; the person who makes it goes to it.
async fn term(staff: &mut Browser, days: &[(&str, &str)]) -> String {
    let first = days[0];
    let fields = [
        ("name", "Ebb to Flood"),
        ("day", first.0),
        ("starts", first.1),
        ("minutes", "120"),
        ("count", "1"),
        ("every", "1"),
    ];
    let to = staff.post("/terms", &fields).await.to().to_owned();
    let term = to.split('?').next().unwrap().to_owned();
    for (day, starts) in &days[1..] {
        let fields = [("day", *day), ("starts", *starts), ("minutes", "120")];
        staff.post(&format!("{term}/meetings"), &fields).await.is(303);
    }
    term
}

fn lines(page: &Page) -> Vec<String> {
    page.text.replace("\r\n ", "").split("\r\n").map(str::to_owned).collect()
}

fn starts(page: &Page) -> Vec<String> {
    lines(page).iter().filter_map(|line| line.strip_prefix("DTSTART:").map(str::to_owned)).collect()
}

#[tokio::test]
async fn a_weavers_feed_has_their_meetings_and_what_to_do_and_needs_no_cookie() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let (wanda, mut weaver) = world.weaver().await;
    let mine = term(&mut instructor, &[("2026-10-07", "18:30"), ("2026-10-14", "18:30")]).await;
    term(&mut instructor, &[("2026-10-09", "09:00")]).await;
    let id: TermId = mine.rsplit('/').next().unwrap().parse().unwrap();
    let mut tx = world.store().write(actor(wanda)).await.unwrap();
    tx.enrol(id, wanda).await.unwrap();
    tx.commit().await.unwrap();
    weaver.post("/rugs", &with(&[("term", &id.to_string())])).await.is(303);

    let path = link(&mut weaver).await;
    let feed = world.stranger().get(&path).await.is(200);
    assert!(feed.headers["content-type"].to_str().unwrap().starts_with("text/calendar"));
    assert_eq!(starts(&feed), ["20261008T013000Z", "20261015T013000Z"], "only the term they go to");
    let text = lines(&feed).join("\n");
    assert!(text.contains("DESCRIPTION:Low tide: cut or tear the strips"), "{text}");

    // Nothing changed: nothing is sent again.
    let mut stranger = world.stranger();
    let request = stranger.request("GET", &path).header("if-none-match", &feed.headers["etag"]);
    let again = request.body(Body::empty()).unwrap();
    let again = stranger.send(again).await.is(304);
    assert!(again.text.is_empty());

    let replaced = link(&mut weaver).await;
    stranger.get(&path).await.is(404);
    stranger.get(&replaced).await.is(200);
    stranger.get(replaced.trim_end_matches(".ics")).await.is(404);
    assert_eq!(weaver.get("/me").await.one("form[action='/me/calendar'] button"), "Make a new link");
}

#[tokio::test]
async fn what_is_called_off_is_cancelled_under_the_same_identity() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let term = term(&mut instructor, &[("2026-10-07", "18:30"), ("2026-10-14", "18:30")]).await;
    let path = link(&mut instructor).await;
    let before = lines(&instructor.get(&path).await);
    let off = instructor.get(&term).await.attr("form[action$='/off']", "action");
    instructor.post(&off, &[]).await.is(303);
    let after = lines(&instructor.get(&path).await);
    let kept = |lines: &[String], name: &str| -> Vec<String> {
        lines.iter().filter(|line| line.starts_with(name)).cloned().collect()
    };
    assert_eq!(kept(&before, "UID:"), kept(&after, "UID:"));
    assert_eq!(kept(&before, "SEQUENCE:"), ["SEQUENCE:0", "SEQUENCE:0"]);
    assert_eq!(kept(&after, "SEQUENCE:"), ["SEQUENCE:1", "SEQUENCE:0"]);
    assert_eq!(kept(&after, "STATUS:"), ["STATUS:CANCELLED", "STATUS:CONFIRMED"]);
}

/// Source: IANA time zone database, America/New_York: clocks go back on 2026-11-01 at 02:00, and 01:30 comes twice, first as
/// 05:30 UTC; they go forward on 2027-03-14, and 02:30 doesn't come. The first of two: RFC 5545, 3.3.5.
#[tokio::test]
async fn the_clocks_may_change_between_meetings() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let page = instructor.get("/workroom").await;
    let mut fields: Vec<(&str, String)> =
        ["workroom", "units", "scale", "tape", "revision"].map(|name| (name, page.field(name))).to_vec();
    fields.retain(|(name, _)| *name != "units");
    let fields: Vec<(&str, &str)> = fields
        .iter()
        .map(|(name, value)| (*name, value.as_str()))
        .chain([("time_zone", "America/New_York"), ("units", "inches")])
        .collect();
    instructor.post("/workroom", &fields).await.is(303);
    let days =
        [("2026-10-28", "18:30"), ("2026-11-01", "01:30"), ("2026-11-04", "18:30"), ("2027-03-17", "18:30")];
    let term = term(&mut instructor, &days).await;
    let skipped = [("day", "2027-03-14"), ("starts", "02:30"), ("minutes", "120")];
    let refused = instructor.post(&format!("{term}/meetings"), &skipped).await.is(422);
    assert!(refused.error("starts").contains("the clocks go forward"));
    let path = link(&mut instructor).await;
    let feed = instructor.get(&path).await.is(200);
    assert_eq!(
        starts(&feed),
        ["20261028T223000Z", "20261101T053000Z", "20261104T233000Z", "20270317T223000Z"]
    );
}

/// Source: RFC 5545, 3.8.7.4 and 3.8.7.2: a revision raises SEQUENCE; DTSTAMP is when what is said was last revised.
#[tokio::test]
async fn an_entry_that_changes_says_so_and_no_other_does() {
    let world = World::new().await;
    let (_, mut instructor) = world.instructor().await;
    let term = term(&mut instructor, &[("2026-10-14", "18:30")]).await;
    let path = link(&mut instructor).await;
    let marks = |page: &Page| -> Vec<String> {
        let marks = lines(page).into_iter();
        marks.filter(|line| line.starts_with("SEQUENCE:") || line.starts_with("DTSTAMP:")).collect()
    };
    let first = marks(&instructor.get(&path).await);
    world.clock.set("2026-10-09T08:00:00Z".parse().unwrap());
    assert_eq!(marks(&instructor.get(&path).await), first, "nothing changed");
    let revision = instructor.get(&format!("{term}/edit")).await.field("revision");
    let typed = [("name", "Flood to Ebb"), ("note", ""), ("revision", revision.as_str())];
    instructor.post(&term, &typed).await.is(303);
    let renamed = marks(&instructor.get(&path).await);
    assert_eq!(renamed, ["DTSTAMP:20261009T080000Z", "SEQUENCE:1"]);
    world.clock.set("2026-10-10T08:00:00Z".parse().unwrap());
    let off = instructor.get(&term).await.attr("form[action$='/off']", "action");
    instructor.post(&off, &[]).await.is(303);
    assert_eq!(marks(&instructor.get(&path).await), ["DTSTAMP:20261010T080000Z", "SEQUENCE:2"]);
    assert_eq!(marks(&world.stranger().get(&path).await), ["DTSTAMP:20261010T080000Z", "SEQUENCE:2"]);
}
