//! What finished rugs teach, by published shrinkage and against what must hold.
use super::{frame, inches, near, plan, small};
use thrumhall::planning::learn::shrink::Shrunk;
use thrumhall::planning::learn::{Class, Figure, Finished, Outcome};
use thrumhall::planning::settings::Evidence;
use thrumhall::planning::settings::{Estimate, Parameter, Provenance, Sample};
use thrumhall::planning::workings::Origin;
use thrumhall::planning::{Kind, RugSpec};
use thrumhall::units::{Length, Mass, Minutes, Quantity, Units};

/// Hits of each of eighteen batters in their first 45 times at bat, and their share of hits over the season. Source:
/// B. Efron and C. Morris, J. Am. Stat. Assoc. 70 (1975) 311–319, table 1.
const HITS: [f64; 18] =
    [18., 17., 16., 15., 14., 14., 13., 12., 11., 11., 10., 10., 10., 10., 10., 9., 8., 7.];
const SEASON: [f64; 18] = [
    0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269, 0.230, 0.264, 0.256, 0.303, 0.264, 0.226,
    0.285, 0.316, 0.200,
];

/// Sources: Efron and Morris as above; Scientific American 236/5 (1977) 119–127: the shrinking factor is 0.212, the best
/// batter's 0.400 becomes 0.294, the last one's 0.156 becomes 0.242, and the sum of squared errors falls from 0.077 to
/// 0.022.
#[test]
fn eighteen_batters_shrink_as_published() {
    let seen = HITS.map(|hits| hits / 45.0);
    let mean = seen.iter().sum::<f64>() / 18.0;
    let noise = mean * (1.0 - mean) / 45.0;
    let scatter: f64 = seen.iter().map(|share| (share - mean).powi(2)).sum();
    let factor = 1.0 - 15.0 * noise / scatter;
    near(factor, 0.212, 0.0005);
    // The prior variance that shrinks so much; with it, ours is the same estimate.
    let between = noise * factor / (1.0 - factor);
    let covariance = (0..18).map(|i| (0..=i).map(|j| if i == j { between + noise } else { 0.0 }).collect());
    let off: Vec<f64> = seen.iter().map(|share| share - mean).collect();
    let shrunk = Shrunk::of(covariance.collect(), &off).unwrap();
    let estimates: Vec<f64> = (0..18)
        .map(|i| mean + shrunk.mean(&(0..18).map(|j| if i == j { between } else { 0.0 }).collect::<Vec<_>>()))
        .collect();
    near(estimates[0], 0.294, 0.0006);
    near(estimates[17], 0.242, 0.0006);
    let error = |of: &[f64]| of.iter().zip(SEASON).map(|(a, b)| (a - b).powi(2)).sum::<f64>();
    near(error(&seen), 0.077, 0.002);
    near(error(&estimates), 0.022, 0.002);
}

/// Arithmetic, Gelman et al., Bayesian Data Analysis, 3rd ed., §2.5: precisions add up.
#[test]
fn observations_of_one_mean_add_their_precisions() {
    let (prior, noise) = (0.04, 0.01);
    let covariance =
        (0..5).map(|i| (0..=i).map(|j| prior + if i == j { noise } else { 0.0 }).collect()).collect();
    let shrunk = Shrunk::of(covariance, &[0.1, 0.2, 0.3, 0.2, 0.2]).unwrap();
    let with = [prior; 5];
    let precision = 1.0 / prior + 5.0 / noise;
    near(shrunk.mean(&with), (5.0 / noise * 0.2) / precision, 1e-12);
    near(prior - shrunk.explained(&with, &with), 1.0 / precision, 1e-12);
    assert!(Shrunk::of(vec![vec![1.0], vec![2.0, 1.0]], &[0.0, 0.0]).is_none(), "no covariance");
}

fn outcome(rows: u32, woven: f64, grams: f64, weaving: f64) -> Outcome {
    Outcome {
        rows: Some(rows),
        woven: Some(inches(woven)),
        weft: Some(Mass::from_grams(grams)),
        weaving: Some(Minutes::new(weaving)),
        preparing: Some(Minutes::new(70.0)),
        ..Outcome::default()
    }
}

fn finished(spec: RugSpec, weaver: &str, outcome: Outcome) -> Finished {
    Finished { spec, weaver: weaver.into(), outcome }
}

fn large() -> RugSpec {
    RugSpec::plain(frame(24.0, 44.0, 43))
}

/// The class weaves closer and slower than the defaults have it: 150 rows in 32 in, 500 minutes.
fn close_and_slow(number: usize) -> Class {
    let all: Vec<Finished> = (0..number)
        .map(|i| finished(RugSpec::plain(small()), ["Ana", "Bo"][i % 2], outcome(150, 32.0, 830.0, 500.0)))
        .collect();
    Class::of(&all, Units::Inches)
}

fn taught(class: &Class, spec: &RugSpec, weaver: &str) -> RugSpec {
    RugSpec { known: class.settings(spec, weaver, Units::Inches), ..spec.clone() }
}

