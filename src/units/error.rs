//! What can be wrong with a typed length or weight, in words for the person who typed it.
use thiserror::Error;

/// Why a typed length or weight could not be read. Every message names the value and a form that would be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnitError {
    /// Nothing but spaces.
    #[error("No {what} is given. Write it like {form}.")]
    Empty {
        /// `length` or `weight`.
        what: &'static str,
        /// Examples that can be read.
        form: &'static str,
    },
    /// More characters than any length or weight needs.
    #[error("“{value}” is too long for a {what}: {limit} characters are the most. Write it like {form}.")]
    TooLong {
        /// `length` or `weight`.
        what: &'static str,
        /// The start of what was typed.
        value: String,
        /// The most characters that are read.
        limit: usize,
        /// Examples that can be read.
        form: &'static str,
    },
    /// The text is no number with a unit.
    #[error("“{value}” can't be read as a {what}: {why}. Write it like {form}.")]
    Unreadable {
        /// `length` or `weight`.
        what: &'static str,
        /// What was typed, shortened.
        value: String,
        /// What stopped the reading.
        why: String,
        /// Examples that can be read.
        form: &'static str,
    },
    /// A weight without its unit, or one part without.
    #[error("“{value}” needs a unit. Write the {what} like {form}.")]
    NeedsUnit {
        /// `length` or `weight`.
        what: &'static str,
        /// What was typed, shortened.
        value: String,
        /// Examples that can be read.
        form: &'static str,
    },
    /// One comma with three digits after it: a decimal comma or a thousands comma.
    #[error(
        "“{value}” can be read in two ways. Is it {decimal} or {whole}? Write the {what} without the comma."
    )]
    CommaUnclear {
        /// `length` or `weight`.
        what: &'static str,
        /// What was typed, shortened.
        value: String,
        /// The reading with a decimal comma, such as `1.006`.
        decimal: String,
        /// The reading with a thousands comma, such as `1006`.
        whole: String,
    },
    /// Too many digits, or beyond what the program holds.
    #[error("“{value}” is beyond the largest {what} that can be kept, {limit}.")]
    TooLarge {
        /// `length` or `weight`.
        what: &'static str,
        /// What was typed, shortened.
        value: String,
        /// The largest that can be kept.
        limit: &'static str,
    },
}

/// Why a length or weight is not allowed here; the range is written in the person's units.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum RangeError {
    /// Nothing, where something is needed.
    #[error("It can't be zero: from {min} to {max} is allowed.")]
    Zero {
        /// The least allowed.
        min: String,
        /// The most allowed.
        max: String,
    },
    /// Less than nothing.
    #[error("{value} is less than zero: from {min} to {max} is allowed.")]
    Negative {
        /// What was given.
        value: String,
        /// The least allowed.
        min: String,
        /// The most allowed.
        max: String,
    },
    /// Too little or too much.
    #[error("{value} is out of range: from {min} to {max} is allowed.")]
    Outside {
        /// What was given.
        value: String,
        /// The least allowed.
        min: String,
        /// The most allowed.
        max: String,
    },
}
