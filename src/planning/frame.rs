//! A nail frame's geometry, checked once. Tags, condition and loans are not known here.
use crate::units::{Length, RangeError, Units};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A nail frame whose sizes make sense together.
///
/// # Examples
/// ```
/// use thrumhall::planning::{Frame, FrameError, FrameSizes};
/// use thrumhall::units::{Length, Units};
///
/// let (span, width) = (Length::inches(33.0), Length::inches(18.0));
/// let sizes = FrameSizes { span, width, nails: 33, pitch: None, nail_diameter: None };
/// let frame = Frame::new(sizes, Units::Inches)?;
/// assert_eq!(frame.pitch(), Length::inches(9.0 / 16.0));
/// assert_eq!(frame.nails_for(Length::inches(9.0)), 17);
/// // 33 nails an inch apart are a row of 32 in.
/// let slip = FrameSizes { pitch: Some(Length::inches(1.0)), ..sizes };
/// assert!(matches!(Frame::new(slip, Units::Inches), Err(FrameError::RowMisfit { .. })));
/// # Ok::<(), FrameError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Frame {
    span: Length,
    width: Length,
    nails: u32,
    pitch: Option<Length>,
    nail_diameter: Option<Length>,
}

/// A frame's sizes as given, before they are checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct FrameSizes {
    /// Between the nail rows, nail centre to nail centre.
    pub span: Length,
    /// Between the edge rods.
    pub width: Length,
    /// Nails in one row.
    pub nails: u32,
    /// Between neighbouring nails, centre to centre; spread evenly over the width when nobody measured it.
    pub pitch: Option<Length>,
    /// Thickness of a nail, when someone measured it.
    pub nail_diameter: Option<Length>,
}

/// Why no frame has these sizes.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FrameError {
    /// The span is out of range.
    #[error("Span: {0}")]
    Span(RangeError),
    /// The width is out of range.
    #[error("Width: {0}")]
    Width(RangeError),
    /// Too few or too many nails.
    #[error("Nails per end: {nails} is out of range: from {min} to {max} is allowed.")]
    Nails {
        /// What was given.
        nails: u32,
        /// The fewest.
        min: u32,
        /// The most.
        max: u32,
    },
    /// The pitch is out of range, measured or spread over the width.
    #[error("Pitch: {0}")]
    Pitch(RangeError),
    /// The nails are too thick.
    #[error("Nail diameter: {0}")]
    NailDiameter(RangeError),
    /// Nails and pitch don't fill the width.
    #[error(
        "Pitch: {nails} nails, each {pitch} from the next, make a row of {row}, but the width is {width}."
    )]
    RowMisfit {
        /// Nails per end.
        nails: u32,
        /// The given pitch.
        pitch: String,
        /// The row it makes.
        row: String,
        /// The given width.
        width: String,
    },
}

impl Frame {
    /// The least span and width.
    pub const MIN_SIDE: Length = Length::from_nm(4 * 25_400_000);
    /// The greatest span and width, 12 ft: no one reaches across more.
    pub const MAX_SIDE: Length = Length::from_nm(144 * 25_400_000);
    /// The fewest nails in a row.
    pub const MIN_NAILS: u32 = 3;
    /// The most nails in a row.
    pub const MAX_NAILS: u32 = 600;
    /// The least pitch.
    pub const MIN_PITCH: Length = Length::from_nm(25_400_000 / 8);
    /// The greatest pitch.
    pub const MAX_PITCH: Length = Length::from_nm(4 * 25_400_000);

    /// The frame of those sizes.
    ///
    /// # Errors
    /// [`FrameError`] names the size that is out of range, in the person's units. Nails at a measured pitch must fill the
    /// width to within a quarter or two pitches, or one of the three numbers is a slip.
    pub fn new(sizes: FrameSizes, units: Units) -> Result<Self, FrameError> {
        let FrameSizes { span, width, nails, pitch, nail_diameter } = sizes;
        span.within(Self::MIN_SIDE, Self::MAX_SIDE, units).map_err(FrameError::Span)?;
        width.within(Self::MIN_SIDE, Self::MAX_SIDE, units).map_err(FrameError::Width)?;
        if !(Self::MIN_NAILS..=Self::MAX_NAILS).contains(&nails) {
            return Err(FrameError::Nails { nails, min: Self::MIN_NAILS, max: Self::MAX_NAILS });
        }
        let frame = Self { span, width, nails, pitch, nail_diameter };
        let step = frame.pitch();
        step.within(Self::MIN_PITCH, Self::MAX_PITCH, units).map_err(FrameError::Pitch)?;
        let row = step * i64::from(nails - 1);
        if (row - width).abs() > (step * 2).max(width.scale(0.25)) {
            let [pitch, row, width] = [step, row, width].map(|l| l.show(units));
            return Err(FrameError::RowMisfit { nails, pitch, row, width });
        }
        if let Some(diameter) = nail_diameter {
            let thickest = step.scale(0.75).min(Length::inches(0.5));
            diameter.within(Length::inches(0.02), thickest, units).map_err(FrameError::NailDiameter)?;
        }
        Ok(frame)
    }

    /// Between the nail rows, nail centre to nail centre.
    pub const fn span(&self) -> Length {
        self.span
    }

    /// Between the edge rods.
    pub const fn width(&self) -> Length {
        self.width
    }

    /// Nails in one row.
    pub const fn nails(&self) -> u32 {
        self.nails
    }

    /// Between neighbouring nails: as measured, or the width spread over the spaces between the nails,
    /// `width / (nails − 1)`, so that the outer nails stand at the rods.
    pub fn pitch(&self) -> Length {
        self.pitch.unwrap_or_else(|| self.width.scale(1.0 / f64::from(self.nails - 1)))
    }

    /// Whether someone measured the pitch.
    pub const fn pitch_measured(&self) -> bool {
        self.pitch.is_some()
    }

    /// Thickness of a nail, where someone measured it.
    pub const fn nail_diameter(&self) -> Option<Length> {
        self.nail_diameter
    }

    /// The nails per end that a rug of that width takes: all of them at the full width.
    pub fn nails_for(&self, width: Length) -> u32 {
        if width >= self.width {
            return self.nails;
        }
        ((width.ratio(self.pitch()).round() as u32) + 1).clamp(2, self.nails)
    }
}

/// A frame's size as the trade says it, width × span: `18 in × 33 in, 33 nails per end`.
pub fn size_words(width: Length, span: Length, nails: i64, units: Units) -> String {
    format!("{} × {}, {nails} nails per end", width.show(units), span.show(units))
}
