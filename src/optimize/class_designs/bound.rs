//! How many rugs the shelf can cover at most, whatever their designs, by weight alone.
//!
//! A rug that is planned in a kind of warp and a kind of weft takes from the bundles that may serve them at least so many grams.
//! For each set of kinds there is so much cloth, and each rug takes from that set at least what can come from nowhere else,
//! in the way that takes least of it. Those that take least are counted as long as their sum is there: no choice of rugs has more.
//! The least of these counts over all sets is a bound.
use super::question::ClassRug;
use crate::optimize::design::{Cloth, may_serve, warp_kinds, whole_grams};
use crate::planning::{Kind, Plan, RugSpec};
use crate::units::Units;

/// Several colours take no less weft than one, but for a join that each spares which begins a strand: of the smallest rug
/// with eight colours that is two parts in a hundred. Reasoned; the check from outside holds every design against it.
const WEFT: f64 = 0.97;
/// Looks that planning a rug counts as.
const PLANNING: u64 = 4_000;

/// Kinds of cloth, a bit for each.
type Kinds = u32;

/// One way to make a rug: what it takes at least, and from which kinds.
#[derive(Debug, Clone, Copy)]
struct Way {
    warp: (i64, Kinds),
    weft: (i64, Kinds),
}

impl Way {
    /// Grams that can come from nowhere but these kinds.
    fn from(&self, kinds: Kinds) -> i64 {
        let bound = |(grams, serving): (i64, Kinds)| if serving & !kinds == 0 { grams } else { 0 };
        bound(self.warp) + bound(self.weft)
    }
}

/// What the rugs of a class take at least.
pub(super) struct Needs {
    /// Of each rug; none where it can't be made at all.
    ways: Vec<Vec<Way>>,
    /// Grams of each kind.
    there: Vec<i64>,
    /// Looks that it took.
    pub plans: u64,
}

impl Needs {
    pub(super) fn of(cloth: &[Cloth], rugs: &[ClassRug], most: usize) -> Self {
        let grams =
            |kind: Kind| cloth.iter().filter(|one| one.kind == kind).map(|one| one.grams).sum::<i64>();
        let kinds: Vec<Kind> = Kind::ALL.into_iter().filter(|&kind| grams(kind) > 0).collect();
        // Weavers whose figures are alike have the same plans.
        let mut planned: Vec<(RugSpec, Option<(i64, i64)>)> = Vec::new();
        let mut takes = |spec: RugSpec| {
            if let Some((_, known)) = planned.iter().find(|(known, _)| *known == spec) {
                return *known;
            }
            let takes = Plan::of(&spec, Units::Metric).ok().map(|plan| {
                let weft = (plan.cloth.weft.p90.grams() * WEFT).floor() as i64;
                (whole_grams(plan.cloth.warp.p90 + plan.cloth.fringe.p90), weft)
            });
            planned.push((spec, takes));
            takes
        };
        let serving = |planned: Kind, warp: bool| -> Kinds {
            let serving = kinds.iter().enumerate().filter(|(_, kind)| may_serve(**kind, planned, warp));
            serving.map(|(bit, _)| 1 << bit).sum()
        };
        // The most that a part may get of as many bundles as may serve it.
        let reach = |planned: Kind, warp: bool| {
            let mut grams: Vec<i64> =
                cloth.iter().filter(|one| may_serve(one.kind, planned, warp)).map(|one| one.grams).collect();
            grams.sort_unstable_by_key(|grams| std::cmp::Reverse(*grams));
            grams.iter().take(most).sum::<i64>()
        };
        let mut ways_of = |rug: &ClassRug| {
            let mut ways = Vec::new();
            for &weft in
                kinds.iter().filter(|kind| rug.wishes.weft_kind.is_none_or(|wished| wished == **kind))
            {
                for &warp in &warp_kinds(&kinds) {
                    let Some((warp_grams, weft_grams)) = takes((rug.base)(warp, weft)) else { continue };
                    if warp_grams <= reach(warp, true) {
                        let (warp, weft) = (serving(warp, true), serving(weft, false));
                        ways.push(Way { warp: (warp_grams, warp), weft: (weft_grams, weft) });
                    }
                }
            }
            ways
        };
        let ways = rugs.iter().map(&mut ways_of).collect();
        let plans = planned.len() as u64 * PLANNING;
        Self { ways, there: kinds.into_iter().map(grams).collect(), plans }
    }

    /// Grams that a rug takes in all, at least; the most there can be where it can't be made.
    pub(super) fn least(&self, rug: usize) -> i64 {
        self.ways[rug].iter().map(|way| way.warp.0 + way.weft.0).min().unwrap_or(i64::MAX)
    }

    /// No more rugs than this can be covered at once.
    pub(super) fn at_most(&self) -> usize {
        let can_be = self.ways.iter().filter(|ways| !ways.is_empty());
        let kinds = self.there.len();
        let fits = |set: Kinds| {
            let there: i64 = (0..kinds).filter(|bit| set >> bit & 1 == 1).map(|bit| self.there[bit]).sum();
            let mut takes: Vec<i64> = can_be
                .clone()
                .map(|ways| ways.iter().map(|way| way.from(set)).min().unwrap_or_default())
                .collect();
            takes.sort_unstable();
            let sums = takes.iter().scan(0, |sum, takes| {
                *sum += takes;
                Some(*sum)
            });
            sums.take_while(|sum| *sum <= there).count()
        };
        (1..1 << kinds).map(fits).min().unwrap_or_default()
    }
}
