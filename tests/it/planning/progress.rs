//! Where a rug is, and whether its cloth lasts.
use super::{inches, near, plan, small};
use proptest::prelude::*;
use thrumhall::planning::pattern::Band;
use thrumhall::planning::progress::{Entry, Progress, measured_by};
use thrumhall::planning::settings::Sample;
use thrumhall::planning::steps::StepKind;
use thrumhall::planning::sufficiency::{Sufficiency, shorter_by, sufficiency, used};
use thrumhall::planning::{Plan, RugSpec};
use thrumhall::units::{Mass, Minutes, Units};

/// 40 rows of 0 and 1, 48 of 1 and 2, 40 of 0 and 1.
fn banded() -> RugSpec {
    let bands = [(10.0, [0, 1]), (12.0, [1, 2]), (10.0, [0, 1])];
    let bands = bands
        .map(|(height, colours)| Band { height: inches(height), colours, strip: None, chart: None })
        .to_vec();
    RugSpec { bands, ..RugSpec::plain(small()) }
}

fn entry(rows: u32, minutes: f64) -> Entry {
    let minutes = (minutes > 0.0).then(|| Minutes::new(minutes));
    Entry { rows: Some(rows), minutes, ..Entry::default() }
}

fn weighed(rows: u32, left: &[(u16, f64)]) -> Entry {
    let left = left.iter().map(|&(colour, grams)| (colour, Mass::from_grams(grams))).collect();
    Entry { left, ..entry(rows, 0.0) }
}

fn known(log: &[Entry]) -> (Plan, Progress) {
    let spec = measured_by(&banded(), log, Units::Inches);
    let plan = plan(&spec);
    let progress = Progress::of(&spec, &plan, log, Units::Inches).unwrap();
    (plan, progress)
}

fn lasts(log: &[Entry]) -> Vec<Sufficiency> {
    let spec = measured_by(&banded(), log, Units::Inches);
    sufficiency(&spec, &plan(&spec), log, Units::Inches).unwrap()
}

#[test]
fn without_a_log_all_is_still_to_do_at_the_plans_pace() {
    let (plan, progress) = known(&[]);
    assert_eq!((progress.rows, progress.began, progress.timed_pace()), (0, false, None));
    near(progress.weave_left.expected.get() / plan.minutes.weave.expected.get(), 1.0, 0.03);
    // The plan's own range and the pace's agree: the belief is worth about three hours of log.
    near(progress.weave_left.p90.get() / plan.minutes.weave.p90.get(), 1.0, 0.12);
    assert!((120.0..300.0).contains(&progress.pace.worth().get()), "{:?}", progress.pace.worth());
    assert_eq!(progress.steps_left(&plan).len(), plan.steps.len());
}

#[test]
fn time_before_the_first_row_is_preparing() {
    let (plan, progress) = known(&[entry(0, 80.0), entry(40, 120.0), entry(64, 0.0), entry(80, 60.0)]);
    assert_eq!((progress.rows, progress.prepared.get(), progress.weaving.get()), (80, 80.0, 180.0));
    // Rows 40 to 64 were logged without their time, so they say nothing of the pace.
    let steady = 33.0 * 56.0 / 180.0;
    assert!(
        (0.85 * steady..=steady).contains(&progress.timed_pace().unwrap()),
        "the slow end is still to come"
    );
    assert!(progress.other_left.expected == plan.minutes.finish.expected, "preparing is done");
    let left = progress.steps_left(&plan);
    assert!(matches!(left[0].kind, StepKind::Weave { band: 1, from_row: 80, to_row: 88 }), "{left:?}");
    assert!(left.iter().all(|step| !matches!(step.kind, StepKind::CutStrips | StepKind::WindOn)));
}

#[test]
fn time_logged_without_a_place_counts_where_the_next_place_is() {
    let minutes = |minutes: f64| Entry { minutes: Some(Minutes::new(minutes)), ..Entry::default() };
    let (_, progress) = known(&[entry(10, 30.0), minutes(60.0), entry(40, 30.0)]);
    near(progress.weaving.get(), 120.0, 0.0);
    let (_, progress) = known(&[minutes(45.0)]);
    near(progress.prepared.get(), 45.0, 0.0);
}

