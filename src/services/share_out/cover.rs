//! Whether the shelf covers a rug that is being designed: nothing is promised by it, and nothing kept.
use std::collections::{HashMap, HashSet};

use super::needs::{Question, could_serve};
use super::touching::Touching;
use crate::optimize::share_out::solve;
use crate::planning::colour::{Hex, SERVES};
use crate::store::BundleId;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::{Limits, PartNeed};
use crate::units::Mass;

/// A part is served by at most so many bundles: more are a nuisance to pull and to join.
const MOST_BUNDLES: i64 = 6;
/// So many bundles are looked at for a part, those that make the most strip: far more than may serve it.
const LOOKED_AT: usize = 40;
/// Looks of the search: a rug has a handful of parts, and an answer is wanted while a hand is still dragging.
const LOOKS: f64 = 60_000.0;
const SEED: u64 = 20_261_128;

/// What the shelf has of one part of the rug.
#[derive(Clone, Debug, PartialEq)]
pub struct Covered {
    /// The part, and the strip that it takes.
    pub need: PartNeed,
    /// Strip that free bundles would make which could serve it, whatever other parts take of them.
    pub free: Mass,
    /// What is lacking of it when all parts are served at once.
    pub lacking: Mass,
}

/// What free, washed cloth covers of the needs of one rug, in their order. What is promised to the rug itself counts as free.
pub fn cover(
    needs: Vec<PartNeed>,
    offered: &[Offered],
    standing: &[Promise],
    touching: &Touching,
) -> Vec<Covered> {
    let serves = |one: &&Offered, need: &PartNeed| {
        let near = |hex: Hex| hex.difference(one.colour_hex) <= SERVES as f64;
        one.state == BundleState::Ready
            && could_serve(one, need)
            && Hex::parse(&need.part.colour_hex).ok().is_none_or(near)
    };
    let rug = needs.first().map(|need| need.part.rug_id);
    let mut freed: HashMap<BundleId, Mass> = HashMap::new();
    for promise in standing.iter().filter(|one| one.is_open() && Some(one.part.rug_id) == rug) {
        *freed.entry(promise.bundle_id).or_default() += promise.promised_mg;
    }
    let strip = |one: &Offered| {
        let own = freed.get(&one.id).copied().unwrap_or_default();
        one.usable.0.net((one.balance_mg - one.promised_mg + own).max(Mass::ZERO))
    };
    let mut looked_at: HashSet<BundleId> = HashSet::new();
    let mut free: Vec<Mass> = Vec::new();
    for need in &needs {
        let mut serving: Vec<(Mass, BundleId)> =
            offered.iter().filter(|one| serves(one, need)).map(|one| (strip(one), one.id)).collect();
        free.push(serving.iter().map(|(strip, _)| *strip).sum());
        serving.sort_by(|a, b| b.cmp(a));
        looked_at.extend(serving.into_iter().take(LOOKED_AT).map(|(_, id)| id));
    }
    let offered: Vec<Offered> = offered.iter().filter(|one| looked_at.contains(&one.id)).cloned().collect();
    let limits = Limits { most: MOST_BUNDLES, seconds: 1, most_off: SERVES };
    let job = Question::of(&needs, &offered, standing, &[], touching, (limits, false)).job;
    let lacking: Vec<Mass> = match job.problem() {
        Ok(problem) => {
            let found = solve(&problem, SEED, &mut |progress| progress.work as f64 / LOOKS);
            (0..needs.len()).map(|need| Mass::from_grams(found.unmet(&problem, need) as f64)).collect()
        }
        // Of a weight that no search is asked for, what is free of each part alone still says something.
        Err(_) => {
            needs.iter().zip(&free).map(|(need, free)| (need.wanted_mg - *free).max(Mass::ZERO)).collect()
        }
    };
    let all = needs.into_iter().zip(free).zip(lacking);
    all.map(|((need, free), lacking)| Covered { need, free, lacking }).collect()
}
