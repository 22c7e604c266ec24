//! Prices of what can be held, the bound that they prove, and the choices that they rule out.
//!
//! Each rug pays for what it holds and takes the choice that leaves it most. With any prices, what all rugs are left with
//! when each picks alone, and what all there is would bring, is no less than any timetable is worth (Lagrange's relaxation
//! of what is shared; Held, Wolfe, Crowder, Math. Programming 6 (1974) 62–88, from memory). What must be kept of earlier
//! aims has its price too. A choice that leaves less than the best of its rug by more than the bound lies above what is
//! wanted is in no timetable that reaches that.
use super::model::{Model, Score};

/// What may still be chosen.
#[derive(Debug, Clone)]
pub(super) struct Open {
    /// The choices of each rug.
    pub choices: Vec<Vec<usize>>,
    /// Whether a rug must have one of them.
    pub must: Vec<bool>,
}

impl Open {
    pub fn all(model: &Model<'_>) -> Self {
        let choices = model.own.iter().map(|own| own.clone().collect()).collect();
        Self { choices, must: vec![false; model.own.len()] }
    }

    pub fn count(&self) -> usize {
        self.choices.iter().map(Vec::len).sum()
    }
}

/// Rounds without gain after which the step is made smaller, and the step that gains nothing any more.
const PATIENCE: u32 = 15;
const SMALLEST: f64 = 3e-4;
/// What the newest picks count for in the average.
const NEWEST: f64 = 0.1;

/// The descent of the bound for one aim, a round at a time.
#[derive(Clone)]
pub(super) struct Prices<'m, 'p> {
    model: &'m Model<'p>,
    aim: usize,
    /// Earlier aims, what must be reached of each, and what a rug counts for in it on average.
    kept: Vec<(usize, i64, f64)>,
    at: Vec<f64>,
    way: Vec<f64>,
    slope: Vec<f64>,
    sums: Vec<f64>,
    step: f64,
    idle: u32,
    /// Whether nothing was picked yet.
    fresh: bool,
    /// The best prices so far.
    best: Vec<f64>,
    /// No timetable that keeps what must be kept reaches more of the aim.
    pub bound: f64,
}

impl<'m, 'p> Prices<'m, 'p> {
    /// For an aim, with what is reached of the `earlier` ones kept.
    pub fn new(model: &'m Model<'p>, aim: usize, earlier: &[usize], reached: Score) -> Self {
        let rugs = model.own.iter().filter(|own| !own.is_empty()).count().max(1) as f64;
        let most = |own: &std::ops::Range<usize>, aim: usize| {
            own.clone().map(|at| model.worth[at][aim].abs()).max().unwrap_or(0) as f64
        };
        let mean = |aim: usize| (model.own.iter().map(|own| most(own, aim)).sum::<f64>() / rugs).max(1e-3);
        let kept: Vec<(usize, i64, f64)> =
            earlier.iter().map(|&aim| (aim, reached[aim], mean(aim))).collect();
        let none = vec![0.0; model.room.len() + kept.len()];
        let mut at = none.clone();
        // At first an earlier aim counts for as much as all of this one's.
        at[model.room.len()..].fill(mean(aim) * 2.0);
        Self {
            model,
            aim,
            kept,
            way: none.clone(),
            slope: none,
            sums: vec![0.0; model.room.len() + 1],
            best: at.clone(),
            at,
            step: 1.0,
            idle: 0,
            fresh: true,
            bound: f64::INFINITY,
        }
    }

    pub fn is_done(&self) -> bool {
        self.step < SMALLEST || self.bound == f64::NEG_INFINITY
    }

    /// Takes long steps again, as after a better target is known or choices were closed.
    pub fn again(&mut self) {
        self.step = self.step.max(0.5);
        self.idle = 0;
        self.bound = f64::INFINITY;
        self.at.clone_from(&self.best);
        self.fresh = true;
    }

    fn add_up(&mut self, at: &[f64]) {
        let mut sum = 0.0;
        for (row, price) in at[..self.model.room.len()].iter().enumerate() {
            self.sums[row] = sum;
            sum += price;
        }
        self.sums[self.model.room.len()] = sum;
    }

    /// What a choice leaves its rug with.
    fn left(&self, at: &[f64], choice: usize) -> f64 {
        let worth = &self.model.worth[choice];
        let mut left = worth[self.aim] as f64;
        for ((aim, _, mean), price) in self.kept.iter().zip(&at[self.model.room.len()..]) {
            left += price * worth[*aim] as f64 / mean;
        }
        for range in &self.model.holds[choice] {
            left -= self.sums[range.end] - self.sums[range.start];
        }
        left
    }

