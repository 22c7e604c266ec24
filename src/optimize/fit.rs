//! Whether a frame serves a rug. Where the frame is, and whether it is whole, is not known here.
use crate::units::Length;

/// The sizes of a frame that a plan depends on: those a rug was planned for, or those a frame has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Opening {
    /// Between the nail rows.
    pub span: Length,
    /// Between the edge rods.
    pub width: Length,
    /// Nails per end.
    pub nails: i64,
}

/// How well a frame serves a rug, the best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    /// The size it was planned for: the printed plan holds.
    AsPlanned,
    /// No smaller either way: the rug goes on it, and its plan has to be made again.
    Larger,
    /// Smaller in span, width or nails: another rug than the one that was planned.
    Smaller,
}

/// By how much two lengths may differ and still be one size, ½ in: frames are built to about that. Common practice, no
/// source.
pub const SAME: Length = Length::from_nm(12_700_000);

/// How well a frame serves a rug planned for `wanted`.
pub fn fit(frame: Opening, wanted: Opening) -> Fit {
    let same = |a: Length, b: Length| (a - b).abs() <= SAME;
    if same(frame.span, wanted.span) && same(frame.width, wanted.width) && frame.nails == wanted.nails {
        return Fit::AsPlanned;
    }
    let room = |has: Length, needs: Length| has + SAME >= needs;
    if room(frame.span, wanted.span) && room(frame.width, wanted.width) && frame.nails >= wanted.nails {
        return Fit::Larger;
    }
    Fit::Smaller
}

#[cfg(test)]
mod tests {
    use super::{Fit, Opening, fit};
    use crate::units::Length;

    // The two usual frames, 18 × 33 in and 24 × 44 in: common practice, no source.
    fn opening(span: f64, width: f64, nails: i64) -> Opening {
        Opening { span: Length::inches(span), width: Length::inches(width), nails }
    }

    #[test]
    fn half_an_inch_is_the_same_size_and_more_is_not() {
        let wanted = opening(33.0, 18.0, 33);
        assert_eq!(fit(wanted, wanted), Fit::AsPlanned);
        assert_eq!(fit(opening(32.5, 18.5, 33), wanted), Fit::AsPlanned);
        assert_eq!(fit(opening(33.75, 18.0, 33), wanted), Fit::Larger);
        assert_eq!(fit(opening(32.25, 18.0, 33), wanted), Fit::Smaller);
    }

    #[test]
    fn a_frame_that_is_smaller_in_one_way_is_smaller() {
        let (small, large) = (opening(33.0, 18.0, 33), opening(44.0, 24.0, 43));
        assert_eq!(fit(large, small), Fit::Larger);
        assert_eq!(fit(small, large), Fit::Smaller);
        assert_eq!(fit(opening(44.0, 24.0, 30), small), Fit::Smaller, "fewer nails");
        assert_eq!(fit(opening(33.0, 18.0, 34), small), Fit::Larger, "more nails are another warp");
    }
}
