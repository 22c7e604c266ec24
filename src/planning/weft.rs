//! Two twined weft strands: rows, lengths, take-up, joins. Which strand shows where is in `pattern`.
use crate::units::{Areal, Length};
use std::f64::consts::PI;

/// Rows per inch of the reference strip, 1½ in wide at 130 g/m². Common practice, no source; 3 to 5.
const REFERENCE_WIDTH: Length = Length::from_nm(38_100_000);
const REFERENCE_AREAL: Areal = Areal::from_gsm(130.0);

/// The width of a unit at the usual pitch: two strands each, 33 nails to 18 in. Common practice, no source.
pub const USUAL_UNIT: Length = Length::from_nm(18 * 25_400_000 / 33);

/// Warp units that a row passes, `⌈S/q⌉`.
pub const fn units(strands: u32, unit_size: u32) -> u32 {
    strands.div_ceil(unit_size)
}

/// Rows per inch for a strip, from the rows per inch of percale 1½ in wide: a strip packs as a round bundle, so rows go
/// with one over the square root of its mass per length.
pub fn rows_per_inch(reference: f64, width: Length, areal: Areal) -> f64 {
    let heavier = width.ratio(REFERENCE_WIDTH) * (areal.gsm() / REFERENCE_AREAL.gsm());
    reference / heavier.sqrt()
}

/// One strand, one row: `W·(1 + c) + turn`.
pub fn strand_per_row(width: Length, take_up: f64, turn: Length) -> Length {
    width.scale(1.0 + take_up) + turn
}

/// The take-up `c` that geometry gives for strands that make half a twist round each other per unit:
/// `√(p² + (πd/2)²)/p − 1`, with `p` the width of a unit and `d` the distance between the two strands across the warp.
///
/// The length of a helix; geometry, not a published rug rule.
pub fn take_up_from_geometry(unit_width: Length, between_strands: Length) -> f64 {
    let (p, d) = (unit_width.mm(), between_strands.mm());
    p.hypot(PI * d / 2.0) / p - 1.0
}

/// How much more strip each strand takes where the two turn once more between two units, by the take-up `c` of half turns that holds
/// there: `p·c·(c₂/c₁ − 1)`, with `c₁` by [`take_up_from_geometry`] and `c₂ = √(p² + (πd)²)/p − 1` for a whole turn to a unit.
///
/// Published check 3.16: a whole twist is the length of a helix that goes once round, `√(p² + (πd)²)`.
pub fn extra_turn(unit_width: Length, between_strands: Length, take_up: f64) -> Length {
    let half = take_up_from_geometry(unit_width, between_strands);
    let whole = take_up_from_geometry(unit_width, between_strands.scale(2.0));
    if half > 0.0 { unit_width.scale(take_up * (whole / half - 1.0)) } else { Length::ZERO }
}

/// What geometry says of the take-up of any bundles in any unit, as a factor on that of the usual ones: weft and warp of the
/// reference strip (1½ in wide at 130 g/m²) in units of [`USUAL_UNIT`]. [`take_up_from_geometry`] of one over that of the
/// other.
///
/// `between` is the distance between the two strands across the warp, `packing` how thick bundles are against half a gram
/// per cubic centimetre: the take-up of the usual bundles is known as they are, however they pack. Thicker bundles wave more,
/// wider units less; published check 10.11 holds: a flat sine of the same depth is shorter, and a round warp's helix isn't
/// exceeded.
pub fn take_up_factor(unit: Length, between: Length, packing: f64) -> f64 {
    let usual = bundle_thickness(REFERENCE_WIDTH, REFERENCE_AREAL).scale(2.0 * packing);
    take_up_from_geometry(unit, between) / take_up_from_geometry(USUAL_UNIT, usual)
}

/// The thickness of a strip that is crumpled to a round bundle, as weft and a wound warp are.
///
/// Cloth packs to about half a gram per cubic centimetre, a third of solid cotton; from memory.
pub fn bundle_thickness(width: Length, areal: Areal) -> Length {
    let mm2 = areal.gsm() * width.metres() / 0.5;
    Length::millimetres((4.0 * mm2 / PI).sqrt())
}

/// Rows from the start to a place, so that a band split in two has the rows of the whole.
pub fn rows_until(place: Length, rows_per_inch: f64) -> u32 {
    (place.in_inches() * rows_per_inch).round().max(0.0) as u32
}

/// Pieces of that length that a run of weft takes when each join loses `join`, as a smooth number.
pub fn pieces(run: Length, piece: Length, join: Length) -> f64 {
    run.ratio((piece - join).max(Length::from_nm(1)))
}
