//! Terms, their meetings, and enrolment.
use jiff::ToSpan as _;
use thrumhall::store::Actor;
use thrumhall::store::people::Role;
use thrumhall::units::Units;

use crate::support::browser::{Browser, World};
use crate::support::days::long;
use crate::support::named::assert_names;
use crate::support::{evening, noon};

const EBB: &[(&str, &str)] = &[
    ("name", "Ebb to Flood"),
    ("note", "upstairs"),
    ("day", "2026-10-07"),
    ("count", "3"),
    ("every", "2"),
    ("starts", "18:30"),
    ("minutes", "150"),
];

/// Adds the term and gives its page's address.
async fn ebb(browser: &mut Browser) -> String {
    let to = browser.post("/terms", EBB).await.to().to_owned();
    to.strip_suffix("?said=added").unwrap().to_owned()
}

fn but<'a>(field: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    EBB.iter().map(|(name, was)| (*name, if *name == field { value } else { was })).collect()
}

#[tokio::test]
async fn a_term_is_added_with_a_row_of_meetings() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    assert_eq!(browser.get("/terms").await.is(200).one(".empty a"), "Add the first term");
    browser.get("/terms/new").await.is(200);
    let path = ebb(&mut browser).await;
    let page = browser.get(&path).await.is(200);
    let days = page.all("section:first-of-type tbody th");
    assert_eq!(days.len(), 3);
    assert!(days[0].starts_with(&long("2026-10-07")) && days[0].ends_with("next"), "{days:?}");
    assert_eq!(days[1], long("2026-10-21"));
    assert_eq!(page.one("td[data-label=Time]"), "18:30, 2 h 30 min");
    let page = browser.get("/terms").await.is(200);
    assert_names(&page.one("td[data-label=When]"), &[&long("2026-10-07"), &long("2026-11-04")]);
    assert_eq!(page.one("td[data-label=Now]"), "running");
}

#[tokio::test]
async fn a_second_press_adds_no_second_term() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let key = browser.get("/terms/new").await.field("key");
    let mut typed = EBB.to_vec();
    typed.push(("key", &key));
    let first = browser.post("/terms", &typed).await.to().to_owned();
    assert_eq!(browser.post("/terms", &typed).await.to(), first);
    assert_eq!(browser.get("/terms").await.all("tbody th").len(), 1);
}

#[tokio::test]
async fn wrong_terms_come_back_at_the_field() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let cases: &[(&str, &str, &[&str])] = &[
        ("name", " ", &[]),
        ("day", "soon", &["2026-11-25"]),
        ("day", "1850-01-01", &["2000", "2100"]),
        ("count", "0", &["0", "1", "60"]),
        ("every", "-1", &["-1", "1", "8"]),
        ("starts", "half six", &["18:30"]),
        ("minutes", "14", &["14", "15", "720"]),
        ("minutes", "721", &["721", "15", "720"]),
    ];
    for &(field, value, values) in cases {
        let page = browser.post("/terms", &but(field, value)).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
        assert_eq!(page.field(field), value);
        assert_eq!(page.field("count"), if field == "count" { value } else { "3" });
    }
    assert!(browser.get("/terms").await.all("tbody th").is_empty());
}

/// IANA tz database: 2027-03-14 02:30 doesn't exist in `America/New_York`.
#[tokio::test]
async fn a_start_that_the_clock_skips_is_refused() {
    let world = World::empty().await;
    let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Loft", "America/New_York", Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let (_, mut browser) = world.instructor().await;
    let mut typed = but("day", "2027-03-07");
    typed.retain(|(name, _)| *name != "starts" && *name != "every");
    typed.extend([("starts", "02:30"), ("every", "1")]);
    let page = browser.post("/terms", &typed).await.is(422);
    page.error_names("starts", &[&long("2027-03-14"), "02:30"]);
}

