//! How doubt in the inputs becomes a range of the result. Which inputs there are is in `settings`.
//!
//! An input's low and high are read as the values that one case in ten lies under and over. A need is almost a product
//! of its inputs, so doubt is carried on the logarithm: each doubtful input is moved alone to its low and its high, the
//! whole need is computed again, and the relative changes count as so many steps of a normal deviate, the downward and
//! the upward ones with a step of their own. Of independent inputs the cumulants add up, and the deciles of the sum
//! follow from its first four by R. A. Cornish and R. A. Fisher's expansion (Revue de l'Institut International de
//! Statistique 5, 1937, 307–320; Abramowitz & Stegun 26.2.49). For a product of lognormal inputs that is exact; adding
//! the changes in quadrature, upward and downward apart, is not, where inputs are skew: then preparing took no longer than
//! its take for 87 to 88 rugs in a hundred instead of 90, and less than its low for 7 instead of 10. An input that serves
//! several parts (the one cloth of all weft colours) is moved in all of them at once, so that its parts count as
//! perfectly correlated: takes of colours add up to the take of the whole.
use super::chance::NINTH_DECILE;
use crate::planning::settings::{Evaluation, Parameter, Settings};
use crate::units::{Length, Mass, Minutes, Quantity};
use serde::{Deserialize, Serialize};

/// A need as low, expected, take: one case in ten needs less than low, and take is enough nine times in ten.
///
/// # Examples
/// ```
/// use thrumhall::planning::uncertainty::estimate::{Range, Spread};
/// use thrumhall::units::Mass;
///
/// let weft = Range::mass(Mass::from_grams(800.0), Spread { down: 0.75, up: 1.3 });
/// assert_eq!((weft.low, weft.p90), (Mass::from_grams(600.0), Mass::from_grams(1040.0)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Range<T> {
    /// One case in ten needs less.
    pub low: T,
    /// As many need less as need more.
    pub expected: T,
    /// The amount to prepare: enough nine times in ten.
    #[serde(rename = "take")]
    pub p90: T,
}

/// The relative spread of a result: factors on the expected value, `down ≤ 1 ≤ up`.
///
/// # Examples
/// ```
/// use thrumhall::planning::settings::{Evaluation, Parameter, Settings};
/// use thrumhall::planning::uncertainty::estimate::Spread;
///
/// let rows = |at: &Evaluation| at.number(Parameter::RowsPerInch);
/// let strand = |at: &Evaluation| 1.0 + at.number(Parameter::TakeUp);
/// let weft = |at: &Evaluation| rows(at) * strand(at);
/// let settings = Settings::default();
/// let [rows, strand, weft] = Spread::of_all(&settings, |at| [rows(at), strand(at), weft(at)]);
/// // Both are seldom high at once.
/// assert!(weft.up > rows.up.max(strand.up) && weft.up < rows.up * strand.up);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Factor from expected to low.
    pub down: f64,
    /// Factor from expected to take.
    pub up: f64,
}

impl Spread {
    /// The spread of a positive result over the doubtful settings; none where the result is nothing.
    pub fn of(settings: &Settings, result: impl Fn(&Evaluation) -> f64) -> Self {
        let [spread] = Self::of_all(settings, |at| [result(at)]);
        spread
    }

    /// The spreads of several results that are computed together.
    pub fn of_all<const N: usize>(
        settings: &Settings,
        results: impl Fn(&Evaluation) -> [f64; N],
    ) -> [Self; N] {
        let base = results(&settings.at());
        let mut sums = [Cumulants::default(); N];
        for (_, low, high) in settings.ends() {
            let (downs, ups) = (results(&low), results(&high));
            for (i, sum) in sums.iter_mut().enumerate().filter(|(i, _)| base[*i] > 0.0) {
                sum.add(&Cumulants::between(base[i], downs[i], ups[i]));
            }
        }
        sums.map(|sum| {
            let [down, up] = [-NINTH_DECILE, NINTH_DECILE].map(|z| sum.quantile(z).exp());
            Self { down: down.min(1.0), up: up.max(1.0) }
        })
    }

    /// The standard deviation of the logarithm that gives such deciles.
    pub fn sd(self) -> f64 {
        (self.up / self.down).ln() / (2.0 * NINTH_DECILE)
    }
}

