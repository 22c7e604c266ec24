//! The search for a good timetable: give one rug the place that it would like, take that place from others, let these find
//! places again, and keep the result where it is better, or by a chance that shrinks (ejection with annealing; the idea of
//! ruin and recreate is Schrimpf et al., J. Comput. Phys. 159 (2000) 139–171, from memory).
use super::model::{LAST, Model, PRIORITY, Picks, Score};
use crate::optimize::chance::Chance;

/// The heat at the beginning, as a part of what a rug counts for on average, and the part of it that is left at the end;
/// and how many times dearer a loss in an earlier aim is than the same part of this one. Tried on random terms.
const HOT: f64 = 0.1;
const COOLED: f64 = 0.05;
const KEPT: f64 = 100.0;
/// The most rugs without a place that are tried again in one step.
const MOST_TRIED: usize = 8;

pub(super) struct Search<'m, 'p> {
    model: &'m Model<'p>,
    picks: Picks,
    score: Score,
    /// What is left of all that can be held.
    left: Vec<i64>,
    /// The rugs on each kind of frame.
    on: Vec<Vec<usize>>,
    waiting: Vec<usize>,
    /// Rugs that have any choice.
    free: Vec<usize>,
    /// The choices of each rug in the order in which it asks for them: the soonest done first, and by price.
    order: [Vec<Vec<usize>>; 2],
    chance: Chance,
    /// Rugs that this step has touched, with the choice that each had.
    touched: Vec<(usize, Option<usize>)>,
    pub best: Picks,
    pub best_score: Score,
}

impl<'m, 'p> Search<'m, 'p> {
    /// From a start that keeps the rules; who has no place there gets one if it can, the most urgent first.
    pub fn new(model: &'m Model<'p>, start: Picks, seed: u64) -> Self {
        let rugs = model.own.len();
        let soonest: Vec<Vec<usize>> = model.own.iter().map(|own| own.clone().collect()).collect();
        let free: Vec<usize> = (0..rugs).filter(|&rug| !model.own[rug].is_empty()).collect();
        let mut search = Self {
            model,
            picks: vec![None; rugs],
            score: [0; 3],
            left: model.room.clone(),
            on: vec![Vec::new(); model.alike.len()],
            waiting: free.clone(),
            free,
            order: [soonest.clone(), soonest],
            chance: Chance(seed),
            touched: Vec::new(),
            best: vec![None; rugs],
            best_score: [0; 3],
        };
        for pick in start.into_iter().flatten() {
            if search.fits(pick) {
                search.put(pick);
            }
        }
        let mut order = search.waiting.clone();
        order.sort_by_key(|&rug| std::cmp::Reverse(model.worth[model.own[rug].start][PRIORITY]));
        for rug in order {
            search.settle(rug, 0, false);
        }
        search.note();
        search
    }

    /// Asks by these worths from now on, as by their prices: the greater the sooner.
    pub fn follow(&mut self, worth: &[f64]) {
        let [soonest, priced] = &mut self.order;
        priced.clone_from(soonest);
        for list in priced {
            list.sort_by(|&a, &b| worth[b].total_cmp(&worth[a]).then(a.cmp(&b)));
        }
    }

    /// So many steps towards `aim`, with what was reached of the aims before it kept; ends sooner at `enough`.
    pub fn improve(&mut self, aim: usize, steps: u64, enough: i64, watch: &mut dyn FnMut() -> bool) -> bool {
        if self.free.is_empty() {
            return true;
        }
        let best = self.best.clone();
        self.go_to(&best);
        let mean = |aim: usize| {
            let most = |&rug: &usize| {
                let own = self.model.own[rug].clone();
                own.map(|at| self.model.worth[at][aim].abs()).max().unwrap_or(0) as f64
            };
            (self.free.iter().map(most).sum::<f64>() / self.free.len() as f64).max(1e-3)
        };
        let typical = mean(aim);
        let mut weights = [0.0; 3];
        (0..=aim).for_each(|at| weights[at] = typical / mean(at) * if at < aim { KEPT } else { 1.0 });
        for step in 0..steps {
            if self.best_score[aim] >= enough {
                break;
            }
            if step % 256 == 0 && !watch() {
                return false;
            }
            let spent = step as f64 / steps as f64;
            self.step(aim, &weights, typical * HOT * COOLED.powf(spent));
        }
        true
    }

    fn step(&mut self, aim: usize, weights: &[f64; 3], heat: f64) {
        let was = self.score;
        self.touched.clear();
        self.shake(aim);
        let loss: f64 = (0..3).map(|at| weights[at] * (was[at] - self.score[at]) as f64).sum();
        let taken = self.score >= was || loss <= heat * -self.chance.unit().max(1e-300).ln();
        if taken {
            self.note();
        } else {
            let touched = std::mem::take(&mut self.touched);
            for &(rug, _) in &touched {
                self.take_off(rug);
            }
            for &(_, pick) in &touched {
                if let Some(pick) = pick {
                    self.put(pick);
                }
            }
            self.touched = touched;
        }
    }

