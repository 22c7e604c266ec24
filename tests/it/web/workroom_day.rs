//! Days are the workroom's: overdue lists, the days that forms take, feeds and tables, where UTC has another day.
use jiff::{Timestamp, ToSpan as _};
use thrumhall::store::Actor;
use thrumhall::store::people::Role;
use thrumhall::units::Units;
use thrumhall::web::Config;

use crate::support::browser::{Browser, World};
use crate::support::days::{long, short};
use crate::support::loft::{self, usual};
use crate::support::noon;

/// Source: IANA time zone database: in October 2026 Auckland is thirteen hours before UTC, Los Angeles seven behind it. The
/// zone, and the first moment of Saturday the 10th there.
const SATURDAYS: [(&str, &str); 2] =
    [("Pacific/Auckland", "2026-10-09T11:00:00Z"), ("America/Los_Angeles", "2026-10-10T07:00:00Z")];

/// A frame with a weaver until Friday the 9th, and one with another until the 30th, in a workroom of a zone: the world, the
/// instructor, the first weaver, the first loan.
async fn lent(zone: &str) -> (World, Browser, Browser, String) {
    let world = World::with(Config::default()).await;
    let mut tx = world.store().write(Actor { person: None, at: noon() }).await.unwrap();
    tx.found_workroom("Test Loft", zone, Units::Inches).await.unwrap();
    tx.commit().await.unwrap();
    let (me, mut instructor) = world.instructor().await;
    let (ana, weaver) = world.enter(Role::Weaver, "Ana Reed").await;
    let term = [
        ("name", "Ebb"),
        ("day", "2026-10-07"),
        ("starts", "18:30"),
        ("minutes", "120"),
        ("count", "3"),
        ("every", "1"),
    ];
    instructor.post("/terms", &term).await.to();
    let bo = loft::person(world.store(), Role::Weaver, "Bo Lind").await;
    let mut loans = Vec::new();
    for (who, tag, due) in [(ana, "K-1", "2026-10-09"), (bo, "K-2", "2026-10-30")] {
        let frame = loft::frame(world.store(), me, &usual(tag)).await;
        let rug = loft::rug(world.store(), who, "Tide", &usual(""), None).await;
        let fields = [
            ("frame", frame.to_string()),
            ("rod", "none".into()),
            ("due_on", due.into()),
            ("against", "yes".into()),
        ];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        loans.push(instructor.post(&format!("/rugs/{rug}/hand-out"), &fields).await.to().to_owned());
    }
    (world, instructor, weaver, loans[0].split('?').next().unwrap().to_owned())
}

#[tokio::test]
async fn a_frame_is_overdue_from_the_workrooms_midnight_on() {
    for (zone, saturday) in SATURDAYS {
        let (world, mut instructor, mut weaver, loan) = lent(zone).await;
        let saturday: Timestamp = saturday.parse().unwrap();
        for (moment, late) in [(saturday - 1.microsecond(), false), (saturday, true)] {
            world.clock.set(moment);
            for (who, browser) in [("the instructor", &mut instructor), ("the weaver", &mut weaver)] {
                let shown = browser.get(&loan).await.is(200).all(".badge").contains(&"Overdue".to_owned());
                assert_eq!(shown, late, "{zone}: {who} at the loan, {moment}");
            }
            let listed = instructor.get("/loans").await.is(200).one("tbody tr").contains("Overdue");
            assert_eq!(listed, late, "{zone}: the loans, {moment}");
            let found = instructor.get("/frames?place=overdue").await.is(200).all("tbody th");
            let wanted: &[&str] = if late { &["K-1"] } else { &[] };
            assert_eq!(found, wanted, "{zone}: the frames that are overdue, {moment}");
            let today = instructor.get("/today").await.is(200);
            assert_eq!(today.one("main").to_lowercase().contains("overdue"), late, "{zone}: today, {moment}");
            // A loan may be due today and no day before.
            let move_to = async |browser: &mut Browser, day: &str| {
                let fields = [("due_on", day), ("due_was", "2026-10-01")];
                let page = browser.post(&format!("{loan}/due"), &fields).await;
                page.status.as_u16()
            };
            // 409: the day can be, but it was another before; so nothing is moved.
            let friday = move_to(&mut instructor, "2026-10-09").await;
            assert_eq!(friday, if late { 422 } else { 409 }, "{zone}: due on Friday, said at {moment}");
            assert_eq!(
                move_to(&mut instructor, "2026-10-08").await,
                422,
                "{zone}: due on Thursday, said at {moment}"
            );
            assert_eq!(
                move_to(&mut instructor, "2026-10-10").await,
                409,
                "{zone}: due on Saturday, said at {moment}"
            );
        }
    }
}

