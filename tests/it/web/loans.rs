//! Loans: the slip, moving the day, taking back. The clock stands at Wednesday 2026-10-07, noon UTC.
use jiff::ToSpan as _;
use jiff::civil::date;
use thrumhall::store::loans::HandOut;
use thrumhall::store::people::Role;
use thrumhall::store::{Day, LoanId, PersonId};

use crate::support::browser::{Browser, World};
use crate::support::days::{long, short};
use crate::support::loft::{self, large, usual};
use crate::support::named::assert_names;
use crate::support::{actor, noon};

/// Frame K-1 with Wanda, with two of five rods of 36 in, due on 14 October; and frame A-1 with Otto, with two of four of
/// 48 in, due on 28 October.
struct Lent {
    world: World,
    me: PersonId,
    browser: Browser,
    wanda: Browser,
    otto: Browser,
    loan: LoanId,
    path: String,
    /// Otto's.
    other: String,
}

impl Lent {
    async fn new() -> Self {
        let world = World::new().await;
        let (me, browser) = world.instructor().await;
        let (weaver, wanda) = world.weaver().await;
        let (second, otto) = world.enter(Role::Weaver, "Otto Probe").await;
        let store = world.store();
        // Otto's goes out first and stands first by its tag, too.
        let mut loans = Vec::new();
        for (weaver, name, size, inches, owned, day) in
            [(second, "Foam", large("A-1"), 48.0, 4, 28), (weaver, "Tide", usual("K-1"), 36.0, 5, 14)]
        {
            let frame = loft::frame(store, me, &size).await;
            let rods = loft::rods(store, me, inches, owned).await;
            let rug = loft::rug(store, weaver, name, &size, None).await;
            let loan = LoanId::new();
            let mut tx = store.write(actor(me)).await.unwrap();
            let what = HandOut { frame, rug, rods: Some((rods, 2)), due_on: Day(date(2026, 10, day)) };
            tx.hand_out(loan, &what).await.unwrap();
            tx.commit().await.unwrap();
            loans.push(loan);
        }
        let (path, other) = (format!("/loans/{}", loans[1]), format!("/loans/{}", loans[0]));
        Self { world, me, browser, wanda, otto, loan: loans[1], path, other }
    }

