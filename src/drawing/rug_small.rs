//! A rug as small as a stamp, for lists: its bands at their heights, each with the stripes that two weft strands make. No plan is
//! needed for it, and no row is counted.
use std::fmt::Write;

use super::rug_face::escape;
use crate::planning::colour::Hex;
use crate::units::Length;

/// Its size in its own units.
const WIDTH: f64 = 24.0;
const HEIGHT: f64 = 32.0;

/// A band.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stripe {
    /// Its height.
    pub height: Length,
    /// The colour of one weft strand.
    pub first: Hex,
    /// That of the other.
    pub other: Hex,
}

/// The picture, with its colours in words for those who don't see it; nothing where the bands have no height.
pub fn svg(bands: &[Stripe], colours: &str) -> String {
    let whole: f64 = bands.iter().map(|band| band.height.nm() as f64).sum();
    if whole <= 0.0 {
        return String::new();
    }
    let mut out = format!(
        "<svg class=\"rug-small\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" preserveAspectRatio=\"none\" role=\"img\" aria-label=\"{}\">",
        escape(colours)
    );
    let mut from = 0.0;
    for band in bands {
        let to = from + band.height.nm() as f64 / whole * HEIGHT;
        // Writing to a string can't fail.
        let _ = write!(
            out,
            "<rect y=\"{from:.2}\" width=\"{WIDTH}\" height=\"{:.2}\" fill=\"{}\"/>",
            to - from,
            band.first
        );
        if band.other != band.first {
            let rows = std::iter::successors(Some(from + 1.5), |at| Some(at + 2.0));
            let mut stripes = String::new();
            for at in rows.take_while(|at| at + 0.5 <= to) {
                let _ = write!(stripes, "M0 {at:.2}h{WIDTH}");
            }
            // A band too low for a stripe is halved.
            if stripes.is_empty() {
                let _ = write!(stripes, "M0 {:.2}h{WIDTH}", f64::midpoint(from, to));
            }
            let _ = write!(out, "<path d=\"{stripes}\" stroke=\"{}\"/>", band.other);
        }
        from = to;
    }
    out.push_str("</svg>");
    out
}
