//! How fast a weaver weaves: practice, what a log teaches, and the chance to finish. Dates and meetings are in `schedule`.
use super::uncertainty::chance::{beta_below, gamma_below, place_of};
use super::uncertainty::estimate::Range;
use crate::units::Minutes;
use serde::{Deserialize, Serialize};

/// Time of the n-th unit relative to the first, `n^(log₂ rate)`: each doubling leaves `rate` of the time.
///
/// Source: J. R. Crawford's unit form of the learning curve, as the NASA cost estimating handbook tells it (published check
/// 10.19; from memory). T. P. Wright's own law of 1936 is of the cumulative average.
pub fn practice(n: u32, rate: f64) -> f64 {
    f64::from(n.max(1)).powf(rate.log2())
}

/// Rugs behind somebody who weaves in the usual times: the eighth rug is the one they are calibrated for, so that a first
/// one is three doublings away from it. Reasoned estimate, no source.
pub const PRACTISED: u32 = 7;

/// Time of a rug against the usual one, by the rugs that its weaver has finished: 1 for the eighth, and for a weaver of whom
/// nobody said how many.
///
/// A first rug takes half again to twice as long (common practice, no source), which is what rates from 0.87 to 0.79 give:
/// `0.87⁻³` = 1.52, `0.83⁻³` = 1.75, `0.79⁻³` = 2.03.
pub fn against_practised(rugs_before: Option<u32>, rate: f64) -> f64 {
    let nth = |before: u32| practice(before.saturating_add(1), rate);
    nth(rugs_before.unwrap_or(PRACTISED)) / nth(PRACTISED)
}

/// How far such weavers' own pace lies from the usual one, as a factor that one in ten exceeds and one in ten stays as far
/// under: 1.7 for first rugs, of which classes differ most, down to 1.25 for practised weavers by equal parts of each
/// doubling. Reasoned estimate, no source: wide enough that a class that is 1.6 times slower is soon believed.
pub fn pace_reach(rugs_before: Option<u32>) -> f64 {
    const FIRST: f64 = 1.7;
    const LATER: f64 = 1.25;
    let rugs = rugs_before.unwrap_or(PRACTISED).min(PRACTISED) + 1;
    let unpractised = 1.0 - f64::from(rugs).log2() / f64::from(PRACTISED + 1).log2();
    LATER * (FIRST / LATER).powf(unpractised)
}

/// A gamma belief about a Poisson rate: `shape` events in `exposure`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gamma {
    /// Events, seen or worth of them.
    pub shape: f64,
    /// Time in which they were seen.
    pub exposure: f64,
}

impl Gamma {
    /// The belief after so many more events in so much more time.
    ///
    /// Source: Gelman et al., Bayesian Data Analysis, 3rd ed., §2.6.
    #[must_use]
    pub fn after(self, events: f64, exposure: f64) -> Self {
        Self { shape: self.shape + events, exposure: self.exposure + exposure }
    }

    /// The mean rate.
    pub fn mean(self) -> f64 {
        self.shape / self.exposure
    }
}

/// What is believed of one weaver's pace.
///
/// Twists come in spells, not one by one: joins, talk, a mistake undone. A spell of [`Pace::SPELL`] twists is the event
/// that counts as independent, so that an evening of two hours differs from the weaver's mean by some three parts in ten
/// and the prior's few hours leave room for weavers a quarter faster or slower. Reasoned estimate, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pace(Gamma);

impl Pace {
    /// Twists that count as one event.
    pub const SPELL: f64 = 160.0;

    /// The pace of a weaver of whom so much is believed: half of such weavers take less than `minutes` for `twists`, and the
    /// logarithm of their pace has the standard deviation `sd`. The less doubt, the more hours of log the belief is worth.
    ///
    /// A gamma rate's logarithm has the variance ψ′(a) ≈ 1/(a − ½), and its median is about (a − ⅓)/b (Abramowitz & Stegun
    /// 6.4.12; the median from memory).
    pub fn believed(twists: f64, minutes: Minutes, sd: f64) -> Self {
        let rate = twists.max(1.0) / minutes.get().max(1e-6) / Self::SPELL;
        let shape = 0.5 + 1.0 / sd.max(0.05).powi(2);
        Self(Gamma { shape, exposure: (shape - 1.0 / 3.0) / rate })
    }

    /// The belief itself: spells, and the minutes they took.
    pub fn belief(self) -> Gamma {
        self.0
    }

    /// How much log the belief is worth.
    pub fn worth(self) -> Minutes {
        Minutes::new(self.0.exposure)
    }

    /// The pace after a logged stretch.
    #[must_use]
    pub fn after(self, twists: f64, minutes: Minutes) -> Self {
        Self(self.0.after(twists.max(0.0) / Self::SPELL, minutes.get().max(0.0)))
    }

    /// The mean pace in twists per minute.
    pub fn twists_per_minute(self) -> f64 {
        self.0.mean() * Self::SPELL
    }

    /// The chance, 0 to 1, that so many twists are done within so many minutes.
    ///
    /// The time for `r` events at a rate that is Gamma(a, b) is `b` times a beta-prime amount, so the chance is
    /// `I_x(r, a)` at `x = T/(T + b)`.
    pub fn chance(self, twists: f64, minutes: Minutes) -> f64 {
        if twists <= 0.0 {
            return 1.0;
        }
        let time = minutes.get().max(0.0);
        beta_below(twists / Self::SPELL, self.0.shape, time / (time + self.0.exposure))
    }

    /// The pace, in twists per minute, that such a share of weavers of whom this is known stay under.
    pub fn quantile(self, share: f64) -> f64 {
        let Gamma { shape, exposure } = self.0;
        // Twenty times the mean rate is beyond any of them.
        let most = 20.0 * (shape + 1.0) / shape.min(1.0);
        place_of(share, |x| gamma_below(shape, x * most)) * most / exposure * Self::SPELL
    }

    /// The time for so many twists: one weaver in ten is done by low, half by expected, nine in ten by take.
    pub fn time(self, twists: f64) -> Range<Minutes> {
        let at = |chance: f64| {
            if twists <= 0.0 {
                return Minutes::ZERO;
            }
            let x = place_of(chance, |x| beta_below(twists / Self::SPELL, self.0.shape, x));
            Minutes::new(self.0.exposure * x / (1.0 - x).max(f64::EPSILON))
        };
        Range { low: at(0.1), expected: at(0.5), p90: at(0.9) }
    }
}
