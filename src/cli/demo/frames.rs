//! The demo's frames and rods. Sizes are usual ones; every tag and count is invented.
use crate::store::frames::Condition::{self, Broken, Sound, Worn};
use crate::units::Length;

/// A size of frame.
#[derive(Clone, Copy)]
pub(super) struct Size {
    pub span_inches: f64,
    pub width_inches: f64,
    pub nails: i64,
    /// Pitch of the nails in sixteenths of an inch, where it was measured.
    pub pitch_sixteenths: Option<i64>,
    /// Length of its rods in inches.
    pub rod: usize,
}

impl Size {
    pub(super) fn span(&self) -> Length {
        Length::inches(self.span_inches)
    }

    pub(super) fn width(&self) -> Length {
        Length::inches(self.width_inches)
    }

    pub(super) fn pitch(&self) -> Option<Length> {
        self.pitch_sixteenths.map(|n| Length::inches(n as f64 / 16.0))
    }
}

/// 18 × 33 in, 33 nails at 9/16 in: common practice, no source.
pub(super) const SMALL: Size =
    Size { span_inches: 33.0, width_inches: 18.0, nails: 33, pitch_sixteenths: Some(9), rod: 0 };
/// 24 × 44 in: common practice, no source.
pub(super) const LARGE: Size =
    Size { span_inches: 44.0, width_inches: 24.0, nails: 43, pitch_sixteenths: None, rod: 1 };
/// 36 × 48 in, one of a kind.
pub(super) const WIDE: Size =
    Size { span_inches: 48.0, width_inches: 36.0, nails: 65, pitch_sixteenths: Some(9), rod: 2 };

/// The frames: tag, size, condition, note.
pub(super) const FRAMES: &[(&str, Size, Condition, &str)] = &[
    ("S1", SMALL, Sound, ""),
    ("S2", SMALL, Sound, ""),
    ("S3", SMALL, Sound, ""),
    ("S4", SMALL, Worn, "nail 12 of the near row is bent over; pass it by"),
    ("S5", SMALL, Sound, ""),
    ("S6", SMALL, Sound, ""),
    ("S7", SMALL, Sound, ""),
    ("S8", SMALL, Broken, "lower rail split along the nails"),
    ("L1", LARGE, Sound, ""),
    ("L2", LARGE, Sound, ""),
    ("L3", LARGE, Sound, ""),
    ("L4", LARGE, Worn, "wobbles; a wedge goes with it"),
    ("L5", LARGE, Sound, ""),
    ("W1", WIDE, Sound, "takes two to carry"),
];

/// The rods: length in inches, how many; all of them 1/8 in thick.
pub(super) const RODS: &[(f64, i64)] = &[(36.0, 20), (48.0, 12), (72.0, 2)];
