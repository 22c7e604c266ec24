//! The share-out as numbers: what each gram of each bundle costs each need, and what an answer costs.
use super::contrast::keeps_apart;
use crate::planning::colour::Lab;

/// What a need asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Want {
    /// Whole grams.
    pub grams: i64,
    /// From at most so many bundles.
    pub most: usize,
}

/// A share-out to be solved. Rows of the tables are needs, columns are bundles.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Problem {
    /// Whole grams of each bundle.
    pub bundles: Vec<i64>,
    /// The needs.
    pub wants: Vec<Want>,
    /// Cost of a gram of a bundle for a need, row by row; infinite where it may not serve.
    pub gram: Vec<f64>,
    /// Cost of using a bundle for a need at all, row by row.
    pub pair: Vec<f64>,
    /// Cost of a gram that a need doesn't get.
    pub unmet: f64,
    /// Which needs touch which in a rug, need by need; nothing where none do.
    pub touching: Vec<Vec<usize>>,
    /// How each need should look, where any touch.
    pub wanted: Vec<Option<Lab>>,
    /// How each bundle looks, where any needs touch.
    pub looks: Vec<Lab>,
}

/// Grams of a bundle for a need.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Take {
    /// Which bundle, counted from 0.
    pub bundle: usize,
    /// Whole grams, at least one.
    pub grams: i64,
}

impl Problem {
    /// The needs, counted from 0.
    pub(super) fn needs(&self) -> std::ops::Range<usize> {
        0..self.wants.len()
    }

    /// Cost of one gram of `bundle` for `need`.
    pub(super) fn gram(&self, need: usize, bundle: usize) -> f64 {
        self.gram[need * self.bundles.len() + bundle]
    }

    /// Cost of using `bundle` for `need`.
    pub(super) fn pair(&self, need: usize, bundle: usize) -> f64 {
        self.pair[need * self.bundles.len() + bundle]
    }

    /// The needs that touch `need` in its rug.
    pub(super) fn touching(&self, need: usize) -> &[usize] {
        self.touching.get(need).map_or(&[], Vec::as_slice)
    }

    /// Whether a need may have a bundle while one that touches it has another.
    pub fn goes_beside(&self, (need, bundle): (usize, usize), (other, theirs): (usize, usize)) -> bool {
        let (Some(wanted), Some(beside)) = (self.wanted[need], self.wanted[other]) else { return true };
        keeps_apart([wanted, beside], [self.looks[bundle], self.looks[theirs]])
    }

    /// The most grams of `bundle` that `need` can use.
    pub(super) fn room(&self, need: usize, bundle: usize) -> i64 {
        self.bundles[bundle].min(self.wants[need].grams)
    }

    /// What the takes of one need cost, with what they leave unmet.
    pub fn cost_of(&self, need: usize, takes: &[Take]) -> f64 {
        let given: i64 = takes.iter().map(|take| take.grams).sum();
        let one =
            |take: &Take| self.gram(need, take.bundle) * take.grams as f64 + self.pair(need, take.bundle);
        takes.iter().map(one).sum::<f64>() + self.unmet * (self.wants[need].grams - given) as f64
    }

    /// What an answer costs, need by need.
    pub fn cost(&self, takes: &[Vec<Take>]) -> f64 {
        self.needs().map(|need| self.cost_of(need, &takes[need])).sum()
    }
}