/// Ten in the evening of Friday the 9th there, when UTC has another day or soon will.
#[tokio::test]
async fn what_happened_stands_under_the_workrooms_day_and_hour() {
    for (zone, evening) in
        [("Pacific/Auckland", "2026-10-09T09:00:00Z"), ("America/Los_Angeles", "2026-10-10T05:00:00Z")]
    {
        let (world, mut instructor, mut weaver, _) = lent(zone).await;
        world.clock.set(evening.parse().unwrap());
        let sheet = [("kind", "percale"), ("colour", "navy"), ("weight", "2 lb"), ("washed", "yes")];
        instructor.post("/cloth/weigh-in", &sheet).await.is(303);
        let shelf = instructor.get("/cloth.csv").await.is(200);
        assert!(shelf.text.contains("2026-10-09"), "{zone}: {}", shelf.text);
        let record = instructor.get("/record.csv").await.is(200);
        let table = record.table();
        let newest = table.lines().nth(1).unwrap();
        assert!(newest.starts_with("2026-10-09T22:00:00"), "{zone}: {newest}");
        let rug = weaver.get("/my").await.to().to_owned();
        weaver.post(&format!("{rug}/log"), &[("rows", "4"), ("minutes", "30")]).await.is(303);
        let log = weaver.get(&rug).await.is(200).one("#standing tbody tr");
        assert!(log.contains(&short("2026-10-09")) && log.contains("22:00"), "{zone}: {log}");
        // A paper says the day that it is printed.
        let card = weaver.get(&format!("{rug}/card")).await.is(200);
        assert!(card.one("main").contains(&long("2026-10-09")), "{zone}: the card’s day");
    }
}

/// A meeting at half past six on the workroom's clock, and a frame due on a day: in a feed the one is an instant, the other
/// a day wherever it is read.
#[tokio::test]
async fn a_feed_has_the_workrooms_instants_and_days() {
    for (zone, starts, ends) in [
        ("Pacific/Auckland", "20261010T053000Z", "20261010T073000Z"),
        ("America/Los_Angeles", "20261011T013000Z", "20261011T033000Z"),
    ] {
        let (world, mut instructor, mut weaver, _) = lent(zone).await;
        let fields = [
            ("name", "Ebb"),
            ("day", "2026-10-10"),
            ("starts", "18:30"),
            ("minutes", "120"),
            ("count", "1"),
            ("every", "1"),
        ];
        let term = instructor.post("/terms", &fields).await.to().split('?').next().unwrap().to_owned();
        let person = instructor.get(&term).await.is(200).attr("input[name=weaver]", "value");
        instructor.post(&format!("{term}/enrol"), &[("weaver", &person)]).await.is(303);
        for (browser, loans) in [(&mut instructor, 2), (&mut weaver, 1)] {
            let link = browser.post("/me/calendar", &[]).await.is(200).attr("p a.small", "href");
            let feed = world.stranger().get(link.strip_prefix("http://loft.test").unwrap()).await.is(200);
            let lines: Vec<&str> = feed.text.split("\r\n").filter(|line| line.starts_with("DT")).collect();
            let has = |line: String| lines.contains(&line.as_str());
            assert!(has(format!("DTSTART:{starts}")) && has(format!("DTEND:{ends}")), "{zone}: {lines:?}");
            assert!(has("DTSTART;VALUE=DATE:20261009".into()), "{zone}: {lines:?}");
            assert!(has("DTEND;VALUE=DATE:20261010".into()), "{zone}: {lines:?}");
            let days = lines.iter().filter(|line| line.starts_with("DTSTART;VALUE=DATE:")).count();
            assert_eq!(days, loans, "{zone}: of frames that are due, {lines:?}");
        }
        // It is over by the workroom's clock, and not before.
        let over: Timestamp = ends.parse::<Timestamp>().unwrap();
        let off = instructor.get(&term).await.attr("form[action$='/off']", "action");
        for (moment, told) in [(over, 0), (over - 1.second(), 1)] {
            world.clock.set(moment);
            instructor.post(&off, &[]).await.is(303);
            let notices = world.store().read().await.unwrap().notices(9).await.unwrap();
            assert_eq!(notices.len(), told, "{zone}: called off at {moment}");
            instructor.post(&off.replace("/off", "/on"), &[]).await.is(303);
        }
    }
}
