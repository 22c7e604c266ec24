//! Handing out, from a frame and from a rug. The clock stands at Wednesday 2026-10-07, noon UTC.
use jiff::civil::date;
use thrumhall::store::frames::Condition;
use thrumhall::store::people::Role;
use thrumhall::store::terms::Meeting;
use thrumhall::store::{Day, FrameId, MeetingId, PersonId, RodId, RugId, TermId, TimeOfDay};

use crate::support::browser::{Browser, Page, World};
use crate::support::loft::{self, large, usual};
use crate::support::named::assert_names;
use crate::support::{actor, days};

/// Two usual frames and a large one, rods of two lengths, Wanda's rug in a term that ends on 25 November, and a rug of Nils's
/// in none.
struct Loft {
    world: World,
    me: PersonId,
    browser: Browser,
    frames: [FrameId; 3],
    rods: [RodId; 2],
    rug: RugId,
    other: RugId,
}

impl Loft {
    async fn new() -> Self {
        let world = World::new().await;
        let (me, browser) = world.instructor().await;
        let store = world.store();
        let mut frames = Vec::new();
        for frame in [large("A-1"), usual("K-1"), usual("K-2")] {
            frames.push(loft::frame(store, me, &frame).await);
        }
        let rods = [loft::rods(store, me, 36.0, 6).await, loft::rods(store, me, 48.0, 3).await];
        let term = TermId::new();
        let mut tx = store.write(actor(me)).await.unwrap();
        tx.add_term(term, "Ebb", "").await.unwrap();
        let meeting = Meeting {
            id: MeetingId::new(),
            term_id: term,
            on_day: Day(date(2026, 11, 25)),
            starts_at: TimeOfDay("18:30".parse().unwrap()),
            minutes: 120,
            called_off: false,
        };
        tx.add_meeting(&meeting).await.unwrap();
        tx.commit().await.unwrap();
        let wanda = loft::person(store, Role::Weaver, "Wanda Probe").await;
        let rug = loft::rug(store, wanda, "Tide", &usual(""), Some(term)).await;
        let nils = loft::person(store, Role::Weaver, "Nils Reed").await;
        let other = loft::rug(store, nils, "Foam", &usual(""), None).await;
        let frames = frames.try_into().unwrap();
        Self { world, me, browser, frames, rods, rug, other }
    }

    async fn out(&self) -> Vec<(String, String, i64)> {
        let loans = self.world.store().read().await.unwrap().loans_out().await.unwrap();
        loans.into_iter().map(|loan| (loan.frame_tag, loan.weaver, loan.rods)).collect()
    }

    async fn rods_out(&self) -> [i64; 2] {
        let rods = self.world.store().read().await.unwrap().rods().await.unwrap();
        [rods[0].out_now, rods[1].out_now]
    }
}

/// What the page would send if nothing were changed.
pub(super) fn as_offered(page: &Page) -> Vec<(&'static str, String)> {
    let mut fields = Vec::new();
    for name in ["key", "rods", "due_on"] {
        fields.push((name, page.field(name)));
    }
    for name in ["frame", "rug", "rod"] {
        if !page.all(&format!("[name={name}][checked]")).is_empty() {
            fields.push((name, page.attr(&format!("[name={name}][checked]"), "value")));
        }
    }
    fields
}

