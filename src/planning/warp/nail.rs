//! A nail as people count it, and as a turn on the strip's way.
use crate::units::Length;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A nail, as it is counted on the frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Nail {
    /// Whether it stands in the far row.
    pub far: bool,
    /// Counted from 1 at the left, as seen from the front.
    pub number: u32,
}

/// One nail on a strip's way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Turn {
    /// Which nail.
    pub nail: Nail,
    /// Its place along the row.
    pub at: Length,
}

impl fmt::Display for Nail {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{} {}", if self.far { "far" } else { "near" }, self.number)
    }
}

/// Text that names no nail.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{0}” names no nail: write the row and the number, such as near 5 or far 12.")]
pub struct NotANail(String);

impl FromStr for Nail {
    type Err = NotANail;

    fn from_str(text: &str) -> Result<Self, NotANail> {
        let wrong = || NotANail(text.chars().filter(|c| !c.is_control()).take(24).collect());
        let lower = text.trim().to_lowercase();
        let (far, number) = if let Some(number) = lower.strip_prefix("near") {
            (false, number)
        } else if let Some(number) = lower.strip_prefix("far") {
            (true, number)
        } else {
            return Err(wrong());
        };
        Ok(Self { far, number: number.trim().parse().map_err(|_| wrong())? })
    }
}
