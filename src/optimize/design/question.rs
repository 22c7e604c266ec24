//! What a search for designs is asked.
use super::bands::DesignBand;
use super::wishes::Wishes;
use crate::planning::colour::Hex;
use crate::planning::{Kind, RugSpec, SpecError};
use crate::units::Length;
use thiserror::Error;

/// A bundle that a design may take from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cloth {
    /// Its kind.
    pub kind: Kind,
    /// How it looks.
    pub hex: Hex,
    /// Whole grams of strip that it makes and that nobody was promised.
    pub grams: i64,
}

/// What is asked.
pub struct Request<'a> {
    /// The shelf.
    pub cloth: &'a [Cloth],
    /// What it should be like.
    pub wishes: &'a Wishes,
    /// The rug of a kind of warp and a kind of weft, without bands.
    pub base: &'a dyn Fn(Kind, Kind) -> RugSpec,
    /// So many designs, from 1 to [`MOST_DESIGNS`].
    pub count: usize,
    /// A part is served by at most so many bundles.
    pub most: usize,
    /// Heights are whole multiples of this, but for the one that takes what is left over.
    pub step: Length,
    /// Rugs that these must differ from, too.
    pub unlike: &'a [Vec<DesignBand>],
    /// The same seed and cloth give the same designs.
    pub seed: u64,
    /// Looks at most, such as [`USUAL_EFFORT`].
    pub effort: u64,
}

/// Effort that an ordinary machine needs half a second for.
pub const USUAL_EFFORT: u64 = 2_000_000;
/// The most designs at once.
pub const MOST_DESIGNS: usize = 24;
/// The most bundles that are looked at.
pub const MOST_CLOTH: usize = 5_000;
/// The most colours of a design.
pub const MOST_COLOURS: usize = 8;
/// The most bands that are kept.
pub const MOST_KEPT: usize = 8;
/// A part is served by no more bundles than this.
pub const MOST_BUNDLES: usize = 9;

/// A question that can't be computed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum DesignError {
    /// The rug can't be planned in any cloth that is there.
    #[error(transparent)]
    Spec(#[from] SpecError),
    /// A number out of range.
    #[error("{what}: {given} is out of range: from {least} to {most} is allowed.")]
    Number {
        /// Of what.
        what: &'static str,
        /// What was given.
        given: i64,
        /// The least.
        least: i64,
        /// The most.
        most: i64,
    },
}

impl Request<'_> {
    /// Refuses numbers that are out of range.
    pub(super) fn check(&self) -> Result<(), DesignError> {
        let numbers = [
            ("count", self.count, 1, MOST_DESIGNS),
            ("bundles", self.cloth.len(), 0, MOST_CLOTH),
            ("max_bundles_per_need", self.most, 1, MOST_BUNDLES),
            ("colours", self.wishes.colours.unwrap_or(1), 1, MOST_COLOURS),
            ("build_on", self.wishes.build_on.len(), 0, MOST_COLOURS),
            ("keep", self.wishes.keep.len(), 0, MOST_KEPT),
        ];
        for (what, given, least, most) in numbers {
            if !(least..=most).contains(&given) {
                let [given, least, most] = [given, least, most].map(|number| number as i64);
                return Err(DesignError::Number { what, given, least, most });
            }
        }
        Ok(())
    }
}
