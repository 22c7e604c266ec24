//! A ruler along a rug's picture, with where its bands meet and which of them is at hand; in millimetres, as the picture is.
use std::fmt::Write;

use crate::units::{Length, Units};

/// Room left of the rug for the figures, right of it for the mark of a band, and above and below for half a figure; each as a share
/// of the rug's length.
pub(super) const LEFT: f64 = 0.11;
pub(super) const RIGHT: f64 = 0.035;
pub(super) const ABOVE: f64 = 0.02;
/// The most figures on it.
const MOST_FIGURES: f64 = 9.0;
/// How far apart figures may stand, in inches and in centimetres.
const INCHES: [f64; 7] = [1.0, 2.0, 4.0, 6.0, 12.0, 24.0, 48.0];
const CENTIMETRES: [f64; 6] = [2.0, 5.0, 10.0, 20.0, 50.0, 100.0];

/// What stands along a rug.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ruler<'a> {
    /// What it counts.
    pub units: Units,
    /// Where one band ends and the next begins, from the start of the weaving.
    pub bounds: &'a [Length],
    /// From where to where the band reaches that is at hand.
    pub at_hand: Option<(Length, Length)>,
}

impl Ruler<'_> {
    /// The ruler of a rug so wide and high, whose start is at the bottom.
    pub(super) fn group(&self, wide: f64, high: f64) -> String {
        let (unit, steps) = match self.units {
            Units::Inches => (25.4, &INCHES[..]),
            Units::Metric => (10.0, &CENTIMETRES[..]),
        };
        let many = |step: &&f64| high / unit / **step <= MOST_FIGURES;
        let step = steps.iter().find(many).copied().unwrap_or(steps[steps.len() - 1]);
        let (size, reach) = (0.032 * high, 0.018 * high);
        let mut out =
            format!(r#"<g font-size="{size:.1}" text-anchor="end" fill="currentColor" aria-hidden="true">"#);
        let mut ticks = String::new();
        let figures = (high / unit / step).floor() as u32;
        // Writing to a string can't fail.
        for n in 0..=figures {
            let at = f64::from(n) * step;
            let y = high - at * unit;
            let _ = write!(ticks, "M{:.1} {y:.1}h{reach:.1}", -1.6 * reach);
            let _ = write!(out, r#"<text x="{:.1}" y="{:.1}">{at}</text>"#, -2.2 * reach, y + 0.35 * size);
        }
        let _ = write!(
            out,
            r#"<path d="{ticks}" stroke="currentColor" stroke-width="{:.2}"/></g>"#,
            0.003 * high
        );
        let mut meets = String::new();
        for bound in self.bounds {
            let _ = write!(meets, "M0 {:.1}h{wide:.1}", high - bound.mm());
        }
        if !meets.is_empty() {
            let _ = write!(
                out,
                r##"<path d="{meets}" stroke="#241f18" stroke-width="{:.2}"/><path d="{meets}" stroke="#fbf9f4" stroke-width="{:.2}"/>"##,
                0.006 * high,
                0.0035 * high,
            );
        }
        if let Some((from, to)) = self.at_hand {
            let _ = write!(
                out,
                r##"<rect data-at-hand="" x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="#a6541a"/>"##,
                wide + 0.012 * high,
                high - to.mm(),
                0.012 * high,
                (to - from).mm(),
            );
        }
        out
    }
}
