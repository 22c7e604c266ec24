//! What handing out offers before anybody chooses: frames by turn, fit and condition, rods that are here and straight, and
//! until when. The clock stands at six in the evening of Wednesday 2026-10-07 in Los Angeles.
use thrumhall::store::frames::{Condition, FrameFields};
use thrumhall::store::people::Role;
use thrumhall::store::rods::RodAct;
use thrumhall::store::{FrameId, PersonId, RodId, RugId};

use super::timetable::{accepted, lay};
use crate::support::actor;
use crate::support::browser::{Browser, Page, World};
use crate::support::loft::{self, large, usual};

struct Loft {
    world: World,
    me: PersonId,
    browser: Browser,
}

impl Loft {
    async fn new() -> Self {
        let world = World::new().await;
        let (me, browser) = world.instructor().await;
        Self { world, me, browser }
    }

    async fn frame(&self, fields: &FrameFields) -> FrameId {
        loft::frame(self.world.store(), self.me, fields).await
    }

    async fn rods(&self, inches: f64, owned: i64) -> RodId {
        loft::rods(self.world.store(), self.me, inches, owned).await
    }

    async fn rug(&self, weaver: &str, size: &FrameFields) -> RugId {
        let person = loft::person(self.world.store(), Role::Weaver, weaver).await;
        loft::rug(self.world.store(), person, "Foam", size, None).await
    }

    async fn for_rug(&mut self, rug: RugId) -> Page {
        self.browser.get(&format!("/rugs/{rug}/hand-out")).await.is(200)
    }

    async fn hand_out(&mut self, rug: RugId, fields: &[(&str, &str)]) -> Page {
        self.browser.post(&format!("/rugs/{rug}/hand-out"), fields).await
    }
}

fn chosen(page: &Page, name: &str) -> String {
    page.attr(&format!("[name={name}][checked]"), "value")
}

/// The frames to choose from, by tag, in their order.
fn tags(page: &Page) -> Vec<String> {
    let choices = page.all("label.choice:has([name=frame])");
    choices.iter().map(|text| text.split(' ').next().unwrap().to_owned()).collect()
}

#[tokio::test]
async fn rods_that_are_out_bent_or_too_short_are_not_put_in() {
    let mut loft = Loft::new().await;
    let frames = [loft.frame(&usual("K-1")).await, loft.frame(&usual("K-2")).await];
    let short = loft.rods(30.0, 8).await;
    let fitting = loft.rods(36.0, 3).await;
    let longer = loft.rods(48.0, 2).await;
    let (ana, ben) = (loft.rug("Ana", &usual("")).await, loft.rug("Ben", &usual("")).await);
    let page = loft.for_rug(ana).await;
    assert_eq!(chosen(&page, "rod"), fitting.to_string(), "the shortest that are long enough");
    let offered: Vec<String> = page.all("label.choice:has([name=rod]), [name=rod] option");
    assert!(!page.text.contains(&short.to_string()), "rods that are too short can’t be chosen: {offered:?}");
    let (frame, rod) = (frames[0].to_string(), fitting.to_string());
    let mut fields = vec![("frame", &*frame), ("rod", &*rod), ("rods", "2"), ("due_on", "2026-10-21")];
    loft.hand_out(ana, &fields).await.is(303);
    // One of three is left in: no pair.
    let page = loft.for_rug(ben).await;
    assert_eq!(chosen(&page, "rod"), longer.to_string(), "one rod is no pair");
    assert_eq!(chosen(&page, "frame"), frames[1].to_string(), "the other frame is out");
    let second = frames[1].to_string();
    fields[0] = ("frame", &*second);
    let refused = loft.hand_out(ben, &fields).await.is(409);
    assert!(refused.error("rods").contains("1 are here"), "{}", refused.error("rods"));
    let too_short = short.to_string();
    fields[1] = ("rod", &*too_short);
    loft.hand_out(ben, &fields).await.is(422);
    // A bent one doesn't count either.
    let mut tx = loft.world.store().write(actor(loft.me)).await.unwrap();
    tx.count_rods(longer, RodAct::FoundBent, 1).await.unwrap();
    tx.commit().await.unwrap();
    assert_eq!(chosen(&loft.for_rug(ben).await, "rod"), "none");
}

#[tokio::test]
async fn sound_frames_come_before_worn_ones_and_no_frame_that_is_out_broken_or_retired_is_put_in() {
    let mut loft = Loft::new().await;
    let of = |tag: &str, condition| FrameFields { condition, ..usual(tag) };
    loft.frame(&of("A", Condition::Broken)).await;
    loft.frame(&of("B", Condition::Worn)).await;
    let sound = loft.frame(&of("C", Condition::Sound)).await;
    let retired = loft.frame(&of("D", Condition::Sound)).await;
    let mut tx = loft.world.store().write(actor(loft.me)).await.unwrap();
    assert!(tx.retire_frame(retired, 1).await.unwrap());
    tx.commit().await.unwrap();
    let (ana, ben) = (loft.rug("Ana", &usual("")).await, loft.rug("Ben", &usual("")).await);
    let page = loft.for_rug(ana).await;
    assert_eq!(tags(&page), ["C", "B"]);
    assert_eq!(chosen(&page, "frame"), sound.to_string());
    let frame = sound.to_string();
    loft.hand_out(ana, &[("frame", &frame), ("rod", "none"), ("due_on", "2026-10-21")]).await.is(303);
    let page = loft.for_rug(ben).await;
    assert_eq!(tags(&page), ["B"]);
    let asked = loft.browser.get(&format!("/rugs/{ben}/hand-out?frame={sound}")).await.is(200);
    assert_ne!(chosen(&asked, "frame"), sound.to_string(), "asked for, but out");
}

