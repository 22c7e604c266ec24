//! Why a rug can't be pieced together, in words.
use super::Among;
use thiserror::Error;

/// Why there is no layout.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PanelsError {
    /// Nothing comes near enough.
    #[error("{}o {most} or fewer panels of these sizes come within {tolerance} of {wanted}{}.{nearest}",
        if *.proven { "N" } else { "As far as could be searched, n" },
        if *.among == Among::All { String::new() } else { format!(", among {}", .among.name()) })]
    NoFit {
        /// The most panels allowed.
        most: usize,
        /// The tolerance.
        tolerance: String,
        /// The wanted size.
        wanted: String,
        /// A sentence on the nearest size that was seen, or nothing.
        nearest: String,
        /// Whether every one of those layouts was looked at.
        proven: bool,
        /// Which they are.
        among: Among,
    },
    /// A size that makes no sense.
    #[error("{what}: {given} is out of range: from {min} to {max} is allowed.")]
    Range {
        /// Of what.
        what: &'static str,
        /// As given.
        given: String,
        /// The least.
        min: String,
        /// The most.
        max: String,
    },
}
