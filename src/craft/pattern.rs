//! Bands of colour along a rug, and which strand shows where. What a colour weighs is for `needs`; drawing for `picture`.
use super::units::Length;
use super::weft::rows_until;
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
}

impl BandRows {
    /// Rows in the band.
    pub const fn rows(&self) -> u32 {
        self.to_row - self.from_row
    }
}

/// The woven face, cell by cell: rows along the warp, warp units across.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pattern {
    /// The bands from the start, without gaps.
    pub bands: Vec<BandRows>,
    /// Warp units across.
    pub units: u32,
    /// What the strands do at the rod.
    pub at_rod: AtRod,
}

impl Pattern {
    /// The pattern of bands that are woven one after the other.
    pub fn new(bands: &[Band], rows_per_inch: f64, units: u32, at_rod: AtRod) -> Self {
        let mut start = Length::ZERO;
        let bands = bands
            .iter()
            .map(|band| {
                let end = start + band.height;
                let [from_row, to_row] = [start, end].map(|place| rows_until(place, rows_per_inch));
                let rows = BandRows { start, end, from_row, to_row, colours: band.colours };
                start = end;
                rows
            })
            .collect();
        Self { bands, units, at_rod }
    }

    /// All rows.
    pub fn rows(&self) -> u32 {
        self.bands.last().map_or(0, |band| band.to_row)
    }

    /// The strand, 0 or 1, that lies over the unit in the row, both counted from 0, as seen on that face.
    ///
    /// Neighbouring units show the two strands in turn; the back shows the strand that the front hides, and its units
    /// are counted from the other side.
    pub fn strand(&self, row: u32, unit: u32, face: Face) -> usize {
        let seen_from_front = match face {
            Face::Front => unit,
            Face::Back => self.units.saturating_sub(1) - unit.min(self.units.saturating_sub(1)),
        };
        let shift = if self.at_rod == AtRod::Trade { row } else { 0 };
        ((u64::from(seen_from_front) + u64::from(shift) + u64::from(face == Face::Back)) % 2) as usize
    }

    /// The colour that shows over the unit in the row; nothing beyond the last row.
    pub fn colour(&self, row: u32, unit: u32, face: Face) -> Option<ColourId> {
        let band = self.bands.iter().find(|band| (band.from_row..band.to_row).contains(&row))?;
        Some(band.colours[self.strand(row, unit, face)])
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

    /// The unbroken runs of one colour along each weft strand, in rows: neighbouring bands of one colour are one run.
    pub fn runs(&self) -> Vec<Run> {
        let mut runs: Vec<Run> = Vec::new();
        for strand in [0, 1] {
            let first = runs.len();
            for band in self.bands.iter().filter(|band| band.rows() > 0) {
                let colour = band.colours[strand];
                match runs[first..].last_mut() {
                    Some(run) if run.colour == colour => run.rows += band.rows(),
                    _ => runs.push(Run { strand, colour, rows: band.rows(), opens: runs.len() == first }),
                }
            }
        }
        runs
    }
}

/// An unbroken run of one colour along one weft strand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// The strand, 0 or 1.
    pub strand: usize,
    /// Its colour.
    pub colour: ColourId,
    /// Its rows.
    pub rows: u32,
    /// Whether it opens the strand, and so begins without a join.
    pub opens: bool,
}
