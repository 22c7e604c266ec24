//! Lengths and masses as whole nanometres and milligrams. Reading what people type is in `read`, writing it back in
//! `show`; nothing here knows rugs or cloth.
mod areal;
pub mod dates;
mod error;
pub(crate) mod fractions;
mod quantity;
mod read;
mod show;

pub use areal::Areal;
pub use error::{RangeError, UnitError};
pub use quantity::{Minutes, Quantity};
pub use show::isolated;

use serde::{Deserialize, Serialize};
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

/// The system a person reads and types in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Inches and pounds.
    #[default]
    Inches,
    /// Centimetres and grams.
    Metric,
}

/// A length in whole nanometres. 1 in is 25 400 000 nm exactly (international yard and pound, 1959).
///
/// The reader takes at most [`Length::LARGEST`], so thousands of typed lengths add up far inside an `i64`.
///
/// # Examples
/// ```
/// use thrumhall::units::{Length, Units};
///
/// let span = Length::parse("2 ft 9 in", Units::Metric)?;
/// assert_eq!(span, Length::inches(33.0));
/// assert_eq!(span.nm(), 838_200_000);
/// assert_eq!(span.exact(Units::Metric), "83.82 cm");
/// // It could be 1.006 mm or 1006 mm.
/// assert!(Length::parse("1,006 mm", Units::Metric).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Length(i64);

/// A mass in whole milligrams. 1 lb is 453 592.37 mg exactly (international yard and pound, 1959).
///
/// The reader takes at most [`Mass::LARGEST`], so thousands of weighings add up far inside an `i64`.
///
/// # Examples
/// ```
/// use thrumhall::units::{Mass, Units};
///
/// let bundle = Mass::parse("2 lb 8 oz", Units::Metric)?;
/// assert_eq!(bundle.mg(), 1_133_981);
/// let left = bundle - Mass::parse("500 g", Units::Metric)?;
/// assert_eq!(left.grams(), 633.981);
/// assert_eq!(Mass::parse(&left.exact(Units::Metric), Units::Inches)?, left);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Mass(i64);

pub(crate) const NM_PER_INCH: i64 = 25_400_000;
const MG_PER_POUND: f64 = 453_592.37;

macro_rules! quantity {
    ($name:ident, $from:ident, $get:ident, $unit:literal) => {
        impl $name {
            /// Nothing at all.
            pub const ZERO: Self = Self(0);

            #[doc = concat!("The quantity of so many ", $unit, ".")]
            pub const fn $from(value: i64) -> Self {
                Self(value)
            }

            #[doc = concat!("The quantity in whole ", $unit, ".")]
            pub const fn $get(self) -> i64 {
                self.0
            }

            /// The sum, or nothing where it leaves the range of an `i64`.
            pub fn checked_add(self, other: Self) -> Option<Self> {
                self.0.checked_add(other.0).map(Self)
            }

            /// The difference, or nothing where it leaves the range of an `i64`.
            pub fn checked_sub(self, other: Self) -> Option<Self> {
                self.0.checked_sub(other.0).map(Self)
            }

            /// The whole multiple, or nothing where it leaves the range of an `i64`.
            pub fn checked_mul(self, times: i64) -> Option<Self> {
                self.0.checked_mul(times).map(Self)
            }

            #[doc = concat!("The nearest whole number of ", $unit, " to a computed amount, halves to even.")]
            ///
            /// # Panics
            /// When the amount is no number, or leaves the range of an `i64`: inputs are checked long before that.
            fn nearest(amount: f64) -> Self {
                assert!(amount.abs() < 9.2e18, concat!("{} ", $unit, " can't be held"), amount);
                Self(amount.round_ties_even() as i64)
            }

            /// The quantity times a plain factor, rounded to the nearest whole unit, halves to even.
            ///
            /// # Panics
            /// When the product is no number, or leaves the range of an `i64`.
            #[must_use]
            pub fn scale(self, factor: f64) -> Self {
                Self::nearest(self.0 as f64 * factor)
            }

            /// How many times `other` goes into this, as a plain ratio; infinite or no number when `other` is nothing.
            pub fn ratio(self, other: Self) -> f64 {
                self.0 as f64 / other.0 as f64
            }

            /// The quantity without its sign.
            ///
            /// # Panics
            /// For the one `i64` that has no positive twin.
            #[must_use]
            pub fn abs(self) -> Self {
                if self.0 < 0 { -self } else { self }
            }

            /// The quantity itself when it lies between `min` and `max`, both allowed.
            ///
            /// # Errors
            /// [`RangeError`], with the range in the person's units; nothing and less than nothing are told apart.
            pub fn within(self, min: Self, max: Self, units: Units) -> Result<Self, RangeError> {
                if (min..=max).contains(&self) {
                    return Ok(self);
                }
                let (value, min, max) = (self.exact(units), min.exact(units), max.exact(units));
                Err(match self.0 {
                    0 => RangeError::Zero { min, max },
                    v if v < 0 => RangeError::Negative { value, min, max },
                    _ => RangeError::Outside { value, min, max },
                })
            }
        }

        // A wrong balance is worse than a stopped request, so sums never wrap round, in any build.
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                self.checked_add(other).unwrap_or_else(|| too_big(stringify!($name)))
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                self.checked_sub(other).unwrap_or_else(|| too_big(stringify!($name)))
            }
        }
        impl Mul<i64> for $name {
            type Output = Self;
            fn mul(self, times: i64) -> Self {
                self.checked_mul(times).unwrap_or_else(|| too_big(stringify!($name)))
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self::ZERO - self
            }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }
        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }
        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(parts: I) -> Self {
                parts.fold(Self::ZERO, Add::add)
            }
        }
        impl<'a> Sum<&'a $name> for $name {
            fn sum<I: Iterator<Item = &'a Self>>(parts: I) -> Self {
                parts.copied().sum()
            }
        }
    };
}

