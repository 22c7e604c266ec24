//! The share-out in terms of cloth: colours, warp, grams; and the problem in numbers that it comes to.
use super::problem::{Problem, Want};
use crate::planning::colour::Lab;
use thiserror::Error;

/// A bundle that may be shared out.
#[derive(Debug, Clone, PartialEq)]
pub struct Bundle {
    /// Whole grams.
    pub grams: i64,
    /// How it looks.
    pub lab: Lab,
    /// Whether it is fit for warp.
    pub warp_worthy: bool,
}

/// Cloth of one colour that one rug wants.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Need {
    /// Whole grams.
    pub grams: i64,
    /// How it should look; nothing where any colour will do.
    pub lab: Option<Lab>,
    /// Warp takes cloth that is fit for warp only.
    pub warp: bool,
    /// From at most so many bundles.
    pub most: usize,
    /// Bundles that it had before, counted from 0; others cost `Weights::change` more. Empty for a first share-out.
    pub held: Vec<usize>,
    /// Bundles that may not serve it for another reason, counted from 0.
    pub barred: Vec<usize>,
    /// Needs of the same rug, counted from 0, whose colour touches this one's: cloth for both keeps their difference.
    pub touches: Vec<usize>,
}

/// What costs how much. The unit is nobody's money: only the proportions matter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weights {
    /// One of CIEDE2000 on 100 g.
    pub delta_e_per_100g: f64,
    /// Each bundle of each need.
    pub pair: f64,
    /// Each gram that a need doesn't get.
    pub unmet_gram: f64,
    /// Each bundle of a need that it didn't have before, where it had some.
    pub change: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Self { delta_e_per_100g: 1.0, pair: 20.0, unmet_gram: 50.0, change: 0.0 }
    }
}

/// What is to be shared out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Job {
    /// The cloth.
    pub bundles: Vec<Bundle>,
    /// The needs.
    pub needs: Vec<Need>,
    /// The costs.
    pub weights: Weights,
}

/// The most grams of a bundle or a need: a tonne.
pub const MOST_GRAMS: i64 = 1_000_000;
/// The most needs times bundles.
pub const MOST_CELLS: usize = 500_000;
const MOST_WEIGHT: f64 = 1e6;
const MOST_LAB: f64 = 1e3;
/// White by its sRGB values comes out this much off by round-off.
const MOST_OVER: f64 = 1e-6;
/// No colour is lighter than white.
const MOST_LIGHT: f64 = 100.0;

/// A job that can't be computed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum JobError {
    /// A weight of cloth out of range.
    #[error("{what} {number}: {grams} g is out of range: from 0 to {MOST_GRAMS} g is allowed.")]
    Grams {
        /// Of what.
        what: &'static str,
        /// Which, counted from 1.
        number: usize,
        /// What was given.
        grams: i64,
    },
    /// A colour far outside CIELAB.
    #[error(
        "{what} {number}: its colour is out of range: L lies between 0 and {MOST_LIGHT}, a and b between -{MOST_LAB} and {MOST_LAB}."
    )]
    Colour {
        /// Of what.
        what: &'static str,
        /// Which, counted from 1.
        number: usize,
    },
    /// A cost out of range.
    #[error("{what}: {given} is out of range: from 0 to {MOST_WEIGHT} is allowed.")]
    Weight {
        /// Which.
        what: &'static str,
        /// What was given.
        given: f64,
    },
    /// A need that isn't there is said to touch one.
    #[error("Need {} isn't there to be touched.", .need + 1)]
    Touching {
        /// Which, counted from 0.
        need: usize,
    },
    /// More than is computed.
    #[error("{needs} needs and {bundles} bundles are too many: their product may be {MOST_CELLS} at most.")]
    TooLarge {
        /// How many needs.
        needs: usize,
        /// How many bundles.
        bundles: usize,
    },
}

impl Job {
    /// The job in numbers.
    ///
    /// # Errors
    /// [`JobError`]: something out of range.
    pub fn problem(&self) -> Result<Problem, JobError> {
        self.check()?;
        let (mut gram, mut pair) = (Vec::new(), Vec::new());
        for need in &self.needs {
            for (at, bundle) in self.bundles.iter().enumerate() {
                let serves = (bundle.warp_worthy || !need.warp) && !need.barred.contains(&at);
                let off = need.lab.map_or(0.0, |lab| lab.difference(bundle.lab));
                let look = self.weights.delta_e_per_100g * off / 100.0;
                gram.push(if serves { look } else { f64::INFINITY });
                let new = !need.held.is_empty() && !need.held.contains(&at);
                pair.push(self.weights.pair + if new { self.weights.change } else { 0.0 });
            }
        }
        // Said of one of two, it holds for both.
        let mut touching = vec![Vec::new(); self.needs.len()];
        for (at, need) in self.needs.iter().enumerate() {
            for &other in need.touches.iter().filter(|other| **other != at) {
                for (one, two) in [(at, other), (other, at)] {
                    if !touching[one].contains(&two) {
                        touching[one].push(two);
                    }
                }
            }
        }
        let wants = self.needs.iter().map(|need| Want { grams: need.grams, most: need.most });
        Ok(Problem {
            bundles: self.bundles.iter().map(|bundle| bundle.grams).collect(),
            wants: wants.collect(),
            gram,
            pair,
            unmet: self.weights.unmet_gram,
            touching,
            wanted: self.needs.iter().map(|need| need.lab).collect(),
            looks: self.bundles.iter().map(|bundle| bundle.lab).collect(),
        })
    }

    fn check(&self) -> Result<(), JobError> {
        let (needs, bundles) = (self.needs.len(), self.bundles.len());
        if needs.saturating_mul(bundles) > MOST_CELLS || needs.max(bundles) > MOST_CELLS {
            return Err(JobError::TooLarge { needs, bundles });
        }
        let cloth =
            (self.bundles.iter().enumerate()).map(|(at, one)| ("Bundle", at + 1, one.grams, Some(one.lab)));
        let wanted = (self.needs.iter().enumerate()).map(|(at, one)| ("Need", at + 1, one.grams, one.lab));
        for (what, number, grams, lab) in cloth.chain(wanted) {
            if !(0..=MOST_GRAMS).contains(&grams) {
                return Err(JobError::Grams { what, number, grams });
            }
            let odd = |lab: Lab| {
                let [light, a, b] = lab.parts();
                !(-MOST_OVER..=MOST_LIGHT + MOST_OVER).contains(&light)
                    || [a, b].iter().any(|part| !part.is_finite() || part.abs() > MOST_LAB)
            };
            if lab.is_some_and(odd) {
                return Err(JobError::Colour { what, number });
            }
        }
        if let Some(&need) =
            self.needs.iter().flat_map(|need| &need.touches).find(|need| **need >= self.needs.len())
        {
            return Err(JobError::Touching { need });
        }
        let weights = &self.weights;
        for (what, given) in [
            ("delta_e_per_100g", weights.delta_e_per_100g),
            ("pair", weights.pair),
            ("unmet_gram", weights.unmet_gram),
            ("change", weights.change),
        ] {
            if !(0.0..=MOST_WEIGHT).contains(&given) {
                return Err(JobError::Weight { what, given });
            }
        }
        Ok(())
    }
}
