//! A chart: a picture of two colours, unit by row, that a band repeats. Where two units beside each other show the same colour the
//! strands turn once more between them; how a rug is woven by it is `pattern`'s.
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A chart of the rug, as its place in the rug's own list of charts.
pub type ChartId = u16;

/// A picture of two colours. Its columns are warp units, from the left as seen from the front; its rows are those of the weaving, the
/// first at the bottom. It repeats over all of its band.
///
/// # Examples
/// ```
/// use thrumhall::planning::chart::Chart;
///
/// // `.` is the first strand's colour, `x` the other's; the last line is the row that is woven first.
/// let chart = Chart::parse("xx.\n.x.")?;
/// assert_eq!([0, 1, 2, 3].map(|unit| chart.strand(0, unit)), [0, 1, 0, 0]);
/// assert_eq!([0, 1, 2, 3].map(|unit| chart.strand(1, unit)), [1, 1, 0, 1]);
/// // A unit to the right: what was at the left edge is now one further.
/// assert_eq!([0, 1, 2].map(|unit| chart.clone().moved(1, 0).strand(0, unit)), [0, 0, 1]);
/// # Ok::<(), thrumhall::planning::chart::ChartError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "Written", into = "Written")]
pub struct Chart {
    /// The rows from the bottom, each from the left; true where the other strand shows. All are equally long, and there is one.
    rows: Vec<Vec<bool>>,
    /// How far it is moved in its band, less than it is wide and high.
    right: u32,
    up: u32,
}

/// Why a chart can't be. Lines are counted from the top, as they are written.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ChartError {
    /// There is nothing in it.
    #[error(
        "The chart is empty: write a line for each row, a dot for the first strand’s colour and an x for the other’s."
    )]
    Empty,
    /// A letter that means nothing.
    #[error(
        "Line {line} of the chart has “{found}”: only . for the first strand’s colour and x for the other’s are allowed."
    )]
    Letter {
        /// Which line.
        line: usize,
        /// What stands there.
        found: char,
    },
    /// A line that is shorter or longer than the first.
    #[error(
        "Line {line} of the chart is {given} units wide, but the first is {first}: all must be equally wide."
    )]
    Uneven {
        /// Which line.
        line: usize,
        /// How wide it is.
        given: usize,
        /// How wide the first is.
        first: usize,
    },
    /// Too wide.
    #[error("The chart is {given} units wide: {most} are the most.", most = Chart::MOST_ACROSS)]
    TooWide {
        /// How wide it is.
        given: usize,
    },
    /// Too high.
    #[error("The chart is {given} rows high: {most} are the most.", most = Chart::MOST_ROWS)]
    TooHigh {
        /// How high it is.
        given: usize,
    },
}

impl Chart {
    /// The widest, in units, and the highest, in rows: a larger picture is made of bands.
    pub const MOST_ACROSS: usize = 120;
    /// The most rows.
    pub const MOST_ROWS: usize = 120;

    /// A chart from a line for each row, the last woven first as the rug lies on the frame: `.` where the first strand shows, `x`
    /// where the other does. Empty lines before and after it are passed over.
    ///
    /// # Errors
    /// [`ChartError`] with the line that is wrong.
    pub fn parse(text: &str) -> Result<Self, ChartError> {
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        let Some(from) = lines.iter().position(|line| !line.is_empty()) else {
            return Err(ChartError::Empty);
        };
        let to = lines.iter().rposition(|line| !line.is_empty()).map_or(from, |last| last + 1);
        if to - from > Self::MOST_ROWS {
            return Err(ChartError::TooHigh { given: to - from });
        }
        let mut rows = Vec::new();
        for (line, text) in (from + 1..).zip(&lines[from..to]) {
            let cell = |found: char| match found {
                '.' => Ok(false),
                'x' | 'X' => Ok(true),
                found => Err(ChartError::Letter { line, found }),
            };
            let given = text.chars().count();
            let first = rows.first().map_or(given, Vec::len);
            if given > Self::MOST_ACROSS {
                return Err(ChartError::TooWide { given });
            }
            let row = text.chars().map(cell).collect::<Result<Vec<bool>, _>>()?;
            if given != first {
                return Err(ChartError::Uneven { line, given, first });
            }
            rows.push(row);
        }
        rows.reverse();
        Ok(Self { rows, right: 0, up: 0 })
    }

    /// Units across.
    pub fn across(&self) -> u32 {
        self.rows[0].len() as u32
    }

    /// Rows.
    pub fn high(&self) -> u32 {
        self.rows.len() as u32
    }

    /// How many units it is moved to the right in its band, and how many rows up.
    pub const fn moved_by(&self) -> [u32; 2] {
        [self.right, self.up]
    }

    /// The chart moved so much further in its band, less than nothing for to the left and down.
    #[must_use]
    pub fn moved(self, right: i64, up: i64) -> Self {
        let within = |now: u32, by: i64, size: u32| {
            (i64::from(now) + by % i64::from(size)).rem_euclid(i64::from(size)) as u32
        };
        let (across, high) = (self.across(), self.high());
        Self { right: within(self.right, right, across), up: within(self.up, up, high), ..self }
    }

    /// As it is written: a line for each row, from the top, without how far it is moved.
    pub fn lines(&self) -> Vec<String> {
        let line = |row: &Vec<bool>| row.iter().map(|&other| if other { 'x' } else { '.' }).collect();
        self.rows.iter().rev().map(line).collect()
    }

    /// The strand, 0 or 1, that shows over a unit of a row, both counted from 0 at the band's lower left as seen from the front.
    pub fn strand(&self, row: u32, unit: u32) -> usize {
        let at = |place: u32, moved: u32, size: u32| ((place % size + size - moved) % size) as usize;
        let (row, unit) = (at(row, self.up, self.high()), at(unit, self.right, self.across()));
        usize::from(self.rows[row][unit])
    }

    /// Left for right.
    #[must_use]
    pub fn mirrored(mut self) -> Self {
        self.rows.iter_mut().for_each(|row| row.reverse());
        self
    }

    /// Top for bottom.
    #[must_use]
    pub fn flipped(mut self) -> Self {
        self.rows.reverse();
        self
    }

    /// One colour for the other.
    #[must_use]
    pub fn exchanged(mut self) -> Self {
        self.rows.iter_mut().flatten().for_each(|cell| *cell = !*cell);
        self
    }

    /// Twice beside each other, to change one of the two; as it is where that would be too wide.
    #[must_use]
    pub fn twice_across(mut self) -> Self {
        if self.rows[0].len() * 2 <= Self::MOST_ACROSS {
            self.rows.iter_mut().for_each(|row| row.extend_from_within(..));
        }
        self
    }

    /// Twice above each other; as it is where that would be too high.
    #[must_use]
    pub fn twice_up(mut self) -> Self {
        if self.rows.len() * 2 <= Self::MOST_ROWS {
            self.rows.extend_from_within(..);
        }
        self
    }
}

/// A chart as it is kept: rows from the top.
#[derive(Serialize, Deserialize)]
struct Written {
    rows: Vec<String>,
    #[serde(default)]
    right: u32,
    #[serde(default)]
    up: u32,
}

impl TryFrom<Written> for Chart {
    type Error = ChartError;

    fn try_from(written: Written) -> Result<Self, ChartError> {
        Ok(Self::parse(&written.rows.join("\n"))?.moved(written.right.into(), written.up.into()))
    }
}

impl From<Chart> for Written {
    fn from(chart: Chart) -> Self {
        Self { rows: chart.lines(), right: chart.right, up: chart.up }
    }
}