quantity!(Length, from_nm, nm, "nanometres");
quantity!(Mass, from_mg, mg, "milligrams");

fn too_big<T>(what: &str) -> T {
    panic!("{what}: the result leaves the range of an i64")
}

impl Length {
    /// The longest length that the reader takes, 1000 km.
    pub const LARGEST: Self = Self(1_000_000_000_000_000);

    /// The length of so many inches, to the nearest nanometre.
    ///
    /// # Panics
    /// When `inches` is no number or absurdly large: meant for constants and checked computations.
    pub fn inches(inches: f64) -> Self {
        Self::nearest(inches * NM_PER_INCH as f64)
    }

    /// The length of so many millimetres, to the nearest nanometre.
    ///
    /// # Panics
    /// As [`Length::inches`].
    pub fn millimetres(mm: f64) -> Self {
        Self::nearest(mm * 1e6)
    }

    /// The length in millimetres.
    pub fn mm(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// The length in inches.
    pub fn in_inches(self) -> f64 {
        self.0 as f64 / NM_PER_INCH as f64
    }

    /// The length in yards.
    pub fn yards(self) -> f64 {
        self.in_inches() / 36.0
    }

    /// The length in metres.
    pub fn metres(self) -> f64 {
        self.0 as f64 / 1e9
    }
}

impl Mass {
    /// The largest mass that the reader takes, 1000 tonnes.
    pub const LARGEST: Self = Self(1_000_000_000_000);

    /// The mass of so many grams, to the nearest milligram.
    ///
    /// # Panics
    /// When `grams` is no number or absurdly large: meant for constants and checked computations.
    pub fn from_grams(grams: f64) -> Self {
        Self::nearest(grams * 1e3)
    }

    /// The mass of so many pounds, to the nearest milligram.
    ///
    /// # Panics
    /// As [`Mass::from_grams`].
    pub fn from_pounds(pounds: f64) -> Self {
        Self::nearest(pounds * MG_PER_POUND)
    }

    /// The mass in grams.
    pub fn grams(self) -> f64 {
        self.0 as f64 / 1e3
    }

    /// The mass in avoirdupois pounds.
    pub fn pounds(self) -> f64 {
        self.0 as f64 / MG_PER_POUND
    }
}
