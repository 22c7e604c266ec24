//! The strip's way round the nails of a winding: its length, strand by strand. Which nails, is `winding`'s to say; the
//! drawing is `drawing::warp_path`'s.
use super::Wrap;
use super::nail::{Nail, Turn};
use crate::planning::warp;
use crate::units::Length;
use serde::Serialize;
use std::f64::consts::TAU;

/// A warp's way from nail to nail, tied at the first and the last.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WarpPath {
    /// The nails in order.
    pub turns: Vec<Turn>,
    /// Nails that a longer row has left over.
    pub idle: Vec<Nail>,
    /// Nails per row and pitch, where equal rows face each other and are evenly spaced.
    pub evenly: Option<(u32, Length)>,
    /// Whether two strips are wound together.
    pub doubled: bool,
    /// Whole turns round each nail beyond passing by.
    pub extra_wraps: u32,
}

/// One strand between two nails, as a taut strip lies: tangent to both.
struct Tangent {
    length: f64,
    /// Its direction, as an angle.
    towards: f64,
}

impl WarpPath {
    /// Warp strands: two for each stretch between nails where the warp is doubled.
    pub fn strands(&self) -> u32 {
        let stretches = self.turns.len().saturating_sub(1) as u32;
        if self.doubled { 2 * stretches } else { stretches }
    }

    /// Nails taken of both rows together.
    pub fn nails(&self) -> u32 {
        self.turns.len() as u32
    }

    /// Nails taken of one row, of the one with more of them.
    pub fn nails_per_end(&self) -> u32 {
        let far = self.turns.iter().filter(|turn| turn.nail.far).count() as u32;
        far.max(self.nails() - far)
    }

    /// The trade's rule of thumb, a span for every nail taken: `2·n·L` for a plain warp. Common practice, no source.
    pub fn rule_of_thumb(&self, span: Length) -> Length {
        span * i64::from(self.nails()) * if self.doubled { 2 } else { 1 }
    }

    /// The length of strip along the whole way, tails included; of both strips together where the warp is doubled.
    ///
    /// A plain warp has the closed form of [`warp::path()`]. Any other is followed nail by nail: a taut strip lies in common
    /// tangents of circles of radius `ρ` about the nails, `√(D² − 4ρ²)` where it turns the other way at the next nail and `D`
    /// where it turns the same way, and in arcs of `ρ` times the angle it turns through. Geometry; for a plain warp both
    /// agree to better than 0.1 % on usual frames.
    pub fn length(&self, span: Length, wrap: &Wrap) -> Length {
        let rho = wrap.radius().mm();
        let inner = f64::from(self.nails().saturating_sub(2));
        let once = match self.evenly {
            Some((nails, pitch)) => warp::path(span, pitch, nails, wrap),
            None => Length::millimetres(self.followed(span, rho)) + wrap.tail * 2,
        };
        let wound = once + Length::millimetres(TAU * rho * inner * f64::from(self.extra_wraps));
        if self.doubled { wound * 2 } else { wound }
    }

    /// Each strand's length from where it leaves one nail to where it meets the next.
    pub fn strand_lengths(&self, span: Length, wrap: &Wrap) -> Vec<Length> {
        let tangents = self.tangents(span.mm(), wrap.radius().mm());
        tangents.iter().map(|tangent| Length::millimetres(tangent.length)).collect()
    }

    fn followed(&self, span: Length, rho: f64) -> f64 {
        let tangents = self.tangents(span.mm(), rho);
        let straight: f64 = tangents.iter().map(|tangent| tangent.length).sum();
        let turned: f64 = tangents
            .windows(2)
            .enumerate()
            .map(|(i, pair)| {
                let angle =
                    (self.side(i + 1, span.mm()) * (pair[1].towards - pair[0].towards)).rem_euclid(TAU);
                // A strip that goes straight on turns through nothing, and rounding must not make it a whole turn.
                if angle > TAU - 1e-6 { 0.0 } else { angle }
            })
            .sum();
        straight + rho * turned
    }

    fn tangents(&self, span: f64, rho: f64) -> Vec<Tangent> {
        (1..self.turns.len())
            .map(|i| {
                let (x, y) = self.step(i - 1, i, span);
                let (distance, direction) = (x.hypot(y), y.atan2(x));
                let apart = (self.side(i, span) - self.side(i - 1, span)) * rho;
                Tangent {
                    length: (distance.powi(2) - apart.powi(2)).max(0.0).sqrt(),
                    towards: direction - (apart / distance.max(f64::MIN_POSITIVE)).clamp(-1.0, 1.0).asin(),
                }
            })
            .collect()
    }

    /// Which way the strip turns at a nail: 1 to the left, −1 to the right. At a tied end, and where it turns straight back,
    /// as a strip does that is wound from left to right.
    fn side(&self, i: usize, span: f64) -> f64 {
        let usual = if self.turns[i].nail.far { -1.0 } else { 1.0 };
        if i == 0 || i + 1 == self.turns.len() {
            return usual;
        }
        let (before, after) = (self.step(i - 1, i, span), self.step(i, i + 1, span));
        let cross = before.0 * after.1 - before.1 * after.0;
        if cross == 0.0 { usual } else { cross.signum() }
    }

    fn step(&self, from: usize, to: usize, span: f64) -> (f64, f64) {
        let (a, b) = (self.turns[from], self.turns[to]);
        let across = (f64::from(u8::from(b.nail.far)) - f64::from(u8::from(a.nail.far))) * span;
        ((b.at - a.at).mm(), across)
    }
}