#[test]
fn a_slow_weaver_is_believed_slow_after_two_evenings() {
    let usual = known(&[]).1;
    let (_, slow) = known(&[entry(20, 120.0), entry(40, 120.0)]);
    let rate = |progress: &Progress| progress.pace.twists_per_minute();
    assert!(rate(&slow) < 0.75 * rate(&usual), "{} {}", rate(&slow), rate(&usual));
    assert!(slow.timed_pace().unwrap() < rate(&slow), "the log alone says even less");
    let room = slow.weave_left.expected + slow.other_left.expected;
    near(slow.chance(room), 0.5, 0.06);
    assert!(slow.chance(Minutes::new(60.0)) < 0.01 && slow.chance(Minutes::new(4000.0)) > 0.99);
}

#[test]
fn rows_and_length_together_measure_the_rug() {
    let both = Entry { woven: Some(inches(16.0)), ..entry(80, 0.0) };
    let spec = measured_by(&banded(), std::slice::from_ref(&both), Units::Inches);
    assert_eq!(spec.sample, Some(Sample { woven: inches(16.0), rows: 80, mass: None }));
    let (plan, progress) = known(std::slice::from_ref(&both));
    assert_eq!((plan.weft.rows, progress.rows), (160, 80));
    // By length alone the rows are the plan's.
    let (_, progress) = known(&[Entry { woven: Some(inches(16.0)), ..Entry::default() }]);
    assert_eq!((progress.rows, progress.rows_in_all), (64, 128));
    // A longer sample stays, and its weight of a row stays anyway.
    let sample = |woven: f64| Sample { woven: inches(woven), rows: 100, mass: Some(Mass::from_grams(600.0)) };
    let longer = RugSpec { sample: Some(sample(20.0)), ..banded() };
    assert_eq!(measured_by(&longer, std::slice::from_ref(&both), Units::Inches), longer);
    let shorter = RugSpec { sample: Some(sample(14.0)), ..banded() };
    let weight = plan_weight(&measured_by(&shorter, std::slice::from_ref(&both), Units::Inches));
    near(weight, 160.0 * 6.0, 1.0);
    // A rug that was made shorter meanwhile can't hold that sample.
    let short = RugSpec {
        bands: vec![Band { height: inches(12.0), colours: [0, 1], strip: None, chart: None }],
        ..banded()
    };
    assert_eq!(measured_by(&short, &[both], Units::Inches), short);
}

fn plan_weight(spec: &RugSpec) -> f64 {
    plan(spec).cloth.weft.expected.grams()
}

#[test]
fn a_rug_woven_out_has_only_its_finishing_left() {
    let (plan, progress) = known(&[entry(128, 400.0)]);
    assert!(progress.began && progress.rows >= progress.rows_in_all);
    near(progress.weave_left.p90.get(), 0.0, 0.0);
    near(progress.chance(plan.minutes.finish.p90), 0.9, 1e-6);
    near(progress.chance(plan.minutes.finish.low), 0.1, 1e-6);
    assert!(progress.steps_left(&plan).iter().all(|step| !matches!(step.kind, StepKind::Weave { .. })));
}

/// By hand: 20 rows of one strand used 80 g, so a strand in a row takes 4 g, and the colour's 20 + 40 to come about 240 g.
#[test]
fn what_was_used_tells_what_is_still_needed() {
    let told = lasts(&[weighed(0, &[(0, 400.0)]), weighed(20, &[(0, 320.0)])]);
    let [colour] = told.as_slice() else { panic!("{told:?}") };
    assert_eq!((colour.colour, colour.at_row, colour.rows_to_come), (0, 20, 60));
    assert!(colour.needed.expected.grams() > 215.0 && colour.needed.expected.grams() < 240.0, "{colour:?}");
    assert!(colour.chance > 0.8 && colour.runs_out.is_none(), "{colour:?}");
    // Weighed once only, the plan's weight of a row counts: about 3 g.
    let told = lasts(&[weighed(20, &[(0, 320.0)])]);
    assert!(told[0].needed.expected.grams() < 200.0);
}