#[tokio::test]
async fn meetings_are_added_called_off_and_on_again() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let path = ebb(&mut browser).await;
    let more = format!("{path}/meetings");
    let page = browser.get(&path).await;
    assert_eq!((page.field("day"), page.field("starts")), ("2026-11-11".into(), "18:30".into()));
    let typed = [("day", "2026-10-14"), ("starts", "18:30"), ("minutes", "60")];
    browser.post(&more, &typed).await.is(303);
    let page = browser.post(&more, &typed).await.is(422);
    assert_eq!(page.error("day"), "The term has a meeting on this day and at this time already.");
    let page =
        browser.post(&more, &[("day", "2026-10-99"), ("starts", "25:00"), ("minutes", "long")]).await.is(422);
    assert_eq!(page.error("minutes"), "The length in minutes is a whole number from 15 to 720, not “long”.");
    assert_eq!(page.field("day"), "2026-10-99");

    let page = browser.get(&path).await;
    let off = page.attr("form[action$='/off']", "action");
    assert_eq!(browser.post(&off, &[]).await.to(), format!("{path}?said=called-off"));
    let days = browser.get(&path).await.all("section:first-of-type tbody th");
    assert!(days[0].ends_with("called off") && days[1].ends_with("next"), "{days:?}");
    let on = off.replace("/off", "/on");
    assert_eq!(browser.post(&on, &[]).await.to(), format!("{path}?said=called-on"));
    assert!(browser.get(&path).await.all("section:first-of-type tbody th")[0].ends_with("next"));
}

#[tokio::test]
async fn a_meeting_is_next_until_it_is_over() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let path = ebb(&mut browser).await;
    for (hours, next) in [(2, 0), (3, 1)] {
        world.clock.set(evening() + hours.hours() + 59.minutes());
        let days = browser.get(&path).await.all("section:first-of-type tbody th");
        assert_eq!(days.iter().position(|day| day.ends_with("next")), Some(next), "{days:?}");
    }
}

#[tokio::test]
async fn weavers_are_enrolled_and_withdrawn() {
    let world = World::new().await;
    let (wanda, _) = world.weaver().await;
    let (bo, _) = world.enter(Role::Weaver, "Bo Probe").await;
    let (_, mut browser) = world.instructor().await;
    let path = ebb(&mut browser).await;
    let page = browser.post(&format!("{path}/enrol"), &[]).await.is(422);
    assert_eq!(page.error("weaver"), "Tick at least one weaver.");
    let (wanda, bo) = (wanda.to_string(), bo.to_string());
    let both = [("weaver", wanda.as_str()), ("weaver", bo.as_str())];
    assert_eq!(browser.post(&format!("{path}/enrol"), &both).await.to(), format!("{path}?said=enrolled"));
    let list = "section:last-of-type tbody th";
    assert_eq!(browser.get(&path).await.all(list), ["Bo Probe", "Wanda Probe"]);
    browser.post(&format!("{path}/withdraw"), &[("person", &bo)]).await.is(303);
    assert_eq!(browser.get(&path).await.all(list), ["Wanda Probe"]);
    browser.post(&format!("{path}/withdraw"), &[("person", &bo)]).await.is(409);
}

#[tokio::test]
async fn the_second_editor_of_a_term_keeps_what_was_typed() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let path = ebb(&mut browser).await;
    let revision = browser.get(&format!("{path}/edit")).await.is(200).field("revision");
    let edit = |name| [("revision", revision.as_str()), ("name", name), ("note", "upstairs")];
    browser.post(&path, &edit("")).await.is(422).only_error_at("name");
    assert_eq!(browser.post(&path, &edit("Flood")).await.to(), format!("{path}?said=saved"));
    let page = browser.post(&path, &edit("Neap")).await.is(409);
    assert_eq!(page.field("name"), "Neap");
    assert_eq!(
        page.error("name"),
        "The name was changed by Ines Probe and is now: Flood. Keep yours by saving again."
    );
}

#[tokio::test]
async fn cautions_are_open_to_everybody() {
    let world = World::new().await;
    let page = world.stranger().get("/cautions").await.is(200);
    assert!(page.text.contains("Journal of Economic Entomology"));
    let (_, mut weaver) = world.weaver().await;
    assert_eq!(weaver.get("/cautions").await.is(200).one(".house-name"), "Test Loft");
}