fn setting(spec: &RugSpec, dial: Parameter) -> Estimate {
    *spec.check(Units::Inches).unwrap().settings.get(dial)
}

#[test]
fn nothing_finished_teaches_nothing() {
    let spec = RugSpec::plain(small());
    let class = Class::of(&[], Units::Inches);
    assert!(class.settings(&spec, "Ana", Units::Inches).is_empty());
    let silent = [finished(spec.clone(), "Ana", Outcome::default())];
    assert!(Class::of(&silent, Units::Inches).settings(&spec, "Ana", Units::Inches).is_empty());
}

#[test]
fn a_class_that_weaves_closer_is_planned_closer_and_surer_with_each_rug() {
    let spec = RugSpec::plain(small());
    let mut before = (128, f64::INFINITY);
    for number in [1, 4, 12, 40] {
        let spec = taught(&close_and_slow(number), &spec, "Ana");
        let plan = plan(&spec);
        let width = plan.cloth.weft.p90.ratio(plan.cloth.weft.low);
        assert!(plan.weft.rows > before.0 && plan.weft.rows <= 150, "{} rows after {number}", plan.weft.rows);
        assert!(width < before.1, "{width} after {number}");
        before = (plan.weft.rows, width);
    }
    // What only the single rug decides is never learnt: a fifth of the hand's doubt and half of the cloth's.
    assert!(before.1 > 1.2, "{}", before.1);
}

#[test]
fn the_same_weaver_frame_and_cloth_tell_more_than_others() {
    let class = close_and_slow(1);
    let narrowest = |spec: &RugSpec, weaver: &str| {
        let Estimate { low, high, .. } = setting(&taught(&class, spec, weaver), Parameter::WeavingPace);
        high.number() / low.number()
    };
    let small = RugSpec::plain(small());
    let own = narrowest(&small, "Ana");
    assert!(own < narrowest(&small, "Cleo"));
    assert!(narrowest(&small, "Cleo") < narrowest(&large(), "Cleo"));
    let flannel = RugSpec { weft_kind: Kind::Flannel, ..large() };
    assert!(narrowest(&large(), "Cleo") < narrowest(&flannel, "Cleo"));
    let pace = |weaver: &str| setting(&taught(&class, &small, weaver), Parameter::WeavingPace).value.number();
    assert!(pace("Ana") > pace("Cleo") && pace("Cleo") > 1.0, "the slow weaver's own rug moves them most");
}

#[test]
fn the_evidence_is_counted_and_shown_where_the_number_is_worked_out() {
    let mut all: Vec<Finished> = (0..5)
        .map(|i| finished(RugSpec::plain(small()), ["Ana", "Bo"][i % 2], outcome(140, 32.0, 820.0, 400.0)))
        .collect();
    all.push(finished(large(), "Ana", outcome(180, 43.0, 1500.0, 650.0)));
    all.push(finished(
        RugSpec { weft_kind: Kind::Flannel, ..large() },
        "Cleo",
        outcome(160, 43.0, 1700.0, 600.0),
    ));
    let spec = taught(&Class::of(&all, Units::Inches), &RugSpec::plain(small()), "Ana");
    let evidence = Evidence { rugs: 7, size: 5, cloth: 6, weaver: 4 };
    assert_eq!(setting(&spec, Parameter::RowsPerInch).basis, Provenance::Learnt(evidence));
    assert_eq!(evidence.words(), "7 rugs, 5 of this frame size, 6 of this cloth, 4 of this weaver");
    let plan = plan(&spec);
    let learnt = |key: &str| {
        let working = plan.workings.iter().find(|working| working.key == key).unwrap();
        working
            .inputs
            .iter()
            .any(|input| matches!(input.origin, Origin::Learnt { evidence: e, .. } if e == evidence))
    };
    for key in ["weft.rows_per_inch", "cloth.weft", "minutes.weave", "minutes.cut"] {
        assert!(learnt(key), "{key}");
    }
}

#[test]
fn a_sample_beats_what_was_learnt_and_that_beats_the_default() {
    let spec = taught(&close_and_slow(12), &RugSpec::plain(small()), "Ana");
    assert!(matches!(setting(&spec, Parameter::RowsPerInch).basis, Provenance::Learnt(_)));
    let sample = Sample { woven: inches(4.0), rows: 13, mass: Some(Mass::from_grams(98.0)) };
    let sampled = RugSpec { sample: Some(sample), ..spec };
    for dial in [Parameter::RowsPerInch, Parameter::GramsPerRow] {
        assert_eq!(setting(&sampled, dial).basis, Provenance::Measured);
    }
    assert_eq!(plan(&sampled).weft.rows, 104);
}

