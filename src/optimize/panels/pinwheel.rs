//! Pinwheels: four parts round a fifth, so that no seam runs straight across.
//!
//! ```text
//! +-----------+------+
//! |     A     |      |     A reaches over D and E, B down beside A and E,
//! +------+----+  B   |     C back under E and B, D up beside E and C.
//! |      | E  |      |
//! |  D   +----+------+
//! |      |     C     |
//! +------+-----------+
//! ```
//! The mirror image makes the same rectangle of the same parts with the same seams, and needn't be looked for.
#![allow(clippy::many_single_char_names, reason = "the parts are called as in the picture")]
use super::search::{How, Made, Search};
use std::collections::HashMap;

/// Rectangles of one number of panels, by one of their sides.
type BySide = HashMap<i64, Vec<usize>>;

/// The rectangles of one number of panels, by width and by length.
struct Level {
    all: Vec<usize>,
    widths: Vec<i64>,
    by_width: BySide,
    by_length: BySide,
}

impl Level {
    fn of(search: &Search, panels: usize) -> Self {
        let all = search.sorted(panels);
        let (mut by_width, mut by_length) = (BySide::new(), BySide::new());
        for &at in &all {
            by_width.entry(search.made[at].width).or_default().push(at);
            by_length.entry(search.made[at].length).or_default().push(at);
        }
        let mut widths: Vec<i64> = by_width.keys().copied().collect();
        widths.sort_unstable();
        Self { all, widths, by_width, by_length }
    }
}

impl Search {
    /// Makes every pinwheel of so many panels from five smaller rectangles: exactly, as long as [`Search::is_spent`] says no.
    pub(super) fn turn(&mut self, panels: usize) {
        // Each of the others has one panel at least.
        let Some(most) = panels.checked_sub(4).filter(|most| *most > 0) else { return };
        let levels: Vec<Level> = (1..=most).map(|part| Level::of(self, part)).collect();
        for a in 1..=most {
            for d in 1..=most + 1 - a {
                for e in 1..=most + 2 - a - d {
                    for b in 1..=most + 3 - a - d - e {
                        let c = panels - a - d - e - b;
                        let [a, b, d, e] = [a, b, d, e].map(|part| &levels[part - 1]);
                        self.turn_of(a, b, c, d, e);
                    }
                }
            }
        }
    }

    /// Those of parts of so many panels each.
    fn turn_of(&mut self, a: &Level, b: &Level, c: usize, d: &Level, e: &Level) {
        for &at_a in &a.all {
            let one = self.made[at_a];
            for wide_d in d.widths.iter().copied().take_while(|wide| *wide < one.width) {
                if self.is_spent() {
                    return;
                }
                self.tried += 1;
                for &at_e in e.by_width.get(&(one.width - wide_d)).into_iter().flatten() {
                    let middle = self.made[at_e];
                    for &at_b in b.by_length.get(&(one.length + middle.length)).into_iter().flatten() {
                        let right = self.made[at_b];
                        if one.width + right.width <= self.most_width {
                            self.close([at_a, at_b, at_e], c, &d.by_width[&wide_d]);
                        }
                    }
                }
            }
        }
    }

    /// Looks for the part C that closes the ring of A, B, E and each of these for D.
    fn close(&mut self, [at_a, at_b, at_e]: [usize; 3], panels_of_c: usize, all_d: &[usize]) {
        let [a, b, e] = [at_a, at_b, at_e].map(|at| self.made[at]);
        for &at_d in all_d {
            let d = self.made[at_d];
            self.tried += 1;
            let size = (e.width + b.width, d.length - e.length);
            let Some(&at_c) = self.levels[panels_of_c - 1].get(&size) else { continue };
            let c = self.made[at_c];
            // Each part's seams within, and those between them: see `order` for how they are sewn.
            let seam = a.seam + b.seam + c.seam + d.seam + e.seam;
            let between = e.width + b.length + c.width + d.length + d.width;
            self.add(Made {
                width: a.width + b.width,
                length: a.length + d.length,
                seam: seam + between,
                how: How::Turned([at_a, at_b, at_c, at_d, at_e]),
            });
        }
    }

    /// Where the parts A to E of a pinwheel lie: from its left edge, from its start.
    pub(super) fn turned_places(&self, [a, b, _, d, _]: [usize; 5]) -> [[i64; 2]; 5] {
        let [a, b, d] = [a, b, d].map(|at| self.made[at]);
        [[0, 0], [a.width, 0], [d.width, b.length], [0, a.length], [d.width, a.length]]
    }
}
