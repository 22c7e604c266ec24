//! Hatches: what a colour is on paper that is black and white. Each differs in tone or direction from those beside it, and
//! a paper that needs to name one has its letter. Which colour takes which is `drawing::hatch`'s.
use crate::drawing::hatch::COUNT;

/// One colour's hatch, by the colour's place in its rug's list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hatch(usize);

/// A family of parallel lines: their angle in degrees, the distance between them and their weight in millimetres, and a
/// dash with its gap.
type Family = (f64, f64, f64, Option<[f64; 2]>);

/// The hatches, in the order of `drawing::hatch::TONES`, like those of the drawings on the pages (`drawing::rug_face`).
const HATCHES: [&[Family]; COUNT] = [
    &[],
    &[(0.0, 0.55, 0.3, None)],
    &[(45.0, 1.1, 0.25, None)],
    &[(0.0, 1.5, 0.25, None)],
    &[(45.0, 1.6, 0.25, None), (-45.0, 1.6, 0.25, None)],
    &[(90.0, 1.3, 0.25, None)],
    &[(0.0, 1.2, 0.5, Some([0.5, 1.2]))],
    &[(0.0, 1.2, 0.3, None), (90.0, 1.2, 0.3, None)],
    &[(90.0, 0.6, 0.38, None)],
    &[(-45.0, 1.1, 0.25, None)],
    &[(45.0, 0.5, 0.38, None)],
    &[(90.0, 1.4, 0.65, Some([0.9, 1.5]))],
    &[(-45.0, 2.0, 0.7, None)],
    &[],
];
/// The one that is all black.
const SOLID: usize = 13;

/// Lines with their weight and dash.
pub(in crate::pdf) type Drawn = (Vec<[f64; 4]>, f64, Option<[f64; 2]>);

impl Hatch {
    /// How many there are.
    pub const COUNT: usize = COUNT;

    /// Its number, from 0.
    pub const fn number(self) -> usize {
        self.0
    }

    /// The hatch by its number, from 0.
    pub const fn of(number: usize) -> Self {
        Self(number % HATCHES.len())
    }

    /// The letter of the colour at this place: A to Z, then AA.
    pub fn letter(colour: usize) -> String {
        let one = |n: usize| char::from(b'A' + (n % 26) as u8);
        if colour < 26 {
            one(colour).to_string()
        } else {
            [one(colour / 26 - 1), one(colour)].iter().collect()
        }
    }

    pub(in crate::pdf) const fn is_solid(self) -> bool {
        self.0 == SOLID
    }

    /// Its lines within a rectangle. They are counted from the page's corner, so that areas beside each other match.
    pub(in crate::pdf) fn lines(self, area: [f64; 4]) -> Vec<Drawn> {
        HATCHES[self.0].iter().map(|family| (within(area, *family), family.2, family.3)).collect()
    }
}

/// The lines of a family, cut off at a rectangle's edges.
fn within([x, y, w, h]: [f64; 4], (angle, apart, _, _): Family) -> Vec<[f64; 4]> {
    let (dy, dx) = angle.to_radians().sin_cos();
    // A line is all points whose distance along the normal is one number.
    let along = |px: f64, py: f64| px * -dy + py * dx;
    let corners = [along(x, y), along(x + w, y), along(x, y + h), along(x + w, y + h)];
    let (least, most) = corners.iter().fold((f64::MAX, f64::MIN), |(a, b), c| (a.min(*c), b.max(*c)));
    let mut lines = Vec::new();
    let mut number = (least / apart).ceil();
    while number * apart < most {
        let (fx, fy) = (-dy * number * apart, dx * number * apart);
        // From that foot in both directions, kept within the rectangle (after Liang and Barsky).
        let (mut from, mut to) = (f64::MIN, f64::MAX);
        for (at, step, low, high) in [(fx, dx, x, x + w), (fy, dy, y, y + h)] {
            if step.abs() < 1e-9 {
                if at < low || at > high {
                    to = f64::MIN;
                }
                continue;
            }
            let ends = [(low - at) / step, (high - at) / step];
            from = from.max(ends[0].min(ends[1]));
            to = to.min(ends[0].max(ends[1]));
        }
        if from < to {
            lines.push([fx + dx * from, fy + dy * from, fx + dx * to, fy + dy * to]);
        }
        number += 1.0;
    }
    lines
}