#[test]
fn a_colour_that_runs_out_is_told_with_its_row_and_what_helps() {
    // Strand 1 of colour 0 in the first 40 rows and the last 40; 3.1 g each: 30 g reach about ten rows.
    let told = lasts(&[weighed(30, &[(0, 30.0), (2, 1000.0)])]);
    let [short, plenty] = told.as_slice() else { panic!("{told:?}") };
    assert!(short.chance < 0.01 && short.short());
    let row = short.runs_out.unwrap();
    assert!((36..=88 + 3).contains(&row), "{row}");
    assert!(short.safe_until >= 30 && short.safe_until <= row);
    assert!(short.lacking().grams() > 100.0);
    let plan = plan(&banded());
    let shorter = shorter_by(short, &plan).in_inches();
    assert!(shorter > 5.0 && shorter < 12.5, "{shorter} of the 12.5 in to come");
    assert!(plenty.chance > 0.999 && !plenty.short() && shorter_by(plenty, &plan).in_inches() == 0.0);
    let nothing = lasts(&[weighed(30, &[(0, 0.0)])]);
    assert_eq!((nothing[0].chance, nothing[0].runs_out), (0.0, Some(30)));
}

#[test]
fn bands_already_woven_ask_for_nothing() {
    // Colour 2 lies in rows 40 to 88 only.
    let told = lasts(&[weighed(90, &[(2, 0.0), (1, 5.0)])]);
    let of = |colour| told.iter().find(|told| told.colour == colour).unwrap();
    assert_eq!((of(2).chance, of(2).rows_to_come, of(2).needed.p90), (1.0, 0, Mass::ZERO));
    assert!(of(1).chance < 0.01);
}

#[test]
fn a_ball_that_was_filled_up_teaches_nothing() {
    let plain = lasts(&[weighed(30, &[(0, 200.0)])]);
    let filled = lasts(&[weighed(10, &[(0, 50.0)]), weighed(30, &[(0, 200.0)])]);
    assert_eq!(plain[0].needed, filled[0].needed);
}

#[test]
fn the_weft_used_is_told_where_every_colour_was_weighed_twice() {
    let plan = plan(&banded());
    let first = weighed(0, &[(0, 300.0), (1, 500.0), (2, 200.0)]);
    let last = weighed(128, &[(0, 40.0), (1, 60.0), (2, 50.0)]);
    assert_eq!(used(&plan, &[first.clone(), last]), Some(Mass::from_grams(850.0)));
    assert_eq!(used(&plan, &[first.clone(), weighed(128, &[(0, 40.0), (1, 60.0)])]), None);
    assert_eq!(used(&plan, &[first]), None);
}

proptest! {
    #[test]
    fn more_cloth_never_lowers_the_chance(row in 0u32..128, grams in 0.0..900.0_f64, more in 0.0..300.0_f64) {
        for (less, richer) in
            lasts(&[weighed(row, &[(0, grams), (1, grams)])]).iter().zip(lasts(&[weighed(row, &[(0, grams + more), (1, grams + more)])]))
        {
            prop_assert!((0.0..=1.0).contains(&less.chance) && richer.chance >= less.chance - 1e-12);
            prop_assert!(less.needed.low <= less.needed.expected && less.needed.expected <= less.needed.p90);
            prop_assert!(less.safe_until >= row && richer.safe_until >= less.safe_until);
        }
    }

    #[test]
    fn more_rows_leave_less_to_do(rows in 0u32..120, more in 0u32..40, minutes in 30.0..400.0_f64) {
        let (plan, less) = known(&[entry(rows, minutes)]);
        let done: Minutes = less.steps_left(&plan).iter().map(|step| step.minutes).sum();
        let (_, far) = known(&[entry(rows, minutes), entry(rows + more, 0.0)]);
        let left: Minutes = far.steps_left(&plan).iter().map(|step| step.minutes).sum();
        // From the first row on preparing counts as done, so a step from none to some may only fall too.
        prop_assert!(left.get() <= done.get() + 1e-9);
        prop_assert!(far.weave_left.p90.get() <= less.weave_left.p90.get() * 1.001 + 1e-9);
    }
}
