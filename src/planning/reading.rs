//! The rows as a weaver counts them and reads them off, in the order of weaving. Which strand shows where is `pattern`'s.
use super::pattern::{AtRod, BandRows, ColourId, Face, Pattern};
use crate::units::Length;
use serde::Serialize;
use std::fmt;

/// A row's number, counted from the end that it is woven from: after the turn counting starts over. Every screen and paper
/// that names a row takes it from here.
///
/// # Examples
/// ```
/// use thrumhall::planning::pattern::{AtRod, Band, Pattern, Twining, WovenFrom};
/// use thrumhall::planning::reading::RowNumber;
/// use thrumhall::units::Length;
///
/// let twining =
///     Twining { strip: Length::inches(1.5), units: 5, at_rod: AtRod::Trade, from: WovenFrom::BothEnds };
/// let pattern = Pattern::new(&[Band::plain(Length::inches(5.0), [0, 1])], 4.0, twining);
/// assert_eq!(RowNumber::after(&pattern, 10).to_string(), "row 10");
/// assert_eq!(RowNumber::after(&pattern, 11).to_string(), "row 1 from the far end");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct RowNumber {
    /// Counted from 1; 0 before the first.
    pub number: u32,
    /// Whether it is counted from the far end.
    pub from_far_end: bool,
}

impl RowNumber {
    /// The last row after so many are woven, of both halves together.
    pub fn after(pattern: &Pattern, woven: u32) -> Self {
        let half = pattern.first_half();
        if woven > half {
            Self { number: woven - half, from_far_end: true }
        } else {
            Self { number: woven, from_far_end: false }
        }
    }

    /// The same in few words, for where room is short: `row 12`, `far-end row 12`.
    pub fn short(self) -> String {
        format!("{}row {}", if self.from_far_end { "far-end " } else { "" }, self.number)
    }
}

impl fmt::Display for RowNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "row {}{}", self.number, if self.from_far_end { " from the far end" } else { "" })
    }
}

/// Rows of one band that follow each other, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowStretch {
    /// Whether they are counted from the far end.
    pub from_far_end: bool,
    /// The first that is woven.
    pub first: u32,
    /// The last.
    pub last: u32,
    /// Where the first begins, from the start of the rug.
    pub begins: Length,
}

/// The rows of each band, the half from the start before the one from the far end; a band without rows has none.
pub fn rows_of_bands(pattern: &Pattern) -> Vec<Vec<RowStretch>> {
    let mut of_bands = vec![Vec::new(); pattern.bands.len()];
    let mut woven = 0;
    for (band, part) in pattern.in_weaving_order() {
        let first = RowNumber::after(pattern, woven + 1);
        woven += part.rows();
        let last = RowNumber::after(pattern, woven).number;
        let begins = if first.from_far_end { part.end } else { part.start };
        of_bands[band].push(RowStretch {
            from_far_end: first.from_far_end,
            first: first.number,
            last,
            begins,
        });
    }
    of_bands
}

/// A band's rows in words: `25–40`, `49–64, far end 45–64`.
pub fn rows_said(stretches: &[RowStretch]) -> String {
    let one = |rows: &RowStretch| {
        format!("{}{}–{}", if rows.from_far_end { "far end " } else { "" }, rows.first, rows.last)
    };
    if stretches.is_empty() {
        "none".to_owned()
    } else {
        stretches.iter().map(one).collect::<Vec<_>>().join(", ")
    }
}

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
    /// The units that show the same strand beside each other, from the weaver's left, in rows that are woven by a chart; else none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub across: Vec<UnitRun>,
}

/// Units beside each other that show the same strand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct UnitRun {
    /// How many.
    pub units: u32,
    /// The strand, 0 or 1.
    pub strand: usize,
}

impl ReadingLine {
    /// How many rows they are.
    pub const fn rows(&self) -> u32 {
        self.last + 1 - self.first
    }

    /// Their numbers: `5–8`, or `5` of one row.
    pub fn numbers(&self) -> String {
        if self.first == self.last {
            self.first.to_string()
        } else {
            format!("{}–{}", self.first, self.last)
        }
    }

