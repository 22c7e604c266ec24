//! The length of a plain warp, and the strips that are joined for it. Any other winding is `path`'s; what it weighs is for
//! `needs`.
mod nail;
pub mod nail_rows;
pub mod path;
pub mod winding;
pub mod yarn;

use crate::units::Length;
use std::f64::consts::PI;

/// How the strip lies at the nails and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wrap {
    /// Thickness of a nail.
    pub nail_diameter: Length,
    /// Thickness of the strip where it is wound taut.
    pub strip_thickness: Length,
    /// What is left for tying, at each end of the strip.
    pub tail: Length,
}

impl Wrap {
    /// The radius on which the strip's centre line turns, `ρ = (d + t)/2`.
    pub fn radius(&self) -> Length {
        (self.nail_diameter + self.strip_thickness).scale(0.5)
    }
}

/// Strands of a warp on two equal rows, tied at opposite corners: `2n − 1`.
pub const fn strands(nails: u32) -> u32 {
    (2 * nails).saturating_sub(1)
}

/// The length of strip along the whole path: `Σ√(D² − 4ρ²) + (S − 1)·π·ρ + 2·tail`, where `D` is the span for strands
/// between facing nails and `√(L² + p²)` for those that go on to the next nail.
///
/// The strip turns the other way at every nail, so the tangents cross; each turn counts as half a circle, which is
/// short by less than 0.1 % of a usual warp.
pub fn path(span: Length, pitch: Length, nails: u32, wrap: &Wrap) -> Length {
    let (span, pitch, rho) = (span.mm(), pitch.mm(), wrap.radius().mm());
    let strand = |distance: f64| (distance.powi(2) - 4.0 * rho.powi(2)).max(0.0).sqrt();
    let (straight, slant) = (f64::from(nails), f64::from(nails.saturating_sub(1)));
    let turns = f64::from(strands(nails).saturating_sub(1));
    let between = straight * strand(span) + slant * strand(span.hypot(pitch));
    Length::millimetres(between + turns * PI * rho) + wrap.tail * 2
}

/// What a ball of joined strips measures, `Σℓ − (m − 1)·j`; nothing for no strips.
pub fn ball(strips: &[Length], join: Length) -> Length {
    strips.iter().sum::<Length>() - strips.iter().skip(1).map(|_| join).sum()
}

/// A ball joined from strips that are cut already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BallOfStrips {
    /// Strips taken.
    pub strips: usize,
    /// Joins between them.
    pub joins: usize,
    /// What the ball measures; less than was wanted where all strips together are too short.
    pub length: Length,
}

/// The ball of the wanted length with the fewest joins, from strips of any lengths: the longest are taken first, and of
/// those that end it, the shortest that does.
pub fn ball_of_strips(strips: &[Length], wanted: Length, join: Length) -> BallOfStrips {
    let mut longest: Vec<Length> = strips.iter().copied().filter(|strip| *strip > join).collect();
    longest.sort_unstable_by(|a, b| b.cmp(a));
    let mut taken: Vec<Length> = Vec::new();
    for (i, &strip) in longest.iter().enumerate() {
        let made = ball(&taken, join);
        if made >= wanted && !taken.is_empty() {
            break;
        }
        let lacks = wanted - made + if taken.is_empty() { Length::ZERO } else { join };
        let last = longest[i..].iter().rev().find(|rest| **rest >= lacks);
        taken.push(*last.unwrap_or(&strip));
    }
    BallOfStrips { strips: taken.len(), joins: taken.len().saturating_sub(1), length: ball(&taken, join) }
}

/// Equal strips joined to at least a wanted length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Joined {
    /// Strips to cut.
    pub strips: u32,
    /// Joins between them.
    pub joins: u32,
    /// What the ball has beyond the wanted length.
    pub left_over: Length,
}

/// The fewest equal strips that make a ball of the wanted length; nothing when a strip isn't longer than its join.
pub fn joined(wanted: Length, strip: Length, join: Length) -> Option<Joined> {
    let gain = (strip - join).nm();
    if gain <= 0 || join < Length::ZERO {
        return None;
    }
    let strips = ((wanted - join).nm().max(1) as u64).div_ceil(gain as u64);
    let strips = u32::try_from(strips).ok()?;
    let made = strip * i64::from(strips) - join * i64::from(strips - 1);
    Some(Joined { strips, joins: strips - 1, left_over: made - wanted })
}