    /// The best open choice of a rug and what it leaves; none at no gain, where it needn't have any.
    fn pick(&self, at: &[f64], open: &Open, rug: usize) -> (Option<usize>, f64) {
        let nothing = if open.must[rug] { f64::NEG_INFINITY } else { 0.0 };
        let mut best = (None, nothing);
        for &choice in &open.choices[rug] {
            let left = self.left(at, choice);
            if left > best.1 {
                best = (Some(choice), left);
            }
        }
        best
    }

    /// The bound at prices, and how much of everything is left there.
    fn round(&mut self, at: &[f64], open: &Open) -> f64 {
        self.add_up(at);
        let rows = self.model.room.len();
        let mut bound = 0.0;
        for (row, room) in self.model.room.iter().enumerate() {
            self.slope[row] = *room as f64;
            bound += at[row] * self.slope[row];
        }
        for (row, (_, wanted, mean)) in (rows..).zip(&self.kept) {
            self.slope[row] = -(*wanted as f64) / mean;
            bound += at[row] * self.slope[row];
        }
        for rug in 0..open.choices.len() {
            let (pick, left) = self.pick(at, open, rug);
            bound += left;
            let Some(pick) = pick else { continue };
            for held in self.model.holds[pick].clone().into_iter().flatten() {
                self.slope[held] -= 1.0;
            }
            for (row, (aim, _, mean)) in (rows..).zip(&self.kept) {
                self.slope[row] += self.model.worth[pick][*aim] as f64 / mean;
            }
        }
        bound
    }

    /// One round towards `target`, a value that is known to be reached: from the best prices along what was picked on
    /// average of late (the volume algorithm: Barahona and Anbil, Math. Programming 87 (2000) 385–399, from memory). Where
    /// many frames are as good for many rugs, all pick the same one at a time, and only the average says what is scarce.
    pub fn step(&mut self, open: &Open, target: i64) {
        let at = std::mem::take(&mut self.at);
        let bound = self.round(&at, open);
        self.at = at;
        for (way, slope) in self.way.iter_mut().zip(&self.slope) {
            *way = if self.fresh { *slope } else { *way + NEWEST * (slope - *way) };
        }
        self.fresh = false;
        self.idle += 1;
        if bound < self.bound {
            // A gain of almost nothing isn't one, or the descent would never end.
            if bound < self.bound - 1e-5 * bound.abs().max(1.0) {
                self.idle = 0;
                self.step = (self.step * 1.05).min(1.0);
            }
            self.bound = bound;
            self.best.clone_from(&self.at);
        }
        if self.idle > PATIENCE {
            self.idle = 0;
            self.step *= 0.66;
        }
        if self.bound == f64::NEG_INFINITY {
            return;
        }
        // What is free and left over has no way down.
        let down = |way: f64, price: f64| if price <= 0.0 { way.min(0.0) } else { way };
        let length: f64 =
            self.way.iter().zip(&self.best).map(|(&way, &price)| down(way, price).powi(2)).sum();
        if length < 1e-12 {
            // What is picked on average is the best there is, or nearly.
            self.step = if self.idle > 2 { 0.0 } else { self.step };
            self.at.clone_from(&self.best);
            return;
        }
        let apart = (self.bound - target as f64).max(1e-4 * (target as f64).abs()).max(1e-3);
        let stride = self.step * apart / length;
        for ((price, best), way) in self.at.iter_mut().zip(&self.best).zip(&self.way) {
            *price = (*best - stride * down(*way, *best)).max(0.0);
        }
    }

    /// What each choice leaves at the best prices; of those that aren't open as well.
    pub fn worths(&mut self) -> Vec<f64> {
        let best = std::mem::take(&mut self.best);
        self.add_up(&best);
        let worths = (0..self.model.choices.len()).map(|choice| self.left(&best, choice)).collect();
        self.best = best;
        worths
    }

    /// Closes every choice that no timetable has which reaches `wanted`, and sees which rugs each of those has a place for.
    pub fn rule_out(&mut self, open: &mut Open, wanted: i64) {
        let best = std::mem::take(&mut self.best);
        let bound = self.round(&best, open);
        // Sums of so many numbers are right to less than this.
        let least = wanted as f64 - 1e-6 * bound.abs().max(wanted.abs() as f64).max(1.0);
        for rug in 0..open.choices.len() {
            let (_, left) = self.pick(&best, open, rug);
            let mut choices = std::mem::take(&mut open.choices[rug]);
            choices.retain(|&choice| bound - left + self.left(&best, choice) >= least);
            open.choices[rug] = choices;
            open.must[rug] |= bound - left < least;
        }
        self.best = best;
    }
}
