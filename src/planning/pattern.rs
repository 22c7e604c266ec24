//! Bands of colour along a rug, and which strand shows where. What a colour weighs is for `needs`; drawing for `picture`.
use super::chart::{Chart, ChartId};
use super::locking::row_units::RowUnits;
use super::weft::rows_until;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A colour of the rug, as its place in the rug's own list of colours.
pub type ColourId = u16;

/// A stretch along the rug with one pair of strand colours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Band {
    /// Its height, along the warp.
    pub height: Length,
    /// The colours of the two weft strands.
    pub colours: [ColourId; 2],
    /// Width of its strips, where they are not the rug's, such as the thinner ones of a header.
    #[serde(default)]
    pub strip: Option<Length>,
    /// The picture that it is woven by, where it is one: which strand shows is then the chart's, not the rod's.
    #[serde(default)]
    pub chart: Option<ChartId>,
}

impl Band {
    /// A band of the rug's own strips, without a chart.
    pub const fn plain(height: Length, colours: [ColourId; 2]) -> Self {
        Self { height, colours, strip: None, chart: None }
    }

    /// The height that would take as many rows of the rug's own strips: a strip packs as a round bundle, so rows go with
    /// one over the square root of its width.
    pub fn scaled(&self, strip: Length) -> Length {
        self.strip.map_or(self.height, |own| self.height.scale(strip.ratio(own).sqrt()))
    }
}

/// Where the weaving begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, Hash)]
#[serde(rename_all = "snake_case")]
pub enum WovenFrom {
    /// At the start, and on to the other end.
    #[default]
    OneEnd,
    /// At both ends, to the middle; the frame is turned for the second half, which begins with the same strand.
    BothEnds,
    /// At both ends, to the middle; the second half begins with the other strand.
    BothEndsOtherFirst,
}

/// How a rug is twined, beside its bands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Twining {
    /// Width of the rug's strips.
    pub strip: Length,
    /// Warp units across.
    pub units: u32,
    /// What the strands do at the rod.
    pub at_rod: AtRod,
    /// Where the weaving begins.
    pub from: WovenFrom,
}

/// What the two strands do at the edge rod.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AtRod {
    /// They trade places: each unit shows the other strand in the next row, which makes checks.
    #[default]
    Trade,
    /// They keep their places: each unit shows the same strand in every row, which makes columns.
    Keep,
}

/// The side of a rug.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Face {
    /// The side towards the weaver.
    Front,
    /// The other side, seen from behind.
    Back,
}

/// A band in rows, counted from the start.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct BandRows {
    /// Where it begins, from the start of the weaving.
    pub start: Length,
    /// Where it ends, from the start of the weaving.
    pub end: Length,
    /// Rows before it.
    pub from_row: u32,
    /// Rows up to its end.
    pub to_row: u32,
    /// The colours of the two weft strands.
    pub colours: [ColourId; 2],
    /// Width of its strips, where they are not the rug's.
    pub strip: Option<Length>,
    /// The chart that it is woven by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub chart: Option<ChartId>,
}

impl BandRows {
    /// Rows in the band.
    pub const fn rows(&self) -> u32 {
        self.to_row - self.from_row
    }
}

/// The woven face, cell by cell: rows along the warp, warp units across.
///
/// # Examples
/// ```
/// use thrumhall::planning::pattern::{AtRod, Band, Face, Pattern, Twining, WovenFrom};
/// use thrumhall::units::Length;
///
/// let twining =
///     Twining { strip: Length::inches(1.5), units: 5, at_rod: AtRod::Trade, from: WovenFrom::OneEnd };
/// let checks = Pattern::new(&[Band::plain(Length::inches(1.0), [0, 1])], 4.0, twining);
/// let row = |row| (0..5).filter_map(|unit| checks.colour(row, unit, Face::Front)).collect::<Vec<_>>();
/// assert_eq!(checks.rows(), 4);
/// assert_eq!((row(0), row(1)), (vec![0, 1, 0, 1, 0], vec![1, 0, 1, 0, 1]));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pattern {
    /// The bands from the start, without gaps.
    pub bands: Vec<BandRows>,
    /// Warp units across, in the rows that are woven as the first.
    pub units: u32,
    /// What the strands do at the rod.
    pub at_rod: AtRod,
    /// Where the weaving begins.
    pub from: WovenFrom,
    /// The units of the first row, and of those that are woven as it.
    pub near: RowUnits,
    /// The units of the row at the far end, and of those that are woven from there.
    pub far: RowUnits,
    /// The charts that bands are woven by.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub charts: Vec<Chart>,
}

/// Where two halves meet that are woven from both ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Joint {
    /// Rows of the first half.
    pub row: u32,
    /// Whether the figure goes on across it as if the rug were woven in one direction.
    pub matches: bool,
}

