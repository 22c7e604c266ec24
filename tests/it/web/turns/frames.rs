//! Which frames and rods a turn may have, and from when.
use thrumhall::store::frames::{Condition, FrameFields};
use thrumhall::store::people::Role;
use thrumhall::store::rods::RodAct;

use super::{Class, class, term};
use crate::support::actor;
use crate::support::browser::Page;
use crate::support::loft::{self, large, usual};
use crate::support::timetables::{help, turns, without};

#[tokio::test]
async fn a_frame_placed_in_another_term_isnt_offered_at_its_days() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    Class::are(&page, &[["S1", "Ana", "2026-10-07", "2026-10-14"]]);
    class.accept(&page).await;
    // The other term meets on the same Wednesdays.
    let (path, other) = term(&mut class.browser, "Flood", "2026-10-07", (4, 240)).await;
    let first = class.term;
    (class.term, class.path) = (other, path);
    class.weaver("Cleo", &usual("")).await;
    Class::are(&class.proposal().await, &[["S1", "Cleo", "2026-10-21", "2026-10-28"]]);
    // Once that term is closed its turns hold no frame.
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.close_term(first, true).await.unwrap();
    tx.commit().await.unwrap();
    Class::are(&class.proposal().await, &[["S1", "Cleo", "2026-10-07", "2026-10-14"]]);
}

#[tokio::test]
async fn a_frame_that_is_out_elsewhere_is_there_again_from_the_day_it_is_due() {
    let mut class = class(6).await;
    let frame = class.frame(&usual("S1")).await;
    class.rods(36.0, 8).await;
    let dora = loft::person(class.world.store(), Role::Weaver, "Dora").await;
    let theirs = loft::rug(class.world.store(), dora, "Elsewhere", &usual(""), None).await;
    class.weaver("Ana", &usual("")).await;
    class.hand_out(theirs, frame, None, "2026-10-21").await;
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-21", "2026-10-28"]]);
    // It is overdue: it may come back any day, so the next meeting is the first that it is counted on for.
    class.clock("2026-10-26T12:00:00Z");
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-28", "2026-11-04"]]);
}

#[tokio::test]
async fn rods_that_are_out_are_offered_to_nobody_until_they_are_due() {
    let mut class = class(6).await;
    class.frame(&usual("S1")).await;
    let second = class.frame(&usual("S2")).await;
    let rods = class.rods(36.0, 2).await;
    let dora = loft::person(class.world.store(), Role::Weaver, "Dora").await;
    let theirs = loft::rug(class.world.store(), dora, "Elsewhere", &usual(""), None).await;
    class.weaver("Ana", &usual("")).await;
    class.hand_out(theirs, second, Some(rods), "2026-10-20").await;
    let page = class.proposal().await;
    let found = turns(&page);
    assert_eq!((found.len(), found[0][2].as_str()), (1, "2026-10-21"), "the only rods are out: {found:?}");
    // Without those rods nothing is out that Ana needs.
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.count_rods(rods, RodAct::Bought, 2).await.unwrap();
    tx.commit().await.unwrap();
    Class::are(&class.proposal().await, &[["S1", "Ana", "2026-10-07", "2026-10-14"]]);
}

#[tokio::test]
async fn rods_in_use_by_the_class_itself_are_counted_by_what_went_out() {
    let mut class = class(6).await;
    let first = class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    let rods = class.rods(36.0, 2).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    // Two frames, one pair of rods: one after the other.
    let from = |page: &Page| turns(page).into_iter().map(|turn| turn[2].clone()).collect::<Vec<_>>();
    let mut starts = from(&class.proposal().await);
    starts.sort_unstable();
    assert_eq!(starts, ["2026-10-07", "2026-10-21"]);
    class.hand_out(ana, first, Some(rods), "2026-10-14").await;
    let page = class.proposal().await;
    assert_eq!(turns(&page)[0], ["S1", "Ana", "now", "2026-10-14"]);
    assert_eq!(turns(&page)[1][1..], ["Ben", "2026-10-21", "2026-10-28"], "Ana has the rods until then");
}

