//! What a search for a class's designs is asked.
use crate::optimize::design::{Cloth, DesignBand, Wishes};
use crate::planning::{Kind, RugSpec};
use crate::units::Length;

/// A rug of the class.
pub struct ClassRug<'a> {
    /// What it should be like.
    pub wishes: &'a Wishes,
    /// The rug of a kind of warp and a kind of weft, without bands.
    pub base: &'a dyn Fn(Kind, Kind) -> RugSpec,
}

/// What is asked.
pub struct ClassRequest<'a> {
    /// The shelf.
    pub cloth: &'a [Cloth],
    /// The rugs, from 1 to [`MOST_RUGS`].
    pub rugs: &'a [ClassRug<'a>],
    /// A part of a rug is served by at most so many bundles.
    pub most: usize,
    /// Heights are whole multiples of this, but for one of each rug.
    pub step: Length,
    /// Rugs that these are to differ from, too.
    pub unlike: &'a [Vec<DesignBand>],
    /// The same seed and question give the same designs.
    pub seed: u64,
    /// Looks at most, give or take one rug's, such as [`USUAL_CLASS_EFFORT`].
    pub effort: u64,
}

/// The most rugs at once.
pub const MOST_RUGS: usize = 40;
/// Effort that an ordinary machine needs a few seconds for.
pub const USUAL_CLASS_EFFORT: u64 = 16_000_000;
