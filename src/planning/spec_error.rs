//! Why a rug can't be planned. What is checked, and when, is `spec`'s.
use super::room::Jammed;
use super::settings::BadEstimate;
use super::warp::nail_rows::RowsError;
use super::warp::winding::WindingError;
use super::warp::yarn::YarnError;
use crate::units::RangeError;
use thiserror::Error;

/// Why a rug can't be planned. Each names the field, the value and what is allowed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SpecError {
    /// The woven length is out of range.
    #[error("Length: {0}")]
    Length(RangeError),
    /// The woven width is out of range.
    #[error("Width: {0}")]
    Width(RangeError),
    /// The strip width is out of range.
    #[error("Strip width: {0}")]
    StripWidth(RangeError),
    /// The width of the warp's strips is out of range.
    #[error("Strip width of the warp: {0}")]
    WarpStrip(RangeError),
    /// The warp's yarn can't be.
    #[error(transparent)]
    WarpYarn(#[from] YarnError),
    /// The warp's bundles are wider than their room.
    #[error(transparent)]
    Jammed(#[from] Jammed),
    /// A band's height is out of range.
    #[error("Band {number}: {source}")]
    Band {
        /// Which band, counted from 1.
        number: usize,
        /// What is wrong.
        source: RangeError,
    },
    /// Too many bands.
    #[error("{given} bands are too many: {max} are the most.")]
    TooManyBands {
        /// How many were given.
        given: usize,
        /// The most.
        max: usize,
    },
    /// The bands don't fill the length.
    #[error("The bands are {bands} together, but the rug is {length} long: they must be equal.")]
    BandsMisfit {
        /// Their sum.
        bands: String,
        /// The chosen length.
        length: String,
    },
    /// The frame's nail rows can't be.
    #[error(transparent)]
    Rows(#[from] RowsError),
    /// The warp can't be wound so.
    #[error(transparent)]
    Winding(#[from] WindingError),
    /// A band's strip is out of range.
    #[error("Strip of band {number}: {source}")]
    BandStrip {
        /// Which band, counted from 1.
        number: usize,
        /// What is wrong.
        source: RangeError,
    },
    /// A band is woven by a chart, but both its strands are of one colour.
    #[error("Band {number} has a chart, and a chart needs two colours: both strands are of one.")]
    ChartInOneColour {
        /// Which band, counted from 1.
        number: usize,
    },
    /// A band names a chart that the rug doesn't have.
    #[error("Band {number} is woven by chart {chart}, but the rug has {known}.")]
    NoSuchChart {
        /// Which band, counted from 1.
        number: usize,
        /// Which chart, counted from 1.
        chart: usize,
        /// How many there are.
        known: usize,
    },
    /// The unit size is out of range.
    #[error("Warp unit: {given} strands are out of range: from 1 to 6 is allowed.")]
    UnitSize {
        /// What was given.
        given: u32,
    },
    /// The fringe is out of range.
    #[error("Fringe: {0}")]
    Fringe(RangeError),
    /// The backing's margin is out of range.
    #[error("Backing margin: {0}")]
    Backing(RangeError),
    /// A measured or learnt value can't be used.
    #[error(transparent)]
    Known(#[from] BadEstimate),
    /// A sample's stretch is longer than the rug.
    #[error("Sample: {0}")]
    Sample(RangeError),
    /// Strips no longer than what a join takes.
    #[error(
        "Strips of {strip} are too short: a join takes {join}, and each strip must be longer than two joins."
    )]
    StripTooShort {
        /// The strip's length.
        strip: String,
        /// What a join takes.
        join: String,
    },
}
