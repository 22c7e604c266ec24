//! What is wanted of panels, and the sizes that there are.
use crate::units::Length;

/// The size of the rug that a frame makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Between the edge rods.
    pub width: Length,
    /// As woven.
    pub length: Length,
}

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// The whole rug.
    pub size: Size,
    /// How far each side may be off.
    pub tolerance: Length,
    /// Sides of panels that differ by no more are sewn together as if they were equal.
    pub ease: Length,
    /// The most panels.
    pub most: usize,
    /// Whether a frame's rug may also be woven narrower, an equal share of a wanted side. Its length is the frame's.
    pub narrower: bool,
}
