//! What a weaver chooses for a rug.
use sqlx::FromRow;

use crate::planning::WovenFrom;
use crate::planning::chart::Chart;
use crate::planning::cloth::Kind;
use crate::planning::warp::nail_rows::NailRows;
use crate::planning::warp::winding::Winding;
use crate::planning::warp::yarn::Yarn;
use crate::store::TermId;
use crate::units::{Length, Mass};

/// How a rug is wound and woven; by default as the trade usually does it, over all nails of equal rows.
#[derive(Clone, Debug, PartialEq, FromRow, Eq, Hash)]
pub struct Making {
    /// How the frame's nail rows stand to each other.
    pub nail_rows: NailRows,
    /// The rug's width where it is narrower than the frame.
    pub woven_width_nm: Option<Length>,
    /// How the warp is wound over the nails.
    pub winding: Winding,
    /// Where the weaving begins.
    pub woven_from: WovenFrom,
}

impl Default for Making {
    fn default() -> Self {
        Self {
            nail_rows: NailRows::Facing,
            woven_width_nm: None,
            winding: Winding::default(),
            woven_from: WovenFrom::OneEnd,
        }
    }
}

/// What a weaver chooses for a rug.
#[derive(Clone, Debug, PartialEq, FromRow, Eq, Hash)]
pub struct RugFields {
    /// What it is called.
    pub name: String,
    /// The term it is woven in, if any.
    pub term_id: Option<TermId>,
    /// Span of the frame it is planned for.
    pub span_nm: Length,
    /// Width of that frame.
    pub width_nm: Length,
    /// Nails per end of that frame.
    pub nails: i64,
    /// Pitch of that frame's nails, where it was measured.
    pub pitch_nm: Option<Length>,
    /// How it is wound and woven.
    #[sqlx(flatten)]
    pub making: Making,
    /// Width of the strips.
    pub strip_width_nm: Length,
    /// Width of the warp's, where they are cut wider or narrower.
    pub warp_strip_nm: Option<Length>,
    /// Bought yarn, where the warp is of that.
    pub warp_yarn: Option<Yarn>,
    /// Cloth of the warp.
    pub warp_kind: Kind,
    /// Cloth of the weft.
    pub weft_kind: Kind,
    /// Fringe at each end; zero for none.
    pub fringe_nm: Length,
    /// Whether a non-slip backing is sewn on.
    pub backing: bool,
    /// Whether the two strands trade places at the rod.
    pub strands_trade: bool,
    /// Warp strands that a weft strand passes together.
    pub unit_size: i64,
    /// Rugs the weaver finished before.
    pub rugs_before: i64,
    /// Minutes between two meetings that the weaver can work at home.
    pub home_minutes: i64,
    /// Length of a woven sample.
    pub sample_length_nm: Option<Length>,
    /// Rows counted in it.
    pub sample_rows: Option<i64>,
    /// What its weft weighed.
    pub sample_mass_mg: Option<Mass>,
}

/// A colour of cloth as people say it, and as a screen shows it.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Colour {
    /// In words.
    pub name: String,
    /// As `#rrggbb`.
    pub hex: String,
}

/// A band of a rug: its height and the colours of its two strands.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct RugBand {
    /// Along the warp.
    pub height: Length,
    /// The strand that shows first.
    pub first: Colour,
    /// The other strand.
    pub other: Colour,
    /// Width of its strips, where they are not the rug's.
    pub strip: Option<Length>,
    /// The picture that it is woven by.
    pub chart: Option<Chart>,
}
