//! A number with its kind, so that pages can write it in the reader's units. What a number means is for `workings`.
use super::{Areal, Length, Mass, Units};
use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, Mul};

/// A working time in minutes; fractions of a minute are kept.
///
/// # Examples
/// ```
/// use thrumhall::units::Minutes;
///
/// // The twists of a small rug, 128 rows of 33 units, at five seconds each.
/// let weaving = Minutes::seconds(5.0) * (128.0 * 33.0);
/// assert_eq!(weaving.get(), 352.0);
/// assert_eq!(weaving.show(), "5 h 50 min");
/// assert_eq!((Minutes::ZERO + Minutes::new(47.0)).show(), "47 min");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Minutes(f64);

impl Minutes {
    /// No time.
    pub const ZERO: Self = Self(0.0);

    /// The time of so many minutes.
    pub const fn new(minutes: f64) -> Self {
        Self(minutes)
    }

    /// The time of so many seconds.
    pub fn seconds(seconds: f64) -> Self {
        Self(seconds / 60.0)
    }

    /// The time in minutes.
    pub const fn get(self) -> f64 {
        self.0
    }

    /// The time in hours.
    pub fn hours(self) -> f64 {
        self.0 / 60.0
    }

    /// The time as people read it: whole minutes below an hour, five minutes above: `45 min`, `6 h 10 min`.
    pub fn show(self) -> String {
        if self.0 < 60.0 {
            return format!("{:.0} min", self.0);
        }
        let fives = (self.0 / 5.0).round() as u64 * 5;
        match fives % 60 {
            0 => format!("{} h", fives / 60),
            rest => format!("{} h {rest} min", fives / 60),
        }
    }
}

impl Add for Minutes {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}
impl Mul<f64> for Minutes {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self(self.0 * factor)
    }
}
impl Sum for Minutes {
    fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
        parts.fold(Self::ZERO, Add::add)
    }
}

/// One number of a plan, with its kind.
///
/// # Examples
/// ```
/// use thrumhall::units::{Length, Quantity, Units};
///
/// assert_eq!(Quantity::from(Length::inches(33.0)).show(Units::Inches), "33 in");
/// assert_eq!(Quantity::from(Length::inches(2131.2)).show(Units::Inches), "59.2 yd");
/// assert_eq!(Quantity::PerInch(4.0).show(Units::Metric), "15.7 in 10 cm");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "value", rename_all = "snake_case")]
pub enum Quantity {
    /// A distance or a length of strip.
    Length(Length),
    /// A weight of cloth.
    Mass(Mass),
    /// Mass per area of cloth.
    Areal(Areal),
    /// A time.
    Minutes(Minutes),
    /// Pieces, rows, strands.
    Count(f64),
    /// A plain factor, such as a take-up of 0.28.
    Ratio(f64),
    /// So many per inch, such as rows.
    PerInch(f64),
    /// So many seconds for one act or piece.
    Seconds(f64),
}

impl Quantity {
    /// The number in the one unit of its kind: nanometres, milligrams, g/m², minutes, pieces, a factor, per inch, seconds.
    pub fn number(self) -> f64 {
        match self {
            Self::Length(v) => v.nm() as f64,
            Self::Mass(v) => v.mg() as f64,
            Self::Areal(v) => v.gsm(),
            Self::Minutes(v) => v.get(),
            Self::Count(v) | Self::Ratio(v) | Self::PerInch(v) | Self::Seconds(v) => v,
        }
    }

    /// Whether both are of one kind.
    pub fn same_kind(self, other: Self) -> bool {
        std::mem::discriminant(&self) == std::mem::discriminant(&other)
    }

    /// The same kind of quantity, so many times as much.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        match self {
            Self::Length(v) => Self::Length(v.scale(factor)),
            Self::Mass(v) => Self::Mass(v.scale(factor)),
            Self::Areal(v) => Self::Areal(Areal::from_gsm(v.gsm() * factor)),
            Self::Minutes(v) => Self::Minutes(v * factor),
            Self::Count(v) => Self::Count(v * factor),
            Self::Ratio(v) => Self::Ratio(v * factor),
            Self::PerInch(v) => Self::PerInch(v * factor),
            Self::Seconds(v) => Self::Seconds(v * factor),
        }
    }

    /// The number as people read it, in their units.
    pub fn show(self, units: Units) -> String {
        match self {
            // Long strips are spoken of in yards or metres; a frame's sides are not.
            Self::Length(v) if v.abs().yards() > 4.0 => v.show_long(units),
            Self::Length(v) => v.show(units),
            Self::Mass(v) => v.show(units),
            Self::Areal(v) => v.show(units),
            Self::Minutes(v) => v.show(),
            Self::Count(v) => trimmed(v, 1),
            Self::Ratio(v) => trimmed(v, 3),
            Self::PerInch(v) => match units {
                Units::Inches => format!("{} to the inch", trimmed(v, 2)),
                Units::Metric => format!("{} in 10 cm", trimmed(v / 2.54 * 10.0, 1)),
            },
            Self::Seconds(v) => format!("{} s", trimmed(v, 2)),
        }
    }
}

fn trimmed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

impl From<Length> for Quantity {
    fn from(v: Length) -> Self {
        Self::Length(v)
    }
}
impl From<Mass> for Quantity {
    fn from(v: Mass) -> Self {
        Self::Mass(v)
    }
}
impl From<Areal> for Quantity {
    fn from(v: Areal) -> Self {
        Self::Areal(v)
    }
}
impl From<Minutes> for Quantity {
    fn from(v: Minutes) -> Self {
        Self::Minutes(v)
    }
}
