//! Practice, pace and the chances they give.
use super::near;
use proptest::prelude::*;
use thrumhall::planning::RugSpec;
use thrumhall::planning::pace::{Gamma, Pace, against_practised, pace_reach, practice};
use thrumhall::planning::uncertainty::chance::{beta_below, gamma_below, ln_gamma, place_of};
use thrumhall::units::Minutes;

#[test]
fn ln_gamma_gives_factorials() {
    let mut factorial = 1.0_f64;
    for n in 1..30 {
        near(ln_gamma(f64::from(n)), factorial.ln(), 1e-12 * factorial.ln().abs().max(1.0));
        factorial *= f64::from(n);
    }
    near(ln_gamma(0.5), std::f64::consts::PI.sqrt().ln(), 1e-13);
}

/// Source: Gelman et al., Bayesian Data Analysis, 3rd ed., §2.6 (from memory, recomputed).
#[test]
fn a_gamma_belief_learns() {
    let prior = Gamma { shape: 3.0, exposure: 5.0 };
    for (events, exposure, shape, total, mean, above_one) in
        [(3.0, 2.0, 6.0, 7.0, 0.857, 0.30071), (30.0, 20.0, 33.0, 25.0, 1.32, 0.92854)]
    {
        let after = prior.after(events, exposure);
        assert_eq!(after, Gamma { shape, exposure: total });
        near(after.mean(), mean, 0.0005);
        near(1.0 - gamma_below(after.shape, after.exposure), above_one, 1e-5);
    }
    near(gamma_below(3.0, 5.0 * 1.44), 0.9745, 5e-5);
}

/// Source: NIST/SEMATECH e-Handbook §8.4.6, worked example: Gamma(4, 3309) for a failure rate has a median time between
/// failures of 901, lower limits of 600 at 80 % and 427 at 95 %, an upper one of 2422.
#[test]
fn quantiles_of_a_gamma_rate() {
    let rate_at = |chance| place_of(chance, |x| gamma_below(4.0, 3309.0 * x * 0.02)) * 0.02;
    for (chance, mtbf) in [(0.5, 901.13), (0.8, 599.995), (0.95, 426.77), (0.05, 2421.84)] {
        near(1.0 / rate_at(chance), mtbf, 0.01);
    }
}

/// Source: Gelman et al., §2.4 (from memory, recomputed): Beta(438, 544) has 95 % between 0.415 and 0.477.
#[test]
fn quantiles_of_a_beta_share() {
    for (chance, share) in [(0.025, 0.415), (0.975, 0.477)] {
        near(place_of(chance, |x| beta_below(438.0, 544.0, x)), share, 0.0005);
    }
    near(beta_below(2.0, 1.0, 0.3), 0.09, 1e-14);
    near(beta_below(1.0, 3.0, 0.9), 1.0 - 0.001, 1e-14);
}

/// Source: J. R. Crawford's unit form of the learning curve, from a NASA handbook's account (published check 10.19); Wright's
/// own law of 1936 is of the cumulative average, by which a second piece at 90 % takes 0.80. Tables in textbooks: 80 % gives 0.8, 0.64, 0.512 at the second, fourth,
/// eighth, 0.4765 at the tenth, 6.3154 for ten together; 90 % gives 0.7047 and 7.9945.
#[test]
fn each_doubling_takes_its_share_of_time() {
    for (n, rate, wanted) in [
        (2, 0.8, 0.8),
        (4, 0.8, 0.64),
        (8, 0.8, 0.512),
        (10, 0.8, 0.4765),
        (2, 0.9, 0.9),
        (4, 0.9, 0.81),
        (8, 0.9, 0.729),
        (10, 0.9, 0.7047),
    ] {
        near(practice(n, rate), wanted, 5e-5);
    }
    let together = |rate| (1..=10).map(|unit| practice(unit, rate)).sum::<f64>();
    near(together(0.8), 6.3154, 5e-5);
    near(together(0.9), 7.9945, 5e-5);
    near(practice(0, 0.9), 1.0, 0.0);
}

/// Common practice, no source: a first rug takes half again to twice as long as a practised weaver's.
#[test]
fn a_first_rug_takes_half_again_to_twice_as_long() {
    let [low, usual, high] = [0.87, 0.83, 0.79].map(|rate| against_practised(Some(0), rate));
    assert!((1.5..=1.55).contains(&low) && (1.7..=1.8).contains(&usual) && (2.0..=2.05).contains(&high));
    near(against_practised(None, 0.83), 1.0, 0.0);
    near(against_practised(Some(7), 0.79), 1.0, 1e-12);
    near(against_practised(Some(15), 0.83), 0.83, 1e-12);
    let plan = |rugs_before| super::plan(&RugSpec { rugs_before, ..RugSpec::plain(super::small()) }).minutes;
    let (first, practised) = (plan(Some(0)), plan(None));
    near(first.weave.expected.get() / practised.weave.expected.get(), 0.83_f64.powi(-3), 1e-9);
    // Weaving alone: strips are cut as fast by anybody.
    assert_eq!(first.prepare, practised.prepare);
    let wide = |range: thrumhall::planning::Range<Minutes>| range.p90.get() / range.low.get();
    assert!(
        wide(first.weave) > wide(plan(Some(2)).weave) && wide(plan(Some(2)).weave) > wide(practised.weave)
    );
    assert!(pace_reach(Some(0)) > pace_reach(Some(1)) && pace_reach(Some(20)) == pace_reach(None));
}

#[test]
fn two_evenings_of_log_make_the_pace_the_weavers_own() {
    // A doubt of a quarter up or down is what three hours of log leave.
    let class = Pace::believed(1400.0, Minutes::new(100.0), 0.256);
    near(class.worth().get(), 180.0, 5.0);
    near(class.quantile(0.5), 14.0, 0.01);
    let evenings = class.after(7.0 * 240.0, Minutes::new(240.0));
    assert!(evenings.twists_per_minute() < 10.5, "nearer to the log's 7 than to the class's 14");
    assert!(evenings.twists_per_minute() > 7.0);
}

#[test]
fn the_times_are_where_the_chance_reaches_them() {
    let pace = Pace::believed(4224.0, Minutes::new(370.0), 0.28);
    let time = pace.time(3000.0);
    assert!(time.low < time.expected && time.expected < time.p90);
    for (chance, minutes) in [(0.1, time.low), (0.5, time.expected), (0.9, time.p90)] {
        near(pace.chance(3000.0, minutes), chance, 1e-6);
    }
    let own = pace.after(2000.0, Minutes::new(176.0)).time(3000.0);
    assert!(own.p90.get() - own.low.get() < time.p90.get() - time.low.get(), "a log narrows the range");
}

proptest! {
    #[test]
    fn more_time_never_lowers_the_chance(
        twists in 0.0..30_000.0_f64, minutes in 0.0..3_000.0_f64, more in 0.0..600.0_f64, log in 0.0..20_000.0_f64,
    ) {
        let pace = Pace::believed(4224.0, Minutes::new(370.0), 0.28).after(log, Minutes::new(log / 11.0));
        let (less, longer) = (pace.chance(twists, Minutes::new(minutes)), pace.chance(twists, Minutes::new(minutes + more)));
        prop_assert!((0.0..=1.0).contains(&less) && less <= longer + 1e-9);
        prop_assert!(pace.chance(twists + 500.0, Minutes::new(minutes)) <= less + 1e-9);
    }
}
