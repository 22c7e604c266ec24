//! Rows, take-up and lengths of the weft.
use super::{inches, near};
use thrumhall::planning::weft::{
    bundle_thickness, rows_per_inch, rows_until, strand_per_row, take_up_factor, take_up_from_geometry, units,
};
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

/// The default take-up of 0.28 is a reasoned estimate with a range of 0.15 to 0.45; geometry must agree for the usual
/// strip on the small frame.
#[test]
fn geometry_agrees_with_the_default_take_up() {
    let strip = bundle_thickness(inches(1.5), Areal::from_gsm(130.0));
    let unit = inches(18.0 / 33.0);
    let take_up = take_up_from_geometry(unit, strip * 2);
    assert!((0.15..=0.45).contains(&take_up), "{take_up}");
    let flat_warp = take_up_from_geometry(unit, strip + inches(0.06));
    assert!((0.15..=0.45).contains(&flat_warp), "{flat_warp}");
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

/// Thicker strips wave more and wider units less; the reference is the measure of both.
#[test]
fn geometry_scales_the_take_up_from_the_reference() {
    let (percale, unit, warp) = (Areal::from_gsm(130.0), inches(18.0 / 33.0), inches(0.06));
    near(take_up_factor(inches(1.5), percale, unit, 2, warp), 1.0, 1e-12);
    assert!(take_up_factor(inches(0.75), percale, unit, 2, warp) < 0.8);
    assert!(take_up_factor(inches(1.5), Areal::from_gsm(330.0), unit, 2, warp) > 1.5);
    let (one, three) = (unit.scale(0.5), unit.scale(1.5));
    assert!(take_up_factor(inches(1.5), percale, one, 1, warp) > 1.5);
    assert!(take_up_factor(inches(1.5), percale, three, 3, warp) < 0.6);
}

#[test]
fn one_row_is_the_width_the_take_up_and_a_turn() {
    assert_eq!(strand_per_row(inches(18.0), 0.28, inches(0.75)), inches(23.79));
    assert_eq!(units(65, 2), 33);
    assert_eq!(units(66, 2), 33);
    assert_eq!(units(65, 3), 22);
}