#[test]
fn the_warp_that_was_used_teaches_the_give() {
    let usual = plan(&RugSpec::plain(small())).warp.length.expected;
    let long = Outcome { warp: Some(usual.scale(1.015)), ..Outcome::default() };
    let all: Vec<Finished> = (0..8).map(|_| finished(RugSpec::plain(small()), "Ana", long)).collect();
    let spec = taught(&Class::of(&all, Units::Inches), &RugSpec::plain(small()), "Ana");
    let give = setting(&spec, Parameter::Give);
    assert!(give.value.number() < 0.02 && matches!(give.basis, Provenance::Learnt(_)), "{give:?}");
    let told = plan(&spec).warp.length;
    assert!(told.expected > usual && told.expected < usual.scale(1.015));
}

/// One rug of the same weaver and cloth has half of the doubt in common with the next (0.15 of the class, 0.25 of the cloth, 0.10 of
/// the weaver); the rest is arithmetic, Gelman et al., Bayesian Data Analysis, 3rd ed., §2.5.
#[test]
fn a_rug_that_was_measured_after_the_wash_teaches_what_the_next_one_loses() {
    let washed = Outcome {
        woven: Some(inches(32.0)),
        finished_length: Some(inches(30.5)),
        finished_width: Some(inches(18.25)),
        ..Outcome::default()
    };
    let class = Class::of(&[finished(RugSpec::plain(small()), "Ana", washed)], Units::Inches);
    let spec = taught(&class, &RugSpec::plain(small()), "Ana");
    // What one loses is 1, 3 or 6 %, one in ten, half, nine in ten: on the logarithm of what is left that is straight on each side.
    let [down, up] = [0.99_f64, 0.94].map(|left| (left / 0.97).ln() / 1.281_551_565_545);
    let skew = (down + up) / (2.0 * std::f64::consts::PI).sqrt();
    let variance = f64::midpoint(down * down, up * up) - skew * skew;
    let by_hand = |finished: f64, woven: f64| {
        let noise = (0.25 / woven).powi(2);
        let off = (finished / woven / 0.97).ln() - skew;
        let ratio = (0.5 * variance / (variance + noise) * off + skew).exp();
        (ratio, (variance - 0.25 * variance * variance / (variance + noise)).sqrt())
    };
    for (dial, finished, woven) in [(Parameter::Shorter, 30.5, 32.0), (Parameter::Narrower, 18.25, 18.0)] {
        let (ratio, sd) = by_hand(finished, woven);
        let told = setting(&spec, dial);
        near(told.value.number(), 1.0 - 0.97 * ratio, 1e-9);
        near(told.high.number(), 1.0 - 0.97 * ratio * (-1.281_551_565_545 * sd).exp(), 1e-9);
        assert!(matches!(told.basis, Provenance::Learnt(_)));
    }
    let (before, after) = (plan(&RugSpec::plain(small())).finished, plan(&spec).finished);
    near(before.length.expected.in_inches(), 32.0 * 0.97, 1e-6);
    // Low and take are deciles of what has a mean and a variance, which a skew figure's ends are nearly.
    near(before.width.low.in_inches(), 18.0 * 0.94, 0.03);
    near(before.width.p90.in_inches(), 18.0 * 0.99, 0.03);
    assert!(after.length.expected < before.length.expected && after.width.expected > before.width.expected);
    assert_eq!(plan(&spec).weft.rows, 128, "what is woven is as it was");
}

#[test]
fn figures_that_cannot_be_leave_the_plan_alone() {
    let mad = outcome(3000, 1.0, 20.0, 1.0);
    let all: Vec<Finished> = (0..30).map(|_| finished(RugSpec::plain(small()), "Ana", mad)).collect();
    let spec = taught(&Class::of(&all, Units::Inches), &RugSpec::plain(small()), "Ana");
    assert!(plan(&spec).weft.rows > 0);
    let odd = RugSpec { length: Some(Length::inches(900.0)), ..RugSpec::plain(small()) };
    let class = Class::of(&[finished(odd.clone(), "Ana", mad)], Units::Inches);
    assert!(class.settings(&odd, "Ana", Units::Inches).is_empty(), "a rug that can't be planned");
}

#[test]
fn beliefs_are_ratios_to_the_default() {
    let rug = RugSpec::plain(small()).check(Units::Inches).unwrap();
    let beliefs = close_and_slow(12).beliefs(&rug, "Ana");
    let of = |figure| *beliefs.iter().find(|belief| belief.figure == figure).unwrap();
    let rows = of(Figure::Rows);
    assert!(rows.ratio > 1.05 && rows.ratio < 150.0 / 128.0, "{rows:?}");
    assert!(of(Figure::Weaving).ratio > 1.0 && beliefs.iter().all(|belief| belief.sd > 0.03));
    assert!(beliefs.iter().all(|belief| belief.figure != Figure::Warp), "nobody said anything of the warp");
    let spec = taught(&close_and_slow(12), &RugSpec::plain(small()), "Ana");
    let rows_per_inch = setting(&spec, Parameter::RowsPerInch).value;
    assert_eq!(rows_per_inch, Quantity::PerInch(4.0 * rows.ratio));
}
