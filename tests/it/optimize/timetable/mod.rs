//! Timetables: rules kept, bounds valid, and the best against trying everything. Random terms against another solver are in
//! `tests/outside/timetable.py`.
mod judge;

use proptest::prelude::*;
use serde_json::{Value, json};
use thrumhall::optimize::timetable::{
    Frame, Placed, Problem, Rug, Solution, USUAL_NODES, place_more, solve as search,
};

use self::judge::{Term, Worth};
use crate::support::named::assert_names;
use crate::support::solve::{Dice, solve};

fn solved(problem: &Problem) -> Solution {
    problem.check().unwrap();
    let answer = search(problem, USUAL_NODES, &mut || true);
    assert_eq!(problem.holds(&answer.placed, &answer.rods), Ok(()), "{problem:?}");
    assert!(answer.bound >= answer.priority);
    answer
}

fn rug(fits: &[usize], meetings: u32, (earliest, latest): (u32, u32), priority: u32) -> Rug {
    Rug { fits: fits.to_vec(), meetings, earliest, latest, priority, ..Rug::default() }
}

fn problem(meetings: u32, frames: usize, rugs: Vec<Rug>) -> Problem {
    Problem { meetings, frames: vec![Frame::default(); frames], rugs, ..Problem::default() }
}

#[test]
fn more_priority_comes_before_more_rugs_and_both_before_sooner() {
    let one = problem(4, 1, vec![rug(&[0], 4, (1, 4), 5), rug(&[0], 2, (1, 4), 2), rug(&[0], 2, (1, 4), 2)]);
    let answer = solved(&one);
    assert_eq!((answer.priority, answer.bound, answer.proven), (5, 5, true));
    let sooner = problem(5, 1, vec![rug(&[0], 3, (1, 5), 1), rug(&[0], 2, (1, 5), 1)]);
    let answer = solved(&sooner);
    assert_eq!((answer.priority, answer.last_sum), (2, 2 + 5), "the shorter goes first");
}

#[test]
fn a_replan_disturbs_as_few_as_it_can() {
    let before = |frame, from| Some((frame, from));
    let mut rugs = vec![rug(&[0, 1], 3, (1, 6), 1), rug(&[0, 1], 3, (1, 6), 1), rug(&[0, 1], 3, (1, 6), 1)];
    (rugs[0].before, rugs[1].before, rugs[2].before) = (before(0, 1), before(0, 4), before(1, 4));
    // Nobody moves, although the third could be done sooner.
    let answer = solved(&problem(6, 2, rugs.clone()));
    assert_eq!((answer.changes, answer.placed[2].unwrap().from), (0, 4));
    // The first frame breaks for the last three meetings: one moves, and only that one.
    let mut broken = problem(6, 2, rugs);
    broken.frames[0].closed = vec![4, 5, 6];
    let answer = solved(&broken);
    assert_eq!((answer.changes, answer.priority), (1, 3));
    assert_eq!(answer.placed[1], Some(Placed { frame: 1, from: 1, to: 3 }));
}

#[test]
fn what_is_out_stays_and_the_absent_take_longer() {
    let mut out = rug(&[0], 9, (1, 5), 1);
    out.fixed = Some((0, 1));
    let mut away = rug(&[1], 2, (1, 5), 1);
    away.absent = vec![1, 3];
    let answer = solved(&problem(5, 2, vec![out, away]));
    assert_eq!(answer.placed[0], Some(Placed { frame: 0, from: 1, to: 5 }), "cut off at the last meeting");
    assert_eq!(answer.placed[1], Some(Placed { frame: 1, from: 2, to: 4 }));
}

