//! Which rods each rug takes where only its place is known: any that serve it, one pair to the end.
use super::problem::{Placed, Problem};

/// Ways tried before the first one at hand is given, which may break a rule then.
const MOST_TRIED: u32 = 50_000;

impl Problem {
    /// Rods for these places, so that they go round at every meeting where that can be.
    pub fn rods_for(&self, placed: &[Option<Placed>]) -> Vec<Option<usize>> {
        let mut order: Vec<(usize, Placed)> =
            placed.iter().enumerate().filter_map(|(rug, place)| Some((rug, (*place)?))).collect();
        // What is out has its rods already; then by the first meeting, the fewest kinds first.
        order.sort_by_key(|&(rug, place)| {
            (self.rugs[rug].fixed.is_none(), place.from, self.kinds(rug, place.frame).len(), rug)
        });
        let meetings = 1..=self.meetings;
        let mut left: Vec<Vec<i64>> = (0..self.rods.len())
            .map(|kind| meetings.clone().map(|meeting| i64::from(self.pairs(kind, meeting))).collect())
            .collect();
        let mut rods = vec![None; self.rugs.len()];
        let mut tried = 0;
        if !self.hand_round(&order, &mut left, &mut rods, &mut tried) {
            for &(rug, place) in &order {
                rods[rug] = self.kinds(rug, place.frame).first().copied();
            }
        }
        rods
    }

    fn hand_round(
        &self,
        order: &[(usize, Placed)],
        left: &mut [Vec<i64>],
        rods: &mut [Option<usize>],
        tried: &mut u32,
    ) -> bool {
        let Some((&(rug, place), others)) = order.split_first() else { return true };
        let kinds = self.kinds(rug, place.frame);
        if kinds.is_empty() {
            return self.hand_round(others, left, rods, tried);
        }
        let fixed = self.rugs[rug].fixed.is_some();
        let stretch = place.from as usize - 1..place.to as usize;
        for &kind in kinds {
            *tried += 1;
            if *tried > MOST_TRIED {
                return false;
            }
            if !fixed && left[kind][stretch.clone()].iter().any(|left| *left < 1) {
                continue;
            }
            left[kind][stretch.clone()].iter_mut().for_each(|left| *left -= 1);
            rods[rug] = Some(kind);
            if self.hand_round(others, left, rods, tried) {
                return true;
            }
            rods[rug] = None;
            left[kind][stretch.clone()].iter_mut().for_each(|left| *left += 1);
        }
        false
    }
}
