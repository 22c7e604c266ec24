//! One rug, computed: pure functions of sizes, cloth and pace. Knows no database, clock, file or network.
pub mod units;

pub use units::{Areal, Length, Mass, Units};