pub(super) fn borrowed<'a>(fields: &'a [(&'static str, String)]) -> Vec<(&'a str, &'a str)> {
    fields.iter().map(|(name, value)| (*name, value.as_str())).collect()
}

#[tokio::test]
async fn from_a_rug_the_best_frame_its_rods_and_the_last_meeting_are_chosen_already() {
    let mut loft = Loft::new().await;
    let path = format!("/rugs/{}/hand-out", loft.rug);
    let page = loft.browser.get(&path).await.is(200);
    assert_eq!(
        page.all("label.choice:has([name=frame])"),
        [
            "K-1 18 in × 33 in, 33 nails per end as planned",
            "K-2 18 in × 33 in, 33 nails per end as planned",
            "A-1 24 in × 44 in, 43 nails per end larger than planned",
        ]
    );
    let offered = as_offered(&page);
    assert!(offered.contains(&("frame", loft.frames[1].to_string())));
    assert!(offered.contains(&("rod", loft.rods[0].to_string())), "the shortest that fit");
    assert!(offered.contains(&("due_on", "2026-11-25".into())));
    let slip = loft.browser.post(&path, &borrowed(&offered)).await.to().to_owned();
    assert_eq!(loft.browser.post(&path, &borrowed(&offered)).await.to(), slip, "a second press does nothing");
    let page = loft.browser.get(&slip).await.is(200);
    assert_eq!(
        (page.one("h1"), page.one(".notice")),
        ("Frame K-1 with Wanda Probe".into(), "Handed out.".into())
    );
    assert!(page.one(".paper").contains(&days::long("2026-11-25")));
    assert_eq!(loft.out().await, [("K-1".into(), "Wanda Probe".into(), 2)]);
    assert_eq!(loft.rods_out().await, [2, 0]);
}

#[tokio::test]
async fn from_a_frame_the_rug_that_fits_is_chosen_already() {
    let mut loft = Loft::new().await;
    let path = format!("/frames/{}/hand-out", loft.frames[2]);
    let page = loft.browser.get(&path).await.is(200);
    assert_eq!(page.all("[name=rug]").len(), 2);
    let offered = as_offered(&page);
    assert!(offered.contains(&("rug", loft.rug.to_string())), "the one that waits longest");
    // The other one instead, without rods.
    let changed: Vec<_> = offered
        .into_iter()
        .map(|(name, value)| match name {
            "rug" => (name, loft.other.to_string()),
            "rod" => (name, "none".into()),
            _ => (name, value),
        })
        .collect();
    let slip = loft.browser.post(&path, &borrowed(&changed)).await.to().to_owned();
    assert_eq!(loft.browser.post(&path, &borrowed(&changed)).await.to(), slip, "a second press does nothing");
    assert_eq!(loft.out().await, [("K-2".into(), "Nils Reed".into(), 0)]);
    assert_eq!(loft.rods_out().await, [0, 0]);
}

#[tokio::test]
async fn the_second_instructor_is_told_who_has_it_and_keeps_what_was_typed() {
    let mut loft = Loft::new().await;
    let other = loft.other;
    let (_, mut second) = loft.world.enter(Role::Instructor, "Second Probe").await;
    let first = as_offered(&loft.browser.get(&format!("/rugs/{}/hand-out", loft.rug)).await);
    let theirs = second.get(&format!("/rugs/{other}/hand-out")).await;
    let mut typed = as_offered(&theirs);
    assert!(typed.contains(&("due_on", "2026-10-28".into())), "three weeks, without a term: {typed:?}");
    typed.retain(|(name, _)| *name != "due_on");
    typed.push(("due_on", "2026-12-02".into()));
    loft.browser.post(&format!("/rugs/{}/hand-out", loft.rug), &borrowed(&first)).await.is(303);

    let page = second.post(&format!("/rugs/{other}/hand-out"), &borrowed(&typed)).await.is(409);
    let due = days::long("2026-11-25");
    page.error_names("frame", &["K-1", "Wanda Probe", &due]);
    assert_eq!(page.field("due_on"), "2026-12-02");
    assert_names(
        &page.one(".acts li"),
        &["K-1", "18 in × 33 in", "33 nails", "Wanda Probe", &days::short("2026-11-25")],
    );

    // The same from the frame's side: the rug stays chosen.
    let path = format!("/frames/{}/hand-out", loft.frames[1]);
    let typed = [
        ("rug", other.to_string()),
        ("rod", loft.rods[0].to_string()),
        ("rods", "2".into()),
        ("due_on", "2026-12-02".into()),
    ];
    let page = second.post(&path, &borrowed(&typed)).await.is(409);
    assert_names(&page.one("#errors"), &["K-1", "Wanda Probe", &due]);
    assert_eq!(page.attr("[name=rug][checked]", "value"), other.to_string());
    assert_eq!(loft.out().await.len(), 1);
    assert_eq!(loft.rods_out().await, [2, 0]);
}

#[tokio::test]
async fn wrong_input_comes_back_at_the_field() {
    let mut loft = Loft::new().await;
    let path = format!("/rugs/{}/hand-out", loft.rug);
    let offered = as_offered(&loft.browser.get(&path).await);
    let long = "1".repeat(10_000);
    let large = loft.frames[0].to_string();
    let short = loft.rods[0].to_string();
    let [late, today, far] = ["2026-10-06", "2026-10-07", "2028-10-07"].map(days::long);
    let cases: &[(&str, &str, &str, &[&str])] = &[
        ("due_on", "2026-10-06", "due_on", &[&late, &today]),
        ("due_on", "2028-10-07", "due_on", &[&far]),
        ("due_on", "soon", "due_on", &["2026-11-25"]),
        ("due_on", "", "due_on", &["2026-11-25"]),
        ("rods", "0", "rods", &["0", "1", "20"]),
        ("rods", "-2", "rods", &["-2", "1", "20"]),
        ("rods", &long, "rods", &["1", "20"]),
        ("rods", "7", "rods", &["36 in", "6"]),
        ("rod", "𝟛𝟞", "rod", &["rod"]),
        ("frame", "01890000-0000-7000-8000-000000000000", "frame", &["frame"]),
        ("frame", "", "frame", &["frame"]),
        // The rods that were chosen are too short for it.
        ("frame", &large, "rod", &["36 in", "44 in", "47 in"]),
    ];
    for &(name, typed, at, values) in cases {
        let mut fields = borrowed(&offered);
        fields.retain(|(other, _)| *other != name);
        fields.push((name, typed));
        let page = loft.browser.post(&path, &fields).await;
        assert!([409, 422].contains(&page.status.as_u16()), "{name} {}", page.status);
        page.error_names(at, values);
        if at == "rod" && name == "frame" {
            assert_eq!(page.attr("[name=rod][checked]", "value"), short);
        }
        if ["due_on", "rods"].contains(&name) {
            assert_eq!(page.field(name), typed);
        }
    }
    assert!(loft.out().await.is_empty());
    assert_eq!(loft.rods_out().await, [0, 0]);
    let page =
        loft.browser.post(&format!("/frames/{}/hand-out", loft.frames[1]), &[("rug", "Tide")]).await.is(422);
    assert_eq!(page.error("rug"), "Choose a rug from the list.");
}

#[tokio::test]
async fn broken_frames_are_never_offered_and_finished_rugs_get_none() {
    let mut loft = Loft::new().await;
    let store = loft.world.store().clone();
    let mut tx = store.write(actor(loft.me)).await.unwrap();
    let mut broken = usual("K-1");
    broken.condition = Condition::Broken;
    tx.change_frame(loft.frames[1], 1, &broken).await.unwrap();
    tx.commit().await.unwrap();
    let path = format!("/rugs/{}/hand-out", loft.rug);
    let page = loft.browser.get(&path).await.is(200);
    assert!(!page.text.contains("K-1"));
    let mut typed = as_offered(&page);
    typed.retain(|(name, _)| *name != "frame");
    typed.push(("frame", loft.frames[1].to_string()));
    let page = loft.browser.post(&path, &borrowed(&typed)).await.is(422);
    assert_eq!(page.error("frame"), "Choose a frame from the list.");

    let mut tx = store.write(actor(loft.me)).await.unwrap();
    tx.set_rug_state(loft.rug, thrumhall::store::rugs::RugState::Finished).await.unwrap();
    tx.commit().await.unwrap();
    let page = loft.browser.get(&path).await.is(200);
    assert!(page.one("#errors").contains("This rug is finished or given up, or its weaver left."));
    let typed = as_offered(&page);
    loft.browser.post(&path, &borrowed(&typed)).await.is(409);
    assert!(loft.out().await.is_empty());
}

#[tokio::test]
async fn when_nothing_waits_or_nothing_is_in_the_page_says_what_to_do() {
    let world = World::new().await;
    let (me, mut browser) = world.instructor().await;
    let frame = loft::frame(world.store(), me, &usual("K-1")).await;
    let page = browser.get(&format!("/frames/{frame}/hand-out")).await.is(200);
    assert_eq!(page.one(".empty h2"), "No rug waits for a frame");
    browser.get(&format!("/rugs/{}/hand-out", RugId::new())).await.is(404);
}
