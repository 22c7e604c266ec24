//! The bands of a design, which have colours before there is cloth for them.
use crate::planning::colour::Hex;
use crate::planning::{Band, ColourId};
use crate::units::Length;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A band of a design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DesignBand {
    /// Its height.
    pub height: Length,
    /// The colours of its two strands.
    pub colours: [Hex; 2],
}

/// A band that a design is to have where it is. In addresses: where it begins and its height in nanometres, and its colours.
///
/// # Examples
/// ```
/// use thrumhall::optimize::design::KeptBand;
///
/// let kept: KeptBand = "203200000,101600000,#22305a,#f1e7cf".parse()?;
/// assert_eq!((kept.from.in_inches(), kept.band.height.in_inches()), (8.0, 4.0));
/// assert_eq!(kept.to_string().parse(), Ok(kept));
/// assert!("8 in of navy".parse::<KeptBand>().is_err());
/// # Ok::<(), thrumhall::optimize::design::NoBand>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeptBand {
    /// Where it begins, from the start of the weaving.
    pub from: Length,
    /// The band.
    pub band: DesignBand,
}

impl KeptBand {
    /// Where it ends.
    pub(super) fn to(&self) -> Length {
        self.from + self.band.height
    }
}

impl fmt::Display for KeptBand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [first, other] = self.band.colours;
        write!(f, "{},{},{first},{other}", self.from.nm(), self.band.height.nm())
    }
}

/// A text that tells no band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("This isn't a band: where it begins, its height and two colours are wanted.")]
pub struct NoBand;

/// Longer than any rug: 100 m.
const LONGEST: i64 = 100_000_000_000;

impl FromStr for KeptBand {
    type Err = NoBand;

    fn from_str(text: &str) -> Result<Self, NoBand> {
        let parts: Vec<&str> = text.split(',').collect();
        let [from, height, first, other] = parts[..] else { return Err(NoBand) };
        let length = |text: &str| {
            let nm = text.parse::<i64>().ok().filter(|nm| (0..=LONGEST).contains(nm));
            nm.map(Length::from_nm).ok_or(NoBand)
        };
        let hex = |text: &str| text.parse::<Hex>().map_err(|_| NoBand);
        let (from, height) = (length(from)?, length(height)?);
        if height == Length::ZERO {
            return Err(NoBand);
        }
        Ok(Self { from, band: DesignBand { height, colours: [hex(first)?, hex(other)?] } })
    }
}

/// Bands as a rug has them, and its list of colours.
pub(super) fn numbered(bands: &[DesignBand]) -> (Vec<Band>, Vec<Hex>) {
    let mut colours: Vec<Hex> = Vec::new();
    let mut id = |hex: Hex| {
        let known = colours.iter().position(|one| *one == hex);
        known.unwrap_or_else(|| {
            colours.push(hex);
            colours.len() - 1
        }) as ColourId
    };
    let bands = bands.iter().map(|band| Band::plain(band.height, band.colours.map(&mut id))).collect();
    (bands, colours)
}