impl Pattern {
    /// The pattern of bands that lie one after the other.
    pub fn new(bands: &[Band], rows_per_inch: f64, twining: Twining) -> Self {
        // Heights as if all were of the rug's own strips, so that a band split in two has the rows of the whole.
        let (mut start, mut reach) = (Length::ZERO, Length::ZERO);
        let bands = bands
            .iter()
            .map(|band| {
                let (end, from_row) = (start + band.height, rows_until(reach, rows_per_inch));
                reach += band.scaled(twining.strip);
                let to_row = rows_until(reach, rows_per_inch);
                let Band { colours, strip, chart, .. } = *band;
                let band = BandRows { start, end, from_row, to_row, colours, strip, chart };
                start = end;
                band
            })
            .collect();
        let units = RowUnits { strands: twining.units, size: 1, shift: 0 };
        Self {
            bands,
            units: twining.units,
            at_rod: twining.at_rod,
            from: twining.from,
            near: units,
            far: units,
            charts: Vec::new(),
        }
    }

    /// The same with the charts that its bands name.
    #[must_use]
    pub fn charted(self, charts: Vec<Chart>) -> Self {
        Self { charts, ..self }
    }

    /// The same with the strands of each unit, in the rows woven as the first and in those that lock the far end.
    #[must_use]
    pub fn over(self, near: RowUnits, far: RowUnits) -> Self {
        Self { units: near.units(), near, far, ..self }
    }

    /// The first row, counted from 0, that is woven as the far end's is: the last, or the first of the second half. The number of
    /// rows where none is.
    pub fn first_far_row(&self) -> u32 {
        if self.from == WovenFrom::OneEnd { self.rows().saturating_sub(1).max(1) } else { self.first_half() }
    }

    /// The units of a row, counted from 0.
    pub fn row_units(&self, row: u32) -> RowUnits {
        if row < self.first_far_row() { self.near } else { self.far }
    }

    /// All rows.
    pub fn rows(&self) -> u32 {
        self.bands.last().map_or(0, |band| band.to_row)
    }

    /// Rows of the first half, where the rug is woven from both ends; else all rows.
    pub fn first_half(&self) -> u32 {
        if self.from == WovenFrom::OneEnd { self.rows() } else { self.rows().div_ceil(2) }
    }

    /// Where the two halves of a rug woven from both ends meet, and whether the figure goes on there.
    ///
    /// The frame is turned half round for the second half, so its rows and its units are counted from the other end. Twined
    /// strands slant the same way when turned, so only which strand shows can fail to match; by a chart it can't.
    pub fn joint(&self) -> Option<Joint> {
        let row = self.first_half();
        if self.from == WovenFrom::OneEnd || row == 0 || row >= self.rows() {
            return None;
        }
        let [before, after] = [row - 1, row].map(|row| self.strand(row, 0, Face::Front));
        let by_chart = [row - 1, row].iter().any(|&row| self.chart_at(row).is_some());
        Some(Joint { row, matches: by_chart || (before == after) == (self.at_rod == AtRod::Keep) })
    }

    /// The strand, 0 or 1, that lies over the unit in the row, both counted from 0, as seen on that face.
    ///
    /// Neighbouring units show the two strands in turn, or in a band with a chart what the chart says; the back shows the
    /// strand that the front hides, and its units are counted from the other side.
    pub fn strand(&self, row: u32, unit: u32, face: Face) -> usize {
        let last = self.row_units(row).units().saturating_sub(1);
        let across = |unit: u32| last - unit.min(last);
        let seen_from_front = match face {
            Face::Front => unit,
            Face::Back => across(unit),
        };
        let front = match self.chart_at(row) {
            Some((band, chart)) => chart.strand(row - band.from_row, seen_from_front),
            None => self.strand_by_rod(row, seen_from_front),
        };
        if face == Face::Back { 1 - front } else { front }
    }

    /// The strand that would lie over the unit, seen from the front, were the row not woven by a chart: what the turns at the rod make
    /// it to.
    pub(super) fn strand_by_rod(&self, row: u32, unit: u32) -> usize {
        let last = self.row_units(row).units().saturating_sub(1);
        let turned = row >= self.first_half();
        let (row, unit) = if turned {
            (self.rows().saturating_sub(row.saturating_add(1)), last - unit.min(last))
        } else {
            (row, unit)
        };
        let other_first = turned && self.from == WovenFrom::BothEndsOtherFirst;
        let shift = if self.at_rod == AtRod::Trade { row } else { 0 };
        ((u64::from(unit) + u64::from(shift) + u64::from(other_first)) % 2) as usize
    }

    /// The colour that shows over the unit in the row; nothing beyond the last row.
    pub fn colour(&self, row: u32, unit: u32, face: Face) -> Option<ColourId> {
        let band = self.bands.iter().find(|band| (band.from_row..band.to_row).contains(&row))?;
        Some(band.colours[self.strand(row, unit, face)])
    }