#[tokio::test]
async fn a_frame_that_went_without_rods_takes_none() {
    let mut class = class(6).await;
    let first = class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    class.rods(36.0, 2).await;
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    class.hand_out(ana, first, None, "2026-10-14").await;
    Class::are(
        &class.proposal().await,
        &[["S1", "Ana", "now", "2026-10-14"], ["S2", "Ben", "2026-10-07", "2026-10-14"]],
    );
}

#[tokio::test]
async fn bent_rods_and_odd_ones_make_no_pair_and_short_ones_serve_nobody() {
    let mut class = class(4).await;
    class.frame(&usual("S1")).await;
    class.frame(&usual("S2")).await;
    let rods = class.rods(36.0, 5).await;
    class.rods(24.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    let both = |page: &Page| turns(page).iter().filter(|turn| turn[2] == "2026-10-07").count();
    assert_eq!(both(&class.proposal().await), 2, "two pairs");
    class.bend(rods).await;
    assert_eq!(both(&class.proposal().await), 1, "three straight rods are one pair");
    class.bend(rods).await;
    let page = class.proposal().await;
    Class::are(&page, &[]);
    let why = without(&page);
    assert!(why.iter().all(|(_, why)| why.contains("no straight rods long enough")), "{why:?}");
    // A frame more would bring its own.
    let frame = help(&page).into_iter().find(|(what, _)| what.contains("frame")).unwrap();
    assert_eq!(frame.1, 2, "one after the other: {:?}", help(&page));
}

#[tokio::test]
async fn broken_and_retired_frames_are_offered_to_nobody_but_who_has_one_keeps_it() {
    let mut class = class(6).await;
    class.frame(&FrameFields { condition: Condition::Broken, ..usual("S1") }).await;
    let retired = class.frame(&usual("S2")).await;
    let third = class.frame(&usual("S3")).await;
    class.rods(36.0, 20).await;
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    assert!(tx.retire_frame(retired, 1).await.unwrap());
    tx.commit().await.unwrap();
    let (_, ana) = class.weaver("Ana", &usual("")).await;
    class.weaver("Ben", &usual("")).await;
    Class::are(
        &class.proposal().await,
        &[["S3", "Ana", "2026-10-07", "2026-10-14"], ["S3", "Ben", "2026-10-21", "2026-10-28"]],
    );
    // S3 breaks while Ana has it: she goes on, and Ben has none.
    class.hand_out(ana, third, None, "2026-10-14").await;
    let mut tx = class.world.store().write(actor(class.me)).await.unwrap();
    tx.change_frame(third, 1, &FrameFields { condition: Condition::Broken, ..usual("S3") }).await.unwrap();
    tx.commit().await.unwrap();
    let page = class.proposal().await;
    assert_eq!(turns(&page)[0], ["S3", "Ana", "now", "2026-10-14"]);
}

#[tokio::test]
async fn a_rug_goes_on_a_larger_frame_where_that_is_asked_and_never_on_a_smaller() {
    let mut class = class(6).await;
    class.frame(&large("L1")).await;
    class.rods(48.0, 8).await;
    class.weaver("Ana", &usual("")).await;
    let page = class.proposal().await;
    Class::are(&page, &[]);
    assert!(without(&page)[0].1.contains("no frame of its size"), "{:?}", without(&page));
    Class::are(
        &class.proposed("sure=half&gap=0&larger=yes").await,
        &[["L1", "Ana", "2026-10-07", "2026-10-14"]],
    );
    // Where both sizes are, the planned one serves as well as ever.
    class.frame(&usual("S1")).await;
    class.rods(36.0, 2).await;
    let page = class.proposed("sure=half&gap=0&larger=yes").await;
    assert_eq!(turns(&page)[0][1..], ["Ana", "2026-10-07", "2026-10-14"]);
    let mut other = class_of_large().await;
    let page = other.proposed("sure=half&gap=0&larger=yes").await;
    Class::are(&page, &[]);
    assert_eq!(without(&page).len(), 1);
}

/// A rug that wants a large frame where there is only a usual one.
async fn class_of_large() -> Class {
    let class = class(6).await;
    class.frame(&usual("S1")).await;
    class.rods(48.0, 8).await;
    class.weaver("Ana", &large("")).await;
    class
}