#[tokio::test]
async fn the_nearest_of_the_larger_frames_comes_first_and_smaller_ones_last() {
    let mut loft = Loft::new().await;
    loft.frame(&usual("A-small")).await;
    loft.frame(&FrameFields { span_nm: large("").span_nm * 2, ..large("B-huge") }).await;
    loft.frame(&large("C-large")).await;
    let want = FrameFields { nails: 40, ..large("") };
    let rug = loft.rug("Ana", &want).await;
    assert_eq!(tags(&loft.for_rug(rug).await), ["C-large", "B-huge", "A-small"]);
}

/// A class with an accepted timetable: Ana has her turn on S1 on 7 and 14 October, Ben on 21 and 28.
async fn timed(loft: &mut Loft) -> (String, FrameId, [RugId; 2]) {
    let me = (loft.me, &mut loft.browser);
    let (_, path, frames, rugs) = lay(loft.world.store(), me, 6, &["S1"], &["Ana", "Ben"]).await;
    let page = loft.browser.get(&format!("{path}/timetable/new?sure=half&gap=0")).await.is(200);
    let fields = accepted(&page);
    let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
    loft.browser.post(&format!("{path}/timetable"), &fields).await.is(303);
    (path, frames[0], [rugs[0], rugs[1]])
}

#[tokio::test]
async fn whose_turn_it_is_comes_first_with_its_frame_and_its_last_day() {
    let mut loft = Loft::new().await;
    // Older than all of the class, and fits as well: it would come first by waiting.
    loft.rug("Dora", &usual("")).await;
    let (_, frame, [ana, ben]) = timed(&mut loft).await;
    // A frame that would come first by its tag.
    loft.frame(&usual("A1")).await;
    let from_frame = loft.browser.get(&format!("/frames/{frame}/hand-out")).await.is(200);
    assert_eq!(chosen(&from_frame, "rug"), ana.to_string());
    assert_eq!(from_frame.field("due_on"), "2026-10-14");
    let page = loft.for_rug(ben).await;
    assert_eq!(chosen(&page, "frame"), frame.to_string());
    assert_eq!(page.field("due_on"), "2026-10-28");
    // When its days are over, a turn says nothing about until when: three weeks.
    loft.world.clock.set("2026-12-01T12:00:00Z".parse().unwrap());
    assert_eq!(loft.for_rug(ben).await.field("due_on"), "2026-12-22");
}

#[tokio::test]
async fn only_a_turn_of_somebody_else_that_still_waits_within_that_time_is_in_the_way() {
    let mut loft = Loft::new().await;
    let (path, frame, [ana, _]) = timed(&mut loft).await;
    let frame = frame.to_string();
    let with =
        |due: &'static str| [("frame", frame.as_str()), ("rod", "none"), ("rods", "2"), ("due_on", due)];
    let dora = loft.rug("Dora", &usual("")).await;
    let told = loft.hand_out(dora, &with("2026-10-21")).await.is(422).error("against");
    assert!(told.contains("Ana") && !told.contains("Ben"), "Ben’s turn begins the day it comes back: {told}");
    let told = loft.hand_out(dora, &with("2026-10-22")).await.is(422).error("against");
    assert!(told.contains("Ana") && told.contains("Ben"), "{told}");
    // Ana’s own turn isn’t in her way, and it ends before Ben’s begins.
    loft.hand_out(ana, &with("2026-10-21")).await.is(303);
    let loan = loft.browser.get("/loans").await.is(200);
    let take_back = loan.attr("a[href*='/take-back']", "href");
    let back = [("condition", "sound"), ("rug", "weaving"), ("rods_bent", "0"), ("rods_missing", "0")];
    loft.browser.post(&take_back, &back).await.is(303);
    // She has begun: her place waits for nothing.
    loft.hand_out(dora, &with("2026-10-20")).await.is(303);
    let loan = loft.browser.get("/loans").await.is(200);
    loft.browser.post(&loan.attr("a[href*='/take-back']", "href"), &back).await.is(303);
    loft.hand_out(dora, &with("2026-10-28")).await.is(422).error("against");
    // In a closed term nobody waits.
    let term = path.rsplit('/').next().unwrap().parse().unwrap();
    let mut tx = loft.world.store().write(actor(loft.me)).await.unwrap();
    tx.close_term(term, true).await.unwrap();
    tx.commit().await.unwrap();
    loft.hand_out(dora, &with("2026-10-28")).await.is(303);
}
