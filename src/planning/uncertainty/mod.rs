//! How sure a number is: distributions, and ranges of what is computed from uncertain values.
pub mod chance;
pub mod estimate;
