//! Edge rods, seams and backing.
use super::{inches, near};
use proptest::prelude::*;
use thrumhall::planning::finish::{backing_edge, fringe_strip, slip_stitch_thread, whip_stitch};
use thrumhall::planning::rods::{
    SidePull, bow, least_length, second_moment, stock_for, ties, tying_distance,
};
use thrumhall::units::Length;

/// lbf per inch in newtons per metre: 4.448 221 615 260 5 N over 0.0254 m, exact.
const LB_IN: f64 = 4.448_221_615_260_5 / 0.0254;
/// Our steel is 200 × 10⁹ Pa, the published rows' is 29 × 10⁶ psi; the bow goes with one over it.
const STEEL: f64 = 29e6 * 6_894.757_293_168 / 200e9;

/// Source: any text on strength of materials (published check 6.1): I of ⅛ in round is 4.988 21 mm⁴.
#[test]
fn second_moment_of_a_round_bar() {
    near(second_moment(inches(0.125)) * 1e12, 4.988_21, 1e-5);
    near(second_moment(inches(0.25)) / second_moment(inches(0.125)), 16.0, 1e-9);
}

/// Source: Roark's Formulas for Stress and Strain, simply supported, even load (from memory; published check 6.3, 6.7,
/// 6.8): 36 in of ⅛ in rod.
#[test]
fn bow_of_a_rod() {
    for (pull, inches_bowed) in [(0.002, 0.12586), (0.005, 0.31464), (0.010, 0.62928)] {
        let bowed = bow(inches(36.0), inches(0.125), SidePull(pull * LB_IN));
        near(bowed.bow.in_inches() * (1.0 / STEEL), inches_bowed, 1e-5);
        assert!(bowed.holds);
    }
    let thick = bow(inches(36.0), inches(0.25), SidePull(0.05 * LB_IN));
    near(thick.bow.in_inches() / STEEL, 0.19665, 1e-5);
    assert!(!bow(inches(36.0), inches(0.125), SidePull(0.05 * LB_IN)).holds, "42 ksi is beyond the yield");
}

#[test]
fn a_rod_tied_at_the_distance_stays_straight() {
    let (thin, most) = (inches(0.125), inches(0.125));
    let every = tying_distance(thin, SidePull::WEFT, most);
    near(bow(every, thin, SidePull::WEFT).bow.in_inches(), 0.125, 1e-4);
    assert!(every < inches(33.0), "a ⅛ in rod needs tying between its ends");
    assert_eq!(ties(inches(33.0), every), 2);
    assert_eq!(ties(inches(10.0), every), 0);
}

/// Common practice, no source: a 33 in span takes 36 in rods.
#[test]
fn rods_to_buy() {
    assert_eq!(least_length(inches(33.0)), inches(36.0));
    let stock = stock_for(inches(36.0), 2).unwrap();
    assert_eq!((stock.waste, stock.bars, stock.bar), (Length::ZERO, 1, inches(72.0)));
    let stock = stock_for(inches(47.0), 2).unwrap();
    assert_eq!((stock.bar, stock.bars, stock.waste), (inches(48.0), 2, inches(2.0)));
    let short = stock_for(inches(20.0), 3).unwrap();
    assert_eq!((short.bar, short.bars, short.rods_per_bar), (inches(72.0), 1, 3));
    assert_eq!(stock_for(inches(73.0), 2), None);
    assert_eq!(stock_for(Length::ZERO, 2), None);
}

#[test]
fn seams_and_thread() {
    assert_eq!(backing_edge(inches(30.0), inches(18.0), inches(1.0)), inches(88.0));
    assert_eq!(backing_edge(inches(3.0), inches(18.0), inches(2.0)), inches(28.0));
    assert_eq!(fringe_strip(inches(4.0), inches(2.0)), inches(10.0));
    // 176 in sewn from threads that give 30 in each: six threads, a 6 in tail for each.
    assert_eq!(slip_stitch_thread(inches(88.0), 2.0, inches(36.0), inches(6.0)), inches(212.0));
    // A 3-4-5 helix: pitch 3, loop 4.
    near(whip_stitch(inches(30.0), inches(3.0), inches(1.0), inches(0.5)).in_inches(), 50.0, 1e-6);
}

proptest! {
    #[test]
    fn stock_always_yields_the_rods(least in 5.0..72.0_f64, count in 1..60_u32) {
        let stock = stock_for(inches(least), count).unwrap();
        prop_assert!(stock.bars * stock.rods_per_bar >= count);
        prop_assert!(inches(least) * i64::from(stock.rods_per_bar) <= stock.bar);
        prop_assert_eq!(stock.bar * i64::from(stock.bars), inches(least) * i64::from(count) + stock.waste);
    }
}
