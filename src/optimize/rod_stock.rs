//! Rods needed against rods owned: which frames the owned ones serve, and which rods are missing. What to buy for those is
//! `rods`'.
use super::bins::Piece;
use crate::units::Length;
use std::collections::BTreeMap;

/// Rods that serve, and those that are missing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Served {
    /// The least length needed, the length of the owned rods that serve it, and how many; longest first.
    pub served: Vec<(Length, Length, u32)>,
    /// What no owned rod serves, longest first.
    pub missing: Vec<Piece>,
    /// Owned rods that are left, by length, longest first.
    pub left: Vec<(Length, u32)>,
}

/// Gives each needed rod the shortest owned one that is long enough, the longest needs first.
///
/// No other way serves more rods, and none leaves shorter ones missing: a rod that is long enough for one need is long
/// enough for every shorter one.
pub fn serve(needs: &[Piece], owned: &[(Length, u32)]) -> Served {
    let mut wanted: BTreeMap<Length, u32> = BTreeMap::new();
    for need in needs.iter().filter(|need| need.count > 0) {
        *wanted.entry(need.length).or_default() += need.count;
    }
    let mut left: BTreeMap<Length, u32> = BTreeMap::new();
    for &(length, count) in owned.iter().filter(|(_, count)| *count > 0) {
        *left.entry(length).or_default() += count;
    }
    let mut told = Served::default();
    for (&length, &count) in wanted.iter().rev() {
        let mut count = count;
        for (&rod, there) in left.range_mut(length..) {
            let taken = count.min(*there);
            if taken > 0 {
                *there -= taken;
                count -= taken;
                told.served.push((length, rod, taken));
            }
        }
        if count > 0 {
            told.missing.push(Piece { length, count });
        }
    }
    told.left = left.into_iter().rev().filter(|(_, count)| *count > 0).collect();
    told
}