/// The first four cumulants of a change on the logarithm.
#[derive(Debug, Clone, Copy, Default)]
struct Cumulants {
    sums: [f64; 4],
    /// Whether the result falls where the input rises.
    falls: bool,
}

/// E|z|ⁿ of a standard normal z over one side, for n = 1 to 4.
const SIDE: [f64; 4] = [0.398_942_280, 0.5, 0.797_884_561, 1.5];

impl Cumulants {
    /// Of one input: `down` and `up` are the changes at its first and ninth decile.
    fn of(down: f64, up: f64) -> Self {
        let moment = |n: usize| {
            let [down, up] = [down, up].map(|change| (change / NINTH_DECILE).powi(n as i32));
            (down + up) * SIDE[n - 1]
        };
        let [m1, m2, m3, m4] = [moment(1), moment(2), moment(3), moment(4)];
        let variance = m2 - m1 * m1;
        let third = m3 - 3.0 * m2 * m1 + 2.0 * m1.powi(3);
        let central = m4 - 4.0 * m3 * m1 + 6.0 * m2 * m1 * m1 - 3.0 * m1.powi(4);
        let fourth = central - 3.0 * variance * variance;
        Self { sums: [m1, variance, third, fourth], falls: false }
    }

    /// Of one input that gives these results at its first and ninth decile instead of `base`.
    fn between(base: f64, down: f64, up: f64) -> Self {
        let [down, up] = [down, up].map(|result| (result / base).max(f64::MIN_POSITIVE).ln());
        Self { falls: up < down, ..Self::of(down, up) }
    }

    fn add(&mut self, other: &Self) {
        for (sum, part) in self.sums.iter_mut().zip(other.sums) {
            *sum += part;
        }
    }

    /// Where the sum lies that is at the normal deviate `z`.
    fn quantile(&self, z: f64) -> f64 {
        let [mean, variance, third, fourth] = self.sums;
        if variance <= 0.0 {
            return mean;
        }
        let sd = variance.sqrt();
        let (skew, kurtosis) = (third / sd.powi(3), fourth / variance.powi(2));
        let bend = skew * (z * z - 1.0) / 6.0 + kurtosis * (z.powi(3) - 3.0 * z) / 24.0
            - skew * skew * (2.0 * z.powi(3) - 5.0 * z) / 36.0;
        mean + sd * (z + bend)
    }
}

/// What one doubtful setting does to the logarithm of a result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Effect {
    pub(crate) parameter: Parameter,
    /// How far its skewness shifts the mean.
    pub(crate) mean: f64,
    /// The change by one standard deviation; negative where the result falls.
    pub(crate) load: f64,
}

/// What each doubtful setting does to the logarithm of a positive result, leaving out those that do nothing.
pub(crate) fn effects(settings: &Settings, result: impl Fn(&Evaluation) -> f64) -> Vec<Effect> {
    let base = result(&settings.at()).max(f64::MIN_POSITIVE);
    let told = settings.ends().map(|(parameter, low, high)| {
        let part = Cumulants::between(base, result(&low), result(&high));
        let [mean, variance, ..] = part.sums;
        Effect { parameter, mean, load: if part.falls { -variance.sqrt() } else { variance.sqrt() } }
    });
    told.filter(|effect| effect.load.abs() > 1e-9).collect()
}

impl Range<Length> {
    /// The range of a length from its expected value and its relative spread.
    pub fn length(expected: Length, spread: Spread) -> Self {
        Self { low: expected.scale(spread.down), expected, p90: expected.scale(spread.up) }
    }
}

impl Range<Mass> {
    /// The range of a mass from its expected value and its relative spread.
    pub fn mass(expected: Mass, spread: Spread) -> Self {
        Self { low: expected.scale(spread.down), expected, p90: expected.scale(spread.up) }
    }
}

impl Range<Minutes> {
    /// The range of a time from its expected value and its relative spread.
    pub fn minutes(expected: Minutes, spread: Spread) -> Self {
        Self { low: expected * spread.down, expected, p90: expected * spread.up }
    }
}

impl<T: Into<Quantity>> Range<T> {
    /// The same range with its kind erased, for workings.
    pub fn quantities(self) -> Range<Quantity> {
        Range { low: self.low.into(), expected: self.expected.into(), p90: self.p90.into() }
    }
}