    /// What shows across a row of a chart, from the weaver's left, with the colours' names: `3 cream, 2 navy`, where a line may end
    /// between counts, not within one.
    pub fn read_across(&self, name: impl Fn(ColourId) -> String) -> Option<String> {
        let run = |run: &UnitRun| format!("{}\u{a0}{}", run.units, name(self.colours[run.strand]));
        (!self.across.is_empty()).then(|| self.across.iter().map(run).collect::<Vec<_>>().join(", "))
    }

    /// The colours over the weaver's leftmost unit in odd rows and in even ones, where they differ; nothing where one
    /// colour is all that shows.
    pub fn colours_at_left(&self) -> Option<[ColourId; 2]> {
        (self.colours[0] != self.colours[1]).then(|| self.at_left.map(|strand| self.colours[strand]))
    }
}

/// The lines to read off, neighbouring bands of the same strips in one line; of a chart, a line for each row that differs from the one
/// before.
pub fn lines(pattern: &Pattern) -> Vec<ReadingLine> {
    let mut lines: Vec<ReadingLine> = Vec::new();
    let mut woven = 0;
    for (_, BandRows { from_row, to_row, colours, strip, .. }) in pattern.in_weaving_order() {
        let RowNumber { number: first, from_far_end } = RowNumber::after(pattern, woven + 1);
        if pattern.by_chart(from_row) {
            for i in 0..to_row - from_row {
                woven += 1;
                let row = if from_far_end { to_row - 1 - i } else { from_row + i };
                let across = across(pattern, row, from_far_end);
                let (number, (until, _)) = (first + i, pattern.woven_to(woven));
                match lines.last_mut() {
                    Some(line)
                        if (line.from_far_end, line.colours, line.strip)
                            == (from_far_end, colours, strip)
                            && line.across == across =>
                    {
                        (line.last, line.until) = (number, until);
                    }
                    _ => {
                        let at_left = [across.first().map_or(0, |run| run.strand); 2];
                        let (first, last) = (number, number);
                        lines.push(ReadingLine {
                            from_far_end,
                            first,
                            last,
                            until,
                            colours,
                            strip,
                            at_left,
                            across,
                        });
                    }
                }
            }
            continue;
        }
        woven += to_row - from_row;
        let (until, _) = pattern.woven_to(woven);
        let last = first + (to_row - from_row) - 1;
        match lines.last_mut() {
            Some(line)
                if (line.from_far_end, line.colours, line.strip) == (from_far_end, colours, strip)
                    && line.across.is_empty() =>
            {
                (line.last, line.until) = (last, until);
            }
            _ => {
                let at_left = at_left(pattern, from_far_end);
                let across = Vec::new();
                lines.push(ReadingLine { from_far_end, first, last, until, colours, strip, at_left, across });
            }
        }
    }
    lines
}

/// The runs of one strand across a row, counted from 0 at the start of the rug, from the left of the weaver, who has turned the frame
/// for the far end.
fn across(pattern: &Pattern, row: u32, from_far_end: bool) -> Vec<UnitRun> {
    let units = pattern.row_units(row).units();
    let mut runs: Vec<UnitRun> = Vec::new();
    for unit in 0..units {
        let seen = if from_far_end { units - 1 - unit } else { unit };
        let strand = pattern.strand(row, seen, Face::Front);
        match runs.last_mut() {
            Some(run) if run.strand == strand => run.units += 1,
            _ => runs.push(UnitRun { units: 1, strand }),
        }
    }
    runs
}

/// The strand over the weaver's leftmost unit in the first and the second row from an end; rows go on like these two.
fn at_left(pattern: &Pattern, from_far_end: bool) -> [usize; 2] {
    let rows = pattern.rows();
    [0, 1].map(|row| {
        // The frame is turned for the far end: its rows count from the last, and the left is the right of before.
        let (row, unit) = if from_far_end {
            {
                let row = rows.saturating_sub(row + 1);
                (row, pattern.row_units(row).units().saturating_sub(1))
            }
        } else {
            (row, 0)
        };
        // A half of one row has no second; it would be the other strand where they trade places.
        let first = pattern.strand_by_rod(row, unit);
        if (row >= pattern.first_half()) == from_far_end {
            return first;
        }
        if pattern.at_rod == AtRod::Trade { 1 - first } else { first }
    })
}
