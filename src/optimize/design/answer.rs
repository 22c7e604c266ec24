//! What a search for designs answers.
use super::bands::{DesignBand, numbered};
use super::judge::Score;
use super::shape::Family;
use super::wishes::Miss;
use crate::planning::colour::Hex;
use crate::planning::{Kind, RugSpec};

/// What a bundle is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// The warp, with the fringe.
    Warp,
    /// The weft of that colour.
    Weft(Hex),
}

/// Cloth that a design takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Use {
    /// Which bundle, counted from 0.
    pub cloth: usize,
    /// What for.
    pub part: Part,
    /// Whole grams of strip.
    pub grams: i64,
}

/// A design that is covered.
#[derive(Debug, Clone, PartialEq)]
pub struct Design {
    /// From the start of the weaving.
    pub bands: Vec<DesignBand>,
    /// Its proportions.
    pub family: Family,
    /// Whether both its halves are alike.
    pub mirrored: bool,
    /// Kind of cloth that the warp is planned for: what serves it is as light or lighter.
    pub warp_kind: Kind,
    /// Kind of cloth that the weft is planned for.
    pub weft_kind: Kind,
    /// How well it looks and keeps the wishes.
    pub score: Score,
    /// The cloth that covers it.
    pub uses: Vec<Use>,
    /// Wishes that it doesn't keep, since the shelf can't.
    pub misses: Vec<Miss>,
}

impl Design {
    /// The rug that it is, with the colours by their number.
    pub fn spec(&self, base: &dyn Fn(Kind, Kind) -> RugSpec) -> (RugSpec, Vec<Hex>) {
        let (bands, colours) = numbered(&self.bands);
        (RugSpec { bands, length: None, ..base(self.warp_kind, self.weft_kind) }, colours)
    }
}

/// What stands in the way of any design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lacking {
    /// No cloth that is fit for warp is enough.
    Warp {
        /// Grams at the take.
        needed: i64,
        /// Grams of the kind that has most, from as many bundles as may serve.
        there: i64,
    },
    /// No kind of cloth is enough for the weft.
    Weft {
        /// Grams at the take.
        needed: i64,
        /// Grams of the kind that has most.
        there: i64,
    },
    /// There is enough in all, but not in colours that keep the wishes.
    Wishes,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Suggestions {
    /// Covered designs, each unlike the others.
    pub designs: Vec<Design>,
    /// Why there is none.
    pub lacking: Option<Lacking>,
    /// Looks that it took.
    pub work: u64,
}
