//! Loans: the slip, moving the day, taking back. The clock stands at Wednesday 2026-10-07, noon UTC.
use jiff::ToSpan as _;
use jiff::civil::date;
use thrumhall::store::loans::HandOut;
use thrumhall::store::{Day, LoanId, PersonId};

use crate::support::browser::{Browser, World};
use crate::support::loft::{self, usual};
use crate::support::{actor, noon};

/// Frame K-1 with Wanda, with two of five rods, due on 14 October.
struct Lent {
    world: World,
    me: PersonId,
    browser: Browser,
    wanda: Browser,
    loan: LoanId,
    path: String,
}

impl Lent {
    async fn new() -> Self {
        let world = World::new().await;
        let (me, browser) = world.instructor().await;
        let (weaver, wanda) = world.weaver().await;
        let store = world.store();
        let frame = loft::frame(store, me, &usual("K-1")).await;
        let rods = loft::rods(store, me, 36.0, 5).await;
        let rug = loft::rug(store, weaver, "Tide", &usual(""), None).await;
        let loan = LoanId::fresh();
        let mut tx = store.write(actor(me)).await.unwrap();
        let what = HandOut { frame, rug, rods: Some((rods, 2)), due_on: Day(date(2026, 10, 14)) };
        tx.hand_out(loan, &what).await.unwrap();
        tx.commit().await.unwrap();
        Self { world, me, browser, wanda, loan, path: format!("/loans/{loan}") }
    }

    async fn rods(&self) -> (i64, i64, i64) {
        let rods = self.world.store().read().await.unwrap().rods().await.unwrap();
        (rods[0].owned, rods[0].out_now, rods[0].bent)
    }
}

const BACK: [(&str, &str); 5] = [
    ("condition", "worn"),
    ("rug", "finished"),
    ("rods_bent", "1"),
    ("rods_missing", "1"),
    ("note", "Bead missing."),
];

#[tokio::test]
async fn a_weaver_sees_their_own_slip_and_no_other() {
    let mut lent = Lent::new().await;
    let page = lent.wanda.get(&lent.path).await.is(200);
    let slip = page.one(".paper");
    for part in [
        "Wanda Probe",
        "K-1",
        "36 in × 1/8 in",
        "Wednesday 14 October 2026",
        "sound",
        "eye height",
        "Local rules",
    ] {
        assert!(slip.contains(part), "{part}: {slip}");
    }
    assert!(!page.text.contains("take-back") && !page.text.contains("/frames/"));
    let (_, mut other) = lent.world.enter(thrumhall::store::people::Role::Weaver, "Otto Probe").await;
    other.get(&lent.path).await.is(404);
    lent.browser.get(&format!("/loans/{}", LoanId::fresh())).await.is(404);
    lent.browser.get("/loans/K-1").await.is(404);
}

#[tokio::test]
async fn taken_back_once_with_bent_and_missing_rods_and_the_next_is_shown() {
    let mut lent = Lent::new().await;
    let nils = loft::person(lent.world.store(), thrumhall::store::people::Role::Weaver, "Nils Reed").await;
    let next = loft::rug(lent.world.store(), nils, "Foam", &usual(""), None).await;
    let path = format!("{}/take-back", lent.path);
    let key = lent.browser.get(&path).await.is(200).field("key");
    let typed = [BACK.as_slice(), &[("key", key.as_str())]].concat();
    let first = lent.browser.post(&path, &typed).await.to().to_owned();
    assert_eq!(lent.browser.post(&path, &typed).await.to(), first, "a second press changes nothing");
    assert_eq!(lent.rods().await, (4, 0, 1));
    let page = lent.browser.get(&first).await.is(200);
    assert_eq!(page.one(".notice"), "Taken back.");
    assert!(page.one(".acts li").starts_with("Nils Reed Foam, as planned"));
    let to = page.attr(".acts a", "href");
    assert!(to.starts_with(&format!("/rugs/{next}/hand-out?frame=")), "{to}");

    // Somebody with the page still open is led to what was noted.
    let late = lent.browser.post(&path, &BACK).await.to().to_owned();
    assert_eq!(late, format!("{}?said=repeated", lent.path));
    assert_eq!(lent.browser.get(&path).await.to(), late);
    assert_eq!(lent.rods().await, (4, 0, 1));
    let page = lent.browser.get("/loans").await.is(200);
    assert_eq!(page.one(".lead"), "Every frame is in.");
    assert!(page.one("tbody tr").ends_with("worn 1 bent, 1 missing"));
}