#[test]
fn rods_are_counted_and_frames_rest_between_rugs() {
    let with_rods = |mut rug: Rug| {
        rug.rods = Some(vec![0]);
        rug
    };
    let mut few = problem(2, 2, vec![rug(&[0, 1], 2, (1, 2), 1), rug(&[0, 1], 2, (1, 2), 1)]);
    few.rugs = few.rugs.into_iter().map(with_rods).collect();
    few.rods = vec![vec![1]];
    assert_eq!(solved(&few).priority, 1);
    let mut rest = problem(5, 1, vec![rug(&[0], 2, (1, 5), 1), rug(&[0], 2, (1, 5), 1)]);
    rest.gap = 1;
    let answer = solved(&rest);
    let mut starts: Vec<u32> = answer.placed.iter().flatten().map(|placed| placed.from).collect();
    starts.sort_unstable();
    assert_eq!(starts, [1, 4]);
    rest.gap = 2;
    assert_eq!(solved(&rest).priority, 1);
}

#[test]
fn a_long_rod_serves_a_short_need_and_is_kept_to_the_end() {
    let mut one = problem(2, 2, vec![rug(&[0, 1], 2, (1, 2), 1), rug(&[0, 1], 2, (1, 2), 1)]);
    // Short rods for both frames; only long ones are there.
    one.frames.iter_mut().for_each(|frame| frame.rods = vec![0, 1]);
    one.rods = vec![vec![0], vec![2]];
    let answer = solved(&one);
    assert_eq!((answer.priority, answer.rods), (2, vec![Some(1), Some(1)]));
    // One of each: the second that asks for long ones alone waits.
    one.rods = vec![vec![1], vec![1]];
    one.rugs[0].rods = Some(vec![1]);
    assert_eq!(solved(&one).rods, [Some(1), Some(0)]);
    one.rugs[1].rods = Some(vec![1]);
    assert_eq!(solved(&one).priority, 1);
    // Nobody changes rods on the way: a pair is free at each meeting, but none for both.
    let mut change = problem(2, 1, vec![rug(&[0], 2, (1, 2), 1)]);
    change.frames[0].rods = vec![0, 1];
    change.rods = vec![vec![1, 0], vec![0, 1]];
    assert_eq!(solved(&change).priority, 0);
    let places = [Some(Placed { frame: 0, from: 1, to: 2 })];
    assert!(change.holds(&places, &change.rods_for(&places)).is_err());
}

#[test]
fn both_aims_have_a_bound_where_the_work_is_cut_short() {
    let rugs = (0..40).map(|n| rug(&[n % 5, (n + 2) % 5], 1 + (n as u32 * 7) % 4, (1, 8), 1 + n as u32 % 3));
    let crowded = problem(8, 5, rugs.collect());
    let (hasty, best) = (search(&crowded, 1, &mut || true), solved(&crowded));
    assert!(hasty.bound >= best.priority && best.priority >= hasty.priority);
    assert!(hasty.gaps().iter().all(|gap| (0.0..=1.0).contains(gap)));
    assert!(best.late_bound <= best.late && best.gaps()[1] <= 0.02, "{best:?}");
    // What is asked for more keeps what there is.
    let mut more = crowded.clone();
    more.frames.push(Frame::default());
    more.rugs.iter_mut().for_each(|rug| rug.fits.push(5));
    let with = place_more(&more, &best, USUAL_NODES, &mut || true);
    assert_eq!(more.holds(&with.placed, &with.rods), Ok(()));
    assert!(with.priority > best.priority);
}

#[test]
fn stopped_at_once_it_still_answers_and_bounds() {
    let rugs = (0..12).map(|n| rug(&[0, 1], 2 + n % 3, (1, 8), 1 + n)).collect();
    let hasty = problem(8, 2, rugs);
    let answer = search(&hasty, USUAL_NODES, &mut || false);
    assert_eq!(hasty.holds(&answer.placed, &answer.rods), Ok(()));
    let best = solved(&hasty);
    assert!(!answer.proven && answer.priority <= best.priority && answer.bound >= best.priority);
}

