//! The warp's strands in groups, as a row takes them. Which grouping locks an end is `locking`'s.
use serde::Serialize;
use std::fmt::Write;
use std::ops::Range;

/// A row's units: the strands from left to right, as seen from the front with the near end below, in groups that a weft strand
/// passes together.
///
/// # Examples
/// ```
/// use thrumhall::planning::locking::row_units::RowUnits;
///
/// // Five strands two by two, and the same a strand aside.
/// let whole = RowUnits { strands: 5, size: 2, shift: 0 };
/// let aside = RowUnits { shift: 1, ..whole };
/// assert_eq!(whole.all().collect::<Vec<_>>(), [0..2, 2..4, 4..5]);
/// assert_eq!(aside.all().collect::<Vec<_>>(), [0..1, 1..3, 3..5]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct RowUnits {
    /// Strands across.
    pub strands: u32,
    /// Strands of a whole unit, at least 1.
    pub size: u32,
    /// How many strands the first unit lacks of a whole one, less than `size`.
    pub shift: u32,
}

impl RowUnits {
    /// Units, which is how often the two weft strands cross in the row: `⌈(strands + shift) / size⌉`.
    pub const fn units(self) -> u32 {
        if self.strands == 0 { 0 } else { (self.strands + self.shift).div_ceil(self.size) }
    }

    /// The strands of a unit, both counted from 0; none beyond the last unit.
    pub fn strands_of(self, unit: u32) -> Range<u32> {
        let begin = (unit * self.size).saturating_sub(self.shift).min(self.strands);
        begin..((unit + 1) * self.size).saturating_sub(self.shift).clamp(begin, self.strands)
    }

    /// Each unit's strands, from the left.
    pub fn all(self) -> impl DoubleEndedIterator<Item = Range<u32>> {
        (0..self.units()).map(move |unit| self.strands_of(unit))
    }

    /// The unit that a strand belongs to, both counted from 0.
    pub const fn unit_of(self, strand: u32) -> u32 {
        (strand + self.shift) / self.size
    }

    /// Whether a new unit begins after so many strands.
    pub const fn parts_after(self, strands: u32) -> bool {
        (strands + self.shift).is_multiple_of(self.size)
    }

    /// How the strands are taken, in words, from the left or, as on a frame turned half round, from the right: `the first 2 warp
    /// strands, then 2 by 2, the last 1 alone`.
    pub fn text(self, from_right: bool) -> String {
        let mut sizes: Vec<u32> = self.all().map(|unit| unit.end - unit.start).collect();
        if from_right {
            sizes.reverse();
        }
        let strands = |count: u32| if count == 1 { "strand" } else { "strands" };
        let (Some(&first), Some(&last)) = (sizes.first(), sizes.last()) else { return String::new() };
        let mut text = format!("the first {first} warp {}", strands(first));
        // Writing to a string can't fail.
        if sizes.len() > 1 {
            let one_by_one =
                if self.size == 1 { "one by one".into() } else { format!("{0} by {0}", self.size) };
            if last == self.size || sizes.len() > 2 {
                let _ = write!(text, ", then {one_by_one}");
            }
            if last < self.size {
                let together = if last == 1 { "alone" } else { "together" };
                let _ = write!(text, ", the last {last} {together}");
            }
        }
        text
    }
}
