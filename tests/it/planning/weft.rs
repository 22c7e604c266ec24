//! Rows, take-up and lengths of the weft.
use super::{frame, inches, near, plan, small};
use thrumhall::planning::weft::{
    bundle_thickness, rows_per_inch, rows_until, strand_per_row, take_up_factor, take_up_from_geometry, units,
};
use thrumhall::planning::{Kind, RugSpec};
use thrumhall::units::{Areal, Length};

/// Source: helix length (published check 3.15): √(p² + (πd/2)²) per unit; Hearle, Grosberg & Backer 1969 from memory.
#[test]
fn twined_take_up_is_a_helix() {
    for (p, d, length) in
        [(1.0, 0.25, 1.07434), (1.0, 0.5, 1.27155), (0.5, 0.25, 1.27155), (0.75, 0.30, 1.18101)]
    {
        near(1.0 + take_up_from_geometry(inches(p), inches(d)), length, 1e-5);
    }
    near(take_up_from_geometry(inches(1.0), Length::ZERO), 0.0, 1e-12);
}

/// Both strips of 1½ in at 130 g/m², as thick as they pack.
fn both_thick() -> Length {
    bundle_thickness(inches(1.5), Areal::from_gsm(130.0)) * 2
}

/// Source: published check 10.11, geometry: for d/p of 0.1, 0.25, 0.5 and 1 a half-turn helix takes up 0.0123, 0.0743, 0.2716,
/// 0.8621 and a flat sine of the same depth 0.0061, 0.0375, 0.1398, 0.4637.
#[test]
fn take_up_lies_between_a_flat_sine_and_a_helix() {
    for (ratio, helix, sine) in
        [(0.1, 0.0123, 0.0061), (0.25, 0.0743, 0.0375), (0.5, 0.2716, 0.1398), (1.0, 0.8621, 0.4637)]
    {
        near(take_up_from_geometry(inches(1.0), inches(ratio)), helix, 6e-5);
        near(flat_sine(1.0, ratio), sine, 6e-5);
    }
    // Units from a tenth of an inch to four: every pitch at which the usual strips can be woven, and beyond.
    let thick = both_thick();
    near(thick.mm(), 7.1, 0.01);
    for eightieths in 8..320 {
        let unit = f64::from(eightieths) / 80.0;
        let take_up = 0.28 * take_up_factor(inches(unit), thick, 1.0);
        let (least, most) = (flat_sine(unit, thick.in_inches()), take_up_from_geometry(inches(unit), thick));
        assert!((least..=most).contains(&take_up), "{unit} in: {least} {take_up} {most}");
    }
}

/// The way along half a wave of a sine as deep as the strands lie apart, less the way straight on, summed by Simpson's rule.
fn flat_sine(pitch: f64, depth: f64) -> f64 {
    let steps = 400;
    let slope = |i: i32| {
        let x = f64::from(i) / f64::from(steps);
        (1.0 + (std::f64::consts::PI * depth / 2.0 / pitch * (std::f64::consts::PI * x).cos()).powi(2)).sqrt()
    };
    let weight = |i: i32| {
        if i == 0 || i == steps {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    (0..=steps).map(|i| weight(i) * slope(i)).sum::<f64>() / (3.0 * f64::from(steps)) - 1.0
}

/// By hand, on 18 in: 0.28 at the usual 33 nails by common estimate; at a quarter of an inch a helix takes up 1.04, at two
/// inches 0.03; all within 2 % of what the helix has at the usual pitch itself, 0.284.
#[test]
fn take_up_follows_the_pitch() {
    let at = |nails: u32| {
        let plan = plan(&RugSpec::plain(frame(18.0, 33.0, nails)));
        assert_eq!(plan.warp.units, nails);
        plan.weft.take_up
    };
    near(at(33), 0.28, 1e-9);
    near(at(73), 1.04, 0.02);
    near(at(10), 0.03, 0.002);
    near(at(7), 0.0142, 0.0002);
    let all: Vec<f64> = (7..=73).map(at).collect();
    assert!(all.windows(2).all(|pair| pair[0] < pair[1]));
}

/// Common practice, no source: 1½ in percale strip makes four rows to the inch.
#[test]
fn rows_follow_the_square_root_of_mass_per_length() {
    let percale = Areal::from_gsm(130.0);
    near(rows_per_inch(4.0, inches(1.5), percale), 4.0, 1e-12);
    near(rows_per_inch(4.0, inches(0.375), percale), 8.0, 1e-12);
    near(rows_per_inch(4.0, inches(1.5), Areal::from_gsm(520.0)), 2.0, 1e-12);
    assert_eq!(rows_until(inches(32.0), 4.0), 128);
    assert_eq!(rows_until(inches(0.1), 4.0), 0);
}

/// Thicker strips wave more and wider units less; the usual pitch is the measure of both, however bundles pack.
#[test]
fn geometry_scales_the_take_up_from_the_usual_pitch() {
    let (thick, unit) = (both_thick(), inches(18.0 / 33.0));
    for packing in [0.67, 1.0, 1.5] {
        near(take_up_factor(unit, thick.scale(packing), packing), 1.0, 1e-6);
    }
    assert!(take_up_factor(unit, thick.scale(0.7), 1.0) < 0.6);
    assert!(take_up_factor(unit, thick.scale(1.6), 1.0) > 2.0);
    assert!(take_up_factor(unit.scale(0.5), thick, 1.0) > 3.0);
    assert!(take_up_factor(unit.scale(1.5), thick, 1.0) < 0.6);
}

/// A bundle is as thick as the square root of its mass per length, the warp's as the weft's: 3.55 mm for 1½ in at 130 g/m².
#[test]
fn the_warp_packs_as_the_weft_does() {
    let thick = |spec: RugSpec| plan(&spec).warp.wrap.strip_thickness.mm();
    near(thick(RugSpec::plain(small())), both_thick().mm() / 2.0, 1e-5);
    near(thick(RugSpec::plain(small())), 3.55, 0.01);
    let narrow = RugSpec { strip_width: inches(0.375), ..RugSpec::plain(small()) };
    near(thick(narrow), 3.5515 / 2.0, 1e-3);
    let heavy = RugSpec { warp_kind: Kind::Denim, strip_width: inches(1.0), ..RugSpec::plain(small()) };
    near(thick(heavy), 3.5515 * (330.0 / 130.0 / 1.5_f64).sqrt(), 1e-3);
    let own = RugSpec { warp_strip_width: Some(inches(0.75)), ..RugSpec::plain(small()) };
    near(thick(own), 3.5515 / 2.0_f64.sqrt(), 1e-3);
}

#[test]
fn one_row_is_the_width_the_take_up_and_a_turn() {
    assert_eq!(strand_per_row(inches(18.0), 0.28, inches(0.75)), inches(23.79));
    assert_eq!(units(65, 2), 33);
    assert_eq!(units(66, 2), 33);
    assert_eq!(units(65, 3), 22);
}