    /// One rug takes a place that it would like, and those in its way go elsewhere.
    fn shake(&mut self, aim: usize) {
        let model = self.model;
        let rug = if !self.waiting.is_empty() && (aim == PRIORITY || self.chance.below(4) == 0) {
            self.waiting[self.chance.below(self.waiting.len())]
        } else {
            let two = [0, 1].map(|_| self.free[self.chance.below(self.free.len())]);
            // Rather the one that is further from its best.
            let far = |rug: usize| {
                let best = model.worth[model.own[rug].start][LAST];
                self.picks[rug].map_or(i64::MAX, |pick| best - model.worth[pick][LAST])
            };
            if far(two[0]) >= far(two[1]) { two[0] } else { two[1] }
        };
        let list = &self.order[self.chance.below(2)][rug];
        // Near the front of the list, by the square of an even chance.
        let unit = self.chance.unit();
        let pick = list[((unit * unit * list.len() as f64) as usize).min(list.len() - 1)];
        self.touch(rug);
        let mut out = Vec::new();
        for held in model.holds[pick].clone().into_iter().flatten() {
            while self.left[held] < 1 {
                let Some(other) = self.in_the_way(held, pick) else { return };
                self.touch(other);
                out.push(other);
            }
        }
        self.put(pick);
        // One more rug now and then loses its place, so that two can change over.
        if self.chance.below(2) == 0 {
            let on = &self.on[model.choices[pick].alike];
            let other = on[self.chance.below(on.len())];
            if other != rug {
                self.touch(other);
                out.push(other);
            }
        }
        match self.chance.below(3) {
            0 => out.sort_by_key(|&rug| std::cmp::Reverse(model.worth[model.own[rug].start][PRIORITY])),
            1 => out.sort_by_key(|&rug| model.own[rug].len()),
            _ => self.chance.shuffle(&mut out),
        }
        let leaning = self.chance.below(2);
        for rug in out {
            self.settle(rug, leaning, true);
        }
        for _ in 0..self.waiting.len().min(MOST_TRIED) {
            let rug = self.waiting[self.chance.below(self.waiting.len())];
            self.settle(rug, leaning, true);
            if self.waiting.is_empty() {
                break;
            }
        }
    }

    /// A rug that holds the same as `pick` wants and could go.
    fn in_the_way(&mut self, held: usize, pick: usize) -> Option<usize> {
        let model = self.model;
        let frame = &model.holds[pick][0];
        let holds = |rug: &usize| {
            self.picks[*rug].is_some_and(|at| model.holds[at].iter().any(|range| range.contains(&held)))
        };
        let those: Vec<usize> = if frame.contains(&held) {
            self.on[model.choices[pick].alike].iter().copied().filter(holds).collect()
        } else {
            self.free.iter().copied().filter(holds).collect()
        };
        (!those.is_empty()).then(|| those[self.chance.below(those.len())])
    }

    /// Gives a rug without a place the first that is free in its list; with `blink` it now and then overlooks one.
    fn settle(&mut self, rug: usize, leaning: usize, blink: bool) {
        let list = std::mem::take(&mut self.order[leaning][rug]);
        let found = list
            .iter()
            .copied()
            .find(|&pick| self.fits(pick) && !(blink && self.chance.next().is_multiple_of(16)));
        self.order[leaning][rug] = list;
        if let Some(pick) = found {
            if blink {
                self.remember(rug);
            }
            self.put(pick);
        }
    }

    fn fits(&self, pick: usize) -> bool {
        self.model.holds[pick].iter().all(|range| self.left[range.clone()].iter().all(|left| *left > 0))
    }

    fn remember(&mut self, rug: usize) {
        if self.touched.iter().all(|(other, _)| *other != rug) {
            self.touched.push((rug, self.picks[rug]));
        }
    }

    fn touch(&mut self, rug: usize) {
        self.remember(rug);
        self.take_off(rug);
    }

    fn put(&mut self, pick: usize) {
        let choice = &self.model.choices[pick];
        for held in self.model.holds[pick].clone().into_iter().flatten() {
            self.left[held] -= 1;
        }
        self.picks[choice.rug] = Some(pick);
        self.on[choice.alike].push(choice.rug);
        self.waiting.retain(|&rug| rug != choice.rug);
        for (sum, worth) in self.score.iter_mut().zip(self.model.worth[pick]) {
            *sum += worth;
        }
    }

    fn take_off(&mut self, rug: usize) {
        let Some(pick) = self.picks[rug].take() else { return };
        for held in self.model.holds[pick].clone().into_iter().flatten() {
            self.left[held] += 1;
        }
        self.on[self.model.choices[pick].alike].retain(|&other| other != rug);
        self.waiting.push(rug);
        for (sum, worth) in self.score.iter_mut().zip(self.model.worth[pick]) {
            *sum -= worth;
        }
    }

    fn note(&mut self) {
        if self.score > self.best_score {
            self.best_score = self.score;
            self.best.clone_from(&self.picks);
        }
    }

    /// Takes up other choices, which keep the rules; the best stays the better of the two.
    pub fn go_to(&mut self, picks: &Picks) {
        for rug in 0..self.picks.len() {
            self.take_off(rug);
        }
        for &pick in picks.iter().flatten() {
            self.put(pick);
        }
        self.note();
    }
}