    /// How many of 36 in are owned, out and bent; those that Otto has are as they were.
    async fn rods(&self) -> (i64, i64, i64) {
        let rods = self.world.store().read().await.unwrap().rods().await.unwrap();
        assert_eq!((rods[1].owned, rods[1].out_now, rods[1].bent), (4, 2, 0), "Otto’s rods");
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
    for part in
        ["Wanda Probe", "K-1", "36 in × 1/8 in", &long("2026-10-14"), "sound", "eye height", "Local rules"]
    {
        assert!(slip.contains(part), "{part}: {slip}");
    }
    assert!(!page.text.contains("take-back") && !page.text.contains("/frames/"));
    lent.otto.get(&lent.path).await.is(404);
    lent.wanda.get(&lent.other).await.is(404);
    let theirs = lent.otto.get(&lent.other).await.is(200).one(".paper");
    assert!(theirs.contains("A-1") && !theirs.contains("K-1") && !theirs.contains("Wanda"), "{theirs}");
    lent.browser.get(&format!("/loans/{}", LoanId::new())).await.is(404);
    lent.browser.get("/loans/K-1").await.is(404);
}

#[tokio::test]
async fn taken_back_once_with_bent_and_missing_rods_and_the_next_is_shown() {
    let mut lent = Lent::new().await;
    let nils = loft::person(lent.world.store(), Role::Weaver, "Nils Reed").await;
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
    assert_eq!(page.one(".lead"), "1 out, none overdue.");
    let rows = page.all("tbody tr");
    assert!(rows[0].starts_with("A-1 Otto Probe Foam"), "{rows:?}");
    assert!(rows[1].starts_with("K-1") && rows[1].ends_with("worn 1 bent, 1 missing"), "{rows:?}");
    lent.browser.post(&format!("{}/take-back", lent.other), &BACK).await.is(303);
    assert_eq!(lent.browser.get("/loans").await.one(".lead"), "Every frame is in.");
}

#[tokio::test]
async fn wrong_input_comes_back_at_the_field() {
    let mut lent = Lent::new().await;
    let path = format!("{}/take-back", lent.path);
    let long = "o".repeat(10_000);
    let cases: &[(&str, &str, &[&str])] = &[
        ("rods_bent", "3", &["3", "0", "2"]),
        ("rods_bent", "-1", &["-1", "0", "2"]),
        ("rods_missing", "2", &["2", "3"]),
        ("rods_missing", "none", &["0", "2", "none"]),
        ("condition", "", &["condition"]),
        ("rug", "eaten", &["rug"]),
        ("note", &long, &["10000", "2000"]),
        ("note", "a\u{202e}b", &["character"]),
    ];
    for &(name, typed, values) in cases {
        let kept = BACK.into_iter().filter(|(other, _)| *other != name);
        let fields: Vec<_> = kept.chain([(name, typed)]).collect();
        let page = lent.browser.post(&path, &fields).await.is(422);
        page.only_error_at(name);
        page.error_names(name, values);
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
    assert_eq!(page.one(".lead"), "2 out, 1 overdue.");
    assert_eq!(page.all("tbody th"), ["K-1", "A-1"]);
    assert_eq!(page.attr("td[data-label=Due]", "data-value"), "2026-10-14");
    let due = short("2026-10-14");
    assert_names(&page.one("tbody tr"), &["Wanda Probe", "Tide", "2 of 36 in × 1/8 in", "Overdue", &due]);
    let rows = lent.browser.get("/frames?place=overdue").await.all("tbody tr");
    assert_eq!(rows.len(), 1, "{rows:?}");
    assert_names(&rows[0], &["K-1", "Overdue", &due, "Wanda Probe"]);

    let path = format!("{}/due", lent.path);
    let page = lent.browser.post(&path, &[("due_was", "2026-10-14"), ("due_on", "2026-10-16")]).await.is(422);
    page.error_names("due_on", &[&long("2026-10-16"), &long("2026-10-17")]);
    assert_eq!(page.field("due_on"), "2026-10-16");
    let moved = [("due_was", "2026-10-14"), ("due_on", "2026-10-28")];
    lent.browser.post(&path, &moved).await.is(303);
    let page = lent.browser.post(&path, &[("due_was", "2026-10-14"), ("due_on", "2026-11-04")]).await.is(409);
    page.error_names("due_on", &[&long("2026-10-28")]);
    assert_eq!((page.field("due_on"), page.field("due_was")), ("2026-11-04".into(), "2026-10-28".into()));
    assert_eq!(lent.browser.get("/loans").await.one(".lead"), "2 out, none overdue.");
    assert_eq!(lent.browser.get("/loans").await.all("tbody th").len(), 2);
}

#[tokio::test]
async fn a_day_can_not_be_moved_once_the_frame_is_back() {
    let mut lent = Lent::new().await;
    lent.browser.post(&format!("{}/take-back", lent.path), &BACK).await.is(303);
    // Whatever is typed, and also where it can't be read: there is no field any more to say it at.
    for due in ["2026-10-28", "1e9-11-20"] {
        let fields = [("due_was", "2026-10-14"), ("due_on", due)];
        let page = lent.browser.post(&format!("{}/due", lent.path), &fields).await.is(409);
        assert!(page.one("[role=alert] .error").contains("taken back meanwhile"), "{}", page.text);
    }
}

#[tokio::test]
async fn a_frame_that_is_out_is_not_retired_and_says_with_whom_it_is() {
    let mut lent = Lent::new().await;
    let loan = lent.world.store().read().await.unwrap().loan(lent.loan).await.unwrap().unwrap();
    let path = format!("/frames/{}", loan.frame_id);
    let page = lent.browser.get(&path).await.is(200);
    assert_names(&page.one(".page-head .lead"), &[&short("2026-10-14"), "Wanda Probe"]);
    let page = lent.browser.post(&format!("{path}/retire"), &[("revision", "1")]).await.is(409);
    assert_names(&page.one("#errors"), &["Wanda Probe", &long("2026-10-14")]);
    let page = lent.browser.get(&format!("{path}/hand-out")).await.is(200);
    assert_names(&page.one("#errors"), &["K-1", "Wanda Probe", &long("2026-10-14")]);
}

#[tokio::test]
async fn all_loans_can_be_taken_away_as_a_table() {
    let mut lent = Lent::new().await;
    lent.browser.post(&format!("{}/take-back", lent.path), &BACK).await.is(303);
    let csv = lent.browser.get("/loans.csv").await.is(200).table();
    let row = "K-1,Wanda Probe,Tide,2026-10-07T05:00,Ines Probe,2026-10-14,2 of 36 in × 1/8 in,2026-10-07T18:00,\
               Ines Probe,worn,1,1,Bead missing.\r\n";
    assert!(csv.ends_with(row), "{csv}");
    let other = "\nA-1,Otto Probe,Foam,2026-10-07T05:00,Ines Probe,2026-10-28,2 of 48 in × 1/8 in,,";
    assert!(csv.contains(other), "{csv}");
    let (me, record) = (lent.me, lent.browser.get("/record").await.is(200));
    assert!(record.text.contains("took back frame K-1"), "{me} is in the record");
}
