//! The rows as a weaver reads them off, in the order of weaving. Which strand shows where is `pattern`'s.
use super::pattern::{AtRod, BandRows, ColourId, Face, Pattern};
use crate::units::Length;
use serde::Serialize;

/// Rows that are woven alike.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadingLine {
    /// Whether they belong to the half that is woven from the far end.
    pub from_far_end: bool,
    /// The first of them, counted from 1 at the end that they are woven from.
    pub first: u32,
    /// The last of them.
    pub last: u32,
    /// How far the weaving reaches after them, from the end that they are woven from.
    pub until: Length,
    /// The colours of the two strands.
    pub colours: [ColourId; 2],
    /// Width of the strips, where they are not the rug's.
    pub strip: Option<Length>,
    /// The strand, 0 or 1, that lies over the weaver's leftmost unit in odd rows and in even ones.
    pub at_left: [usize; 2],
}

impl ReadingLine {
    /// How many rows they are.
    pub const fn rows(&self) -> u32 {
        self.last + 1 - self.first
    }

    /// The colours over the weaver's leftmost unit in odd rows and in even ones, where they differ; nothing where one
    /// colour is all that shows.
    pub fn colours_at_left(&self) -> Option<[ColourId; 2]> {
        (self.colours[0] != self.colours[1]).then(|| self.at_left.map(|strand| self.colours[strand]))
    }
}

/// The lines to read off, neighbouring bands of the same strips in one line.
pub fn lines(pattern: &Pattern) -> Vec<ReadingLine> {
    let half = pattern.first_half();
    let mut lines: Vec<ReadingLine> = Vec::new();
    let mut woven = 0;
    for (_, BandRows { from_row, to_row, colours, strip, .. }) in pattern.in_weaving_order() {
        let from_far_end = from_row >= half;
        let first = 1 + woven - if from_far_end { half } else { 0 };
        woven += to_row - from_row;
        let (until, _) = pattern.woven_to(woven);
        let last = first + (to_row - from_row) - 1;
        match lines.last_mut() {
            Some(line) if (line.from_far_end, line.colours, line.strip) == (from_far_end, colours, strip) => {
                (line.last, line.until) = (last, until);
            }
            _ => {
                let at_left = at_left(pattern, from_far_end);
                lines.push(ReadingLine { from_far_end, first, last, until, colours, strip, at_left });
            }
        }
    }
    lines
}

/// The strand over the weaver's leftmost unit in the first and the second row from an end; rows go on like these two.
fn at_left(pattern: &Pattern, from_far_end: bool) -> [usize; 2] {
    let rows = pattern.rows();
    [0, 1].map(|row| {
        // The frame is turned for the far end: its rows count from the last, and the left is the right of before.
        let (row, unit) = if from_far_end {
            (rows.saturating_sub(row + 1), pattern.units.saturating_sub(1))
        } else {
            (row, 0)
        };
        // A half of one row has no second; it would be the other strand where they trade places.
        let first = pattern.strand(row, unit, Face::Front);
        if (row >= pattern.first_half()) == from_far_end {
            return first;
        }
        if pattern.at_rod == AtRod::Trade { 1 - first } else { first }
    })
}