    /// The chart that a row is woven by, with its band. Where both strands are of one colour there is no figure, and nothing is
    /// gained by another turn.
    fn chart_at(&self, row: u32) -> Option<(&BandRows, &Chart)> {
        if self.charts.is_empty() {
            return None;
        }
        let band = self.bands.iter().find(|band| (band.from_row..band.to_row).contains(&row))?;
        let chart = self.charts.get(usize::from(band.chart?))?;
        (band.colours[0] != band.colours[1]).then_some((band, chart))
    }

    /// Whether a row is woven by a chart.
    pub fn by_chart(&self, row: u32) -> bool {
        self.chart_at(row).is_some()
    }

    /// How often the two strands turn once more in a row, so that the same one stays in front: between units beside each other
    /// that show the same strand. None in a row without a chart.
    ///
    /// A half turn changes the colour in front, a full turn keeps it: Buck (1949), p. 171 and fig. 32b; published check 10.4.
    /// What the strands do at the rod is no turn more, whichever of them then begins.
    pub fn extra_turns(&self, row: u32) -> u32 {
        if !self.by_chart(row) {
            return 0;
        }
        let strand = |unit| self.strand(row, unit, Face::Front);
        let units = self.row_units(row).units();
        (1..units).filter(|&unit| strand(unit - 1) == strand(unit)).count() as u32
    }

    /// The extra turns of the rows from one to before another.
    pub fn extra_turns_between(&self, from: u32, to: u32) -> u32 {
        if self.charts.is_empty() { 0 } else { (from..to).map(|row| self.extra_turns(row)).sum() }
    }

    /// The colours used, in the order of their first row.
    pub fn colours(&self) -> Vec<ColourId> {
        let mut found = Vec::new();
        for colour in self.bands.iter().filter(|band| band.rows() > 0).flat_map(|band| band.colours) {
            if !found.contains(&colour) {
                found.push(colour);
            }
        }
        found
    }

    /// The bands as they are woven, each with its place in the list of bands: from the start, or from both ends, where a
    /// band across the middle comes in two parts. Rows are counted from the start of the rug; a part of the second half is
    /// woven from its last row to its first.
    pub fn in_weaving_order(&self) -> Vec<(usize, BandRows)> {
        let half = self.first_half();
        let cut = |from: u32, to: u32| {
            let part = move |(i, band): (usize, &BandRows)| {
                let (from_row, to_row) = (band.from_row.max(from), band.to_row.min(to));
                (from_row < to_row).then_some((i, BandRows { from_row, to_row, ..*band }))
            };
            self.bands.iter().enumerate().filter_map(part).collect::<Vec<_>>()
        };
        let mut order = cut(0, half);
        order.extend(cut(half, self.rows()).into_iter().rev());
        order
    }

    /// How far the rug has grown after so many rows, from the end they are woven from, and whether that is the far end.
    pub fn woven_to(&self, rows_done: u32) -> (Length, bool) {
        let (half, rows) = (self.first_half(), self.rows());
        if rows_done <= half {
            return (self.place_of(rows_done), false);
        }
        let length = self.bands.last().map_or(Length::ZERO, |band| band.end);
        (length - self.place_of(rows.saturating_sub(rows_done - half).max(half)), true)
    }

    /// Where so many rows from the start end.
    fn place_of(&self, row: u32) -> Length {
        match self.bands.iter().find(|band| row <= band.to_row && band.rows() > 0) {
            Some(band) => {
                let part = f64::from(row.saturating_sub(band.from_row)) / f64::from(band.rows());
                band.start + (band.end - band.start).scale(part)
            }
            None => self.bands.last().map_or(Length::ZERO, |band| band.end),
        }
    }

    /// The unbroken runs of one colour and strip along each weft strand, in rows: neighbouring bands that have both in
    /// common are one run. Each half of a rug that is woven from both ends has strands of its own.
    pub fn runs(&self) -> Vec<Run> {
        let order = self.in_weaving_order();
        let second = |band: &BandRows| band.from_row >= self.first_half();
        let mut runs: Vec<Run> = Vec::new();
        for half in [false, true] {
            for strand in [0, 1] {
                let first = runs.len();
                for (_, band) in order.iter().filter(|(_, band)| second(band) == half) {
                    let (colour, strip, rows) = (band.colours[strand], band.strip, band.rows());
                    let extra_turns = self.extra_turns_between(band.from_row, band.to_row);
                    match runs[first..].last_mut() {
                        Some(run) if run.colour == colour && run.strip == strip => {
                            run.rows += rows;
                            run.extra_turns += extra_turns;
                        }
                        _ => {
                            let opens = runs.len() == first;
                            runs.push(Run { strand, colour, strip, rows, extra_turns, opens });
                        }
                    }
                }
            }
        }
        runs
    }
}

/// An unbroken run of one colour and strip along one weft strand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// The strand, 0 or 1.
    pub strand: usize,
    /// Its colour.
    pub colour: ColourId,
    /// Width of its strips, where they are not the rug's.
    pub strip: Option<Length>,
    /// Its rows.
    pub rows: u32,
    /// How often the strands turn once more in them.
    pub extra_turns: u32,
    /// Whether it opens the strand, and so begins without a join.
    pub opens: bool,
}
