//! Steps placed into meetings.
use super::{near, plan, small};
use proptest::prelude::*;
use thrumhall::planning::RugSpec;
use thrumhall::planning::pace::Pace;
use thrumhall::planning::schedule::{place, slots};
use thrumhall::planning::steps::StepKind;
use thrumhall::units::Minutes;

#[test]
fn a_small_rug_takes_four_evenings_of_two_hours() {
    let plan = plan(&RugSpec::plain(small()));
    let done = place(&plan.steps, &slots(&[Minutes::new(120.0); 6], None));
    near(done.lacking.get(), 0.0, 0.0);
    assert_eq!(done.steps[0].begins, Some(0));
    assert_eq!(done.steps.last().and_then(|step| step.ends), Some(3));
    assert_eq!(done.rows_by_slot[3..], [plan.weft.rows; 3]);
    assert!(done.rows_by_slot[0] > 0 && done.rows_by_slot[0] < done.rows_by_slot[1]);
}

#[test]
fn what_does_not_fit_is_said() {
    let plan = plan(&RugSpec::plain(small()));
    let work: Minutes = plan.steps.iter().map(|step| step.minutes).sum();
    let short = place(&plan.steps, &slots(&[Minutes::new(120.0); 2], None));
    near(short.lacking.get(), work.get() - 240.0, 1e-6);
    assert_eq!(short.steps.last().and_then(|step| step.ends), None);
    let none = place(&plan.steps, &[]);
    near(none.lacking.get(), work.get(), 1e-6);
    assert!(none.steps.iter().all(|step| step.begins.is_none()));
}

#[test]
fn home_hours_lie_between_meetings() {
    let slots = slots(&[Minutes::new(120.0); 3], Some(Minutes::new(60.0)));
    let seen: Vec<_> = slots.iter().map(|slot| (slot.meeting, slot.home)).collect();
    assert_eq!(seen, [(0, false), (0, true), (1, false), (1, true), (2, false)]);
}

#[test]
fn the_chance_to_finish_falls_with_the_meetings_left() {
    let plan = plan(&RugSpec::plain(small()));
    let weave = plan.minutes.weave.expected;
    let pace = Pace::believed(plan.weft.twists as f64, weave, 0.28);
    let chance = |meetings: usize| {
        let slots = slots(&vec![Minutes::new(120.0); meetings], None);
        let room: Minutes = slots.iter().map(|slot| slot.minutes).sum();
        pace.chance(plan.weft.twists as f64, room + plan.minutes.finish.expected * -1.0)
    };
    assert!(chance(1) < 0.05 && chance(6) > 0.9, "{} {}", chance(1), chance(6));
    assert!(chance(3) < chance(4));
    near(chance(0), 0.0, 0.0);
}

proptest! {
    #[test]
    fn no_minute_is_lost_or_made(lengths in prop::collection::vec(0.0..300.0_f64, 0..8)) {
        let plan = plan(&RugSpec::plain(small()));
        let meetings: Vec<_> = lengths.iter().copied().map(Minutes::new).collect();
        let done = place(&plan.steps, &slots(&meetings, None));
        let work: Minutes = plan.steps.iter().map(|step| step.minutes).sum();
        let room: f64 = lengths.iter().sum();
        prop_assert!((done.lacking.get() - (work.get() - room).max(0.0)).abs() < 1e-3);
        prop_assert!(done.rows_by_slot.is_sorted());
        let order: Vec<_> = done.steps.iter().filter_map(|step| step.begins).collect();
        prop_assert!(order.is_sorted());
    }
}

#[test]
fn the_steps_add_up_to_the_times() {
    let plan = plan(&RugSpec::plain(small()));
    let weaving = plan.steps.iter().filter(|step| matches!(step.kind, StepKind::Weave { .. }));
    near(weaving.map(|step| step.minutes.get()).sum(), plan.minutes.weave.expected.get(), 1e-9);
    let all: Minutes = plan.steps.iter().map(|step| step.minutes).sum();
    let time = &plan.minutes;
    near(all.get(), (time.prepare.expected + time.weave.expected + time.finish.expected).get(), 1e-9);
}