#[test]
fn what_makes_no_sense_is_refused() {
    let refused = |rug: Rug| problem(5, 2, vec![rug]).check().unwrap_err().to_string();
    assert_names(&refused(rug(&[0], 0, (1, 5), 1)), &["meetings", "0", "1", "1000"]);
    assert!(refused(rug(&[2], 1, (1, 5), 1)).contains("a frame that there isn't"));
    assert!(refused(rug(&[0], 1, (0, 5), 1)).contains("its first possible meeting is 0"));
}

fn tried(term: &Term, nodes: Option<u64>) -> (Worth, Value) {
    let mut asked = serde_json::to_value(term).unwrap();
    if let Some(nodes) = nodes {
        asked["nodes"] = nodes.into();
    }
    let answer = solve("timetable", &asked);
    let places = term.places(&answer);
    let wrong = term.wrong(&places);
    assert!(wrong.is_empty(), "{wrong:?}\n{asked}\n{answer}");
    let worth = term.worth(&places);
    let last: u64 = places.iter().flatten().map(|place| u64::from(place.to)).sum();
    assert_eq!(answer["score"], json!([worth.0, last]), "{asked}\n{answer}");
    assert_eq!(answer["changes"], json!(-worth.1), "{asked}\n{answer}");
    (worth, answer)
}

#[test]
fn small_terms_are_the_best_there_is() {
    let mut dice = Dice(11);
    let (mut fixed, mut moved, mut full) = (0, 0, 0);
    for case in 0..400 {
        let number = dice.within(1, 4);
        let term = judge::any(&mut dice, number);
        let (worth, answer) = tried(&term, None);
        let best = term.best();
        assert_eq!(worth, best, "case {case}: {term:?}\n{answer}");
        assert_eq!(
            (&answer["proven"], &answer["bound"]),
            (&json!(true), &json!(best.0)),
            "case {case}: {term:?}"
        );
        fixed += u32::from(term.fixed().iter().any(Option::is_some));
        moved += u32::from(worth.1 < 0);
        full += u32::from(answer["unplaced"] == json!([]));
    }
    assert!(fixed > 100 && moved > 50 && (50..350).contains(&full), "{fixed} {moved} {full}: an odd mix");
}

#[test]
fn a_search_that_gives_up_keeps_the_rules_bounds_and_proves_nothing_that_is_not_so() {
    let mut dice = Dice(12);
    let mut given_up = 0;
    for case in 0..120 {
        let term = judge::any(&mut dice, 5);
        let best = term.best();
        for nodes in [1, 2] {
            let (worth, answer) = tried(&term, Some(nodes));
            let bound = answer["bound"].as_u64().unwrap();
            assert!(bound >= best.0, "case {case}: the bound {bound} is under {best:?}: {term:?}");
            if answer["proven"] == json!(true) {
                assert_eq!(worth, best, "case {case}: said to be proven: {term:?}");
                assert_eq!(bound, best.0, "case {case}: {term:?}");
            } else {
                given_up += 1;
            }
        }
    }
    assert!(given_up > 0, "no search gave up");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Source: Kleinberg and Tardos, Algorithm Design, §4.1: fixed stretches need as many frames as the most that overlap.
    #[test]
    fn as_many_frames_as_overlap_are_enough_and_no_fewer(
        stretches in prop::collection::vec((1..10_u32, 1..5_u32), 1..14),
    ) {
        let stretches: Vec<(u32, u32)> =
            stretches.into_iter().map(|(from, length)| (from, (from + length - 1).min(10))).collect();
        let overlap = |meeting: u32| stretches.iter().filter(|(from, to)| (*from..=*to).contains(&meeting)).count();
        let most = (1..=10).map(overlap).max().unwrap();
        let term = |frames: usize| {
            let all: Vec<usize> = (0..frames).collect();
            let rugs = stretches.iter().map(|&(from, to)| rug(&all, to - from + 1, (from, to), 1)).collect();
            problem(10, frames, rugs)
        };
        prop_assert_eq!(solved(&term(most)).priority, stretches.len() as u64);
        if most > 1 {
            prop_assert!(solved(&term(most - 1)).priority < stretches.len() as u64);
        }
    }
}
