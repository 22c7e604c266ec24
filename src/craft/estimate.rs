//! How doubt in the inputs becomes a range of the result. Which inputs there are is in `settings`.
//!
//! An input's low and high are read as the values that one case in ten lies under and over. A need is almost a product
//! of its inputs, so doubt is carried on the logarithm: each doubtful input is moved alone to its low and its high, the
//! whole need is computed again, and the relative changes of independent inputs are added in quadrature, upward and
//! downward apart. For a product of independent lognormal inputs that is exact: a ninth decile of each gives the ninth
//! decile of the product. An input that serves several parts (the one cloth of all weft colours) is moved in all of
//! them at once, so that its parts count as perfectly correlated: takes of colours add up to the take of the whole.
use super::quantity::{Minutes, Quantity};
use super::settings::{At, Settings};
use super::units::{Length, Mass};
use serde::{Deserialize, Serialize};

/// A need as low, expected, take: one case in ten needs less than low, and take is enough nine times in ten.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Range<T> {
    /// One case in ten needs less.
    pub low: T,
    /// As many need less as need more.
    pub expected: T,
    /// The amount to prepare: enough nine times in ten.
    pub take: T,
}

/// The relative spread of a result: factors on the expected value, `down ≤ 1 ≤ up`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Factor from expected to low.
    pub down: f64,
    /// Factor from expected to take.
    pub up: f64,
}

impl Spread {
    /// The spread of a positive result over the doubtful settings; none where the result is nothing.
    pub fn of(settings: &Settings, result: impl Fn(&At) -> f64) -> Self {
        let [spread] = Self::of_all(settings, |at| [result(at)]);
        spread
    }

    /// The spreads of several results that are computed together.
    pub fn of_all<const N: usize>(settings: &Settings, results: impl Fn(&At) -> [f64; N]) -> [Self; N] {
        let base = results(&settings.at());
        let mut squares = [(0.0_f64, 0.0_f64); N];
        for (low, high) in settings.ends() {
            let ends = [results(&low), results(&high)];
            for (i, (down, up)) in squares.iter_mut().enumerate().filter(|(i, _)| base[*i] > 0.0) {
                let changes = ends.map(|end| (end[i] / base[i]).max(f64::MIN_POSITIVE).ln());
                *down += changes[0].min(changes[1]).min(0.0).powi(2);
                *up += changes[0].max(changes[1]).max(0.0).powi(2);
            }
        }
        squares.map(|(down, up)| Self { down: (-down.sqrt()).exp(), up: up.sqrt().exp() })
    }
}

impl Range<Length> {
    /// The range of a length from its expected value and its relative spread.
    pub fn length(expected: Length, spread: Spread) -> Self {
        Self { low: expected.scale(spread.down), expected, take: expected.scale(spread.up) }
    }
}

impl Range<Mass> {
    /// The range of a mass from its expected value and its relative spread.
    pub fn mass(expected: Mass, spread: Spread) -> Self {
        Self { low: expected.scale(spread.down), expected, take: expected.scale(spread.up) }
    }
}

impl Range<Minutes> {
    /// The range of a time from its expected value and its relative spread.
    pub fn minutes(expected: Minutes, spread: Spread) -> Self {
        Self { low: expected * spread.down, expected, take: expected * spread.up }
    }
}

impl<T: Into<Quantity>> Range<T> {
    /// The same range with its kind erased, for workings.
    pub fn quantities(self) -> Range<Quantity> {
        Range { low: self.low.into(), expected: self.expected.into(), take: self.take.into() }
    }
}