#[tokio::test]
async fn wrong_input_comes_back_at_the_field() {
    let mut lent = Lent::new().await;
    let path = format!("{}/take-back", lent.path);
    let long = "o".repeat(10_000);
    for (name, typed, message) in [
        ("rods_bent", "3", "The number of bent rods can’t be 3: from 0 to 2 is allowed."),
        ("rods_bent", "-1", "The number of bent rods can’t be -1: from 0 to 2 is allowed."),
        ("rods_missing", "2", "2 rods went out; bent and missing together make 3."),
        ("rods_missing", "none", "The number of missing rods is a whole number from 0 to 2, not “none”."),
        ("condition", "", "Choose its condition."),
        ("rug", "eaten", "Choose how far the rug is."),
        ("note", &long, "The note is 10000 characters long; 2000 are the most."),
        ("note", "a\u{202e}b", "The note holds a character that can’t be seen. Type it anew."),
    ] {
        let kept = BACK.into_iter().filter(|(other, _)| *other != name);
        let fields: Vec<_> = kept.chain([(name, typed)]).collect();
        let page = lent.browser.post(&path, &fields).await.is(422);
        assert_eq!(page.error(name), message);
        if name.starts_with("rods") {
            assert_eq!(page.field(name), typed);
        } else {
            assert_eq!(page.field("rods_bent"), "1");
        }
    }
    assert_eq!(lent.rods().await, (5, 2, 0));
}

#[tokio::test]
async fn an_overdue_loan_stands_first_and_its_day_can_be_moved() {
    let mut lent = Lent::new().await;
    lent.world.clock.set(noon() + (24 * 10).hours());
    let page = lent.browser.get("/loans").await.is(200);
    assert_eq!(page.one(".lead"), "1 out, 1 overdue.");
    assert_eq!(page.one("tbody tr"), "K-1 Wanda Probe Tide 2 of 36 in × 1/8 in Overdue Wed 14 Oct Take back");
    assert!(
        lent.browser
            .get("/frames?place=overdue")
            .await
            .one("tbody tr")
            .contains("Overdue since Wed 14 Oct Wanda Probe")
    );

    let path = format!("{}/due", lent.path);
    let page = lent.browser.post(&path, &[("due_was", "2026-10-14"), ("due_on", "2026-10-16")]).await.is(422);
    assert_eq!(page.error("due_on"), "Friday 16 October 2026 is past; today is Saturday 17 October 2026.");
    assert_eq!(page.field("due_on"), "2026-10-16");
    let moved = [("due_was", "2026-10-14"), ("due_on", "2026-10-28")];
    lent.browser.post(&path, &moved).await.is(303);
    let page = lent.browser.post(&path, &[("due_was", "2026-10-14"), ("due_on", "2026-11-04")]).await.is(409);
    assert_eq!(page.error("due_on"), "Somebody else moved it to Wednesday 28 October 2026 just now.");
    assert_eq!((page.field("due_on"), page.field("due_was")), ("2026-11-04".into(), "2026-10-28".into()));
    assert_eq!(lent.browser.get("/loans").await.one(".lead"), "1 out, none overdue.");
}

#[tokio::test]
async fn a_frame_that_is_out_is_not_retired_and_says_with_whom_it_is() {
    let mut lent = Lent::new().await;
    let loan = lent.world.store().read().await.unwrap().loan(lent.loan).await.unwrap().unwrap();
    let path = format!("/frames/{}", loan.frame_id);
    let page = lent.browser.get(&path).await.is(200);
    assert_eq!(page.one(".page-head .lead"), "Out until Wed 14 Oct with Wanda Probe");
    let page = lent.browser.post(&format!("{path}/retire"), &[("revision", "1")]).await.is(409);
    assert!(page.one("#errors").contains("This frame is with Wanda Probe until Wednesday 14 October 2026."));
    let page = lent.browser.get(&format!("{path}/hand-out")).await.is(200);
    assert!(page.one("#errors").contains("Frame K-1 is with Wanda Probe until Wednesday 14 October 2026."));
}

#[tokio::test]
async fn all_loans_can_be_taken_away_as_a_table() {
    let mut lent = Lent::new().await;
    lent.browser.post(&format!("{}/take-back", lent.path), &BACK).await.is(303);
    let csv = lent.browser.get("/loans.csv").await.is(200).text;
    let row = "K-1,Wanda Probe,Tide,2026-10-07T05:00,Ines Probe,2026-10-14,2 of 36 in × 1/8 in,2026-10-07T18:00,\
               Ines Probe,worn,1,1,Bead missing.\r\n";
    assert!(csv.ends_with(row), "{csv}");
    let (me, record) = (lent.me, lent.browser.get("/record").await.is(200));
    assert!(record.text.contains("loan taken back"), "{me} is in the record");
}
