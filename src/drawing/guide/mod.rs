//! The guide's drawings, each of one rug's own geometry: its strips, nails, strands, units, colours, and the rows that its pattern gives. For
//! the screen and for paper, where colours become the greys that are as light. What is done is said in `services::guide`.
mod cloth;
mod finish;
mod frame;
mod rows;
mod stretch;

use super::figure::{Anchor, Figure, Part, Shape};
use super::rug_face::Swatch;
use crate::planning::ColourId;
use crate::planning::colour::Hex;
use crate::planning::locking::stepping::BeginAt;
use crate::planning::plan::Plan;
use std::f64::consts::TAU;

/// How wide and high a drawing is.
const WIDE: f64 = 90.0;
const HIGH: f64 = 44.0;
/// Words of a drawing that is looked at from nearby, in points.
const NEARBY: f64 = 8.0;
/// Words of one that is looked at from a metre away, once it is as wide as a page.
const FROM_AFAR: f64 = 13.0;
/// Millimetres in a point (ISO 32000-1, 8.3.2.3: 72 points an inch).
const POINT: f64 = 25.4 / 72.0;

/// What the drawings of a rug are made of.
#[derive(Debug, Clone, Copy)]
pub struct Drawings<'a> {
    /// Its plan.
    pub plan: &'a Plan,
    /// Its colours, by [`ColourId`].
    pub palette: &'a [Swatch],
    /// The rod that its first row begins at.
    pub begin: BeginAt,
    /// Whether they are looked at from a metre away.
    pub afar: bool,
}

impl Drawings<'_> {
    const fn points(&self) -> f64 {
        if self.afar { FROM_AFAR } else { NEARBY }
    }

    fn hex(&self, colour: ColourId) -> Hex {
        self.palette.get(usize::from(colour)).map_or(Hex::rgb(0x80_8080), |swatch| swatch.hex)
    }

    /// A colour's name, not too long for a drawing.
    fn named(&self, colour: ColourId) -> String {
        let name = self.palette.get(usize::from(colour)).map_or("", |swatch| swatch.name.as_str());
        let short: String = name.chars().take(NAMED).collect();
        if short.len() < name.len() { format!("{}…", short.trim_end()) } else { short }
    }
}

/// So many letters of a colour's name stand in a drawing.
const NAMED: usize = 14;

fn figure(told: String) -> Figure {
    Figure { wide: WIDE, high: HIGH, told, ..Figure::default() }
}

/// Words below each other, the first line at a place.
fn words(figure: &mut Figure, [x, y]: [f64; 2], anchor: Anchor, lines: &[&str], points: f64) {
    for (line, says) in (0_u32..).zip(lines) {
        figure.word([x, y + f64::from(line) * points * POINT * 1.25], anchor, *says, points);
    }
}

/// The points of part of a circle, from one share of the whole to another, clockwise from its right.
fn arc([x, y]: [f64; 2], r: f64, from: f64, to: f64) -> Vec<[f64; 2]> {
    let at = |k: u32| {
        let angle = TAU * (from + (to - from) * f64::from(k) / 16.0);
        [x + r * angle.cos(), y + r * angle.sin()]
    };
    (0..=16).map(at).collect()
}

/// From one point to the next and on.
fn along(points: &[[f64; 2]]) -> Vec<[f64; 4]> {
    points.windows(2).map(|pair| [pair[0][0], pair[0][1], pair[1][0], pair[1][1]]).collect()
}

/// The points of a cubic curve.
fn curve(ends: [[f64; 2]; 4], from: f64, to: f64) -> Vec<[f64; 2]> {
    let at = |k: u32| {
        let t = from + (to - from) * f64::from(k) / 14.0;
        let s = 1.0 - t;
        let of = |i: usize| {
            s.powi(3) * ends[0][i]
                + 3.0 * s * s * t * ends[1][i]
                + 3.0 * s * t * t * ends[2][i]
                + t.powi(3) * ends[3][i]
        };
        [of(0), of(1)]
    };
    (0..=14).map(at).collect()
}

/// A thin light strip with its edges: a line that is seen on dark cloth and on light.
fn outlined(way: Vec<[f64; 2]>) -> Shape {
    Shape::Strip { part: Part::Other, way, wide: 0.7, hex: Hex::rgb(0xff_ffff), second: false }
}

fn arrow([x, y]: [f64; 2], [to_x, to_y]: [f64; 2]) -> Vec<[f64; 4]> {
    let angle = (to_y - y).atan2(to_x - x);
    let barb = |turn: f64| [to_x, to_y, to_x - 3.0 * (angle + turn).cos(), to_y - 3.0 * (angle + turn).sin()];
    vec![[x, y, to_x, to_y], barb(0.5), barb(-0.5)]
}
