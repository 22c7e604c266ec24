//! Everything computed for a rug, with ranges: what a plan holds. It is made in `planner`.
use super::cloth::Kind;
use super::locking::Locking;
use super::notices::Remark;
use super::pattern::{ColourId, Pattern};
use super::rods::{self, SidePull};
use super::steps::Step;
use super::uncertainty::estimate::Range;
use super::warp::Wrap;
use super::warp::path::WarpPath;
use super::warp::yarn::Yarn;
use super::workings::Derivation;
use crate::units::{Length, Mass, Minutes, Units};
use serde::Serialize;

/// Bought yarn for a warp.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct YarnPlan {
    /// A ball of it.
    pub of: Yarn,
    /// What the warp takes of it, with its joins, and the fringe where there is one.
    pub mass: Range<Mass>,
}

/// The warp.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WarpPlan {
    /// Nails per end in use; of the row with more of them, where the rows are unequal.
    pub nails: u32,
    /// The way from nail to nail.
    pub way: WarpPath,
    /// How the strip lies at the nails.
    #[serde(skip)]
    pub wrap: Wrap,
    /// Between the rows.
    pub span: Length,
    /// What a join takes of the strips.
    pub join: Length,
    /// Strands.
    pub strands: u32,
    /// Units that the weft passes in a row that begins with a whole one.
    pub units: u32,
    /// How the rows at both ends hold the warp's loops.
    pub locking: Locking,
    /// The strip's path, nail to nail, tails included.
    pub path: Length,
    /// The trade's rule of thumb, to compare.
    pub rule_of_thumb: Length,
    /// The ball of strip to wind: the path less what the strip gives under tension.
    pub length: Range<Length>,
    /// The yarn, where it is bought: balls of it are then what strips are otherwise.
    pub yarn: Option<YarnPlan>,
    /// Width of its strips.
    pub strip_width: Length,
    /// Length of the strips that the count below is for; of a ball of yarn.
    pub strip: Length,
    /// Strips for the take; balls of yarn.
    pub strips: u32,
    /// Joins for the take.
    pub joins: u32,
    /// What the ball then has beyond the take.
    pub left_over: Length,
}

impl WarpPlan {
    /// What is wound on, as a heading: a ball of joined strips, or yarn.
    pub fn heading(&self) -> &'static str {
        if self.yarn.is_some() { "Warp yarn" } else { "Warp, joined in one ball" }
    }

    /// What the take is joined from, as a heading.
    pub fn pieces_heading(&self) -> &'static str {
        if self.yarn.is_some() { "Balls and joins" } else { "Strips and joins" }
    }

    /// How many strips or balls of yarn make the take: `25 strips`, `2 balls`.
    pub fn pieces(&self) -> String {
        match (self.yarn, self.strips) {
            (Some(_), 1) => "1 ball".to_owned(),
            (Some(_), balls) => format!("{balls} balls"),
            (None, strips) => format!("{strips} strips"),
        }
    }

    /// The joins and what is joined, for strips of that kind: `24 joins; strips 90 in long, 1 1/2 in wide, percale`, or yarn
    /// with the weight to take.
    pub fn joined_of(&self, kind: Kind, units: Units) -> String {
        let joins = if self.joins == 1 { "1 join".to_owned() } else { format!("{} joins", self.joins) };
        match self.yarn {
            Some(yarn) => {
                format!("{joins}; balls of {}; take {}", yarn.of.show(units), yarn.mass.p90.show(units))
            }
            None => format!(
                "{} joins; strips {} long, {} wide, {}",
                self.joins,
                self.strip.show(units),
                self.strip_width.show(units),
                kind.facts().title.to_lowercase()
            ),
        }
    }
}

/// One colour's weft.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColourNeed {
    /// A name that doesn't change, for its workings.
    pub key: String,
    /// The colour's place in the rug's list.
    pub colour: ColourId,
    /// Width of the strips.
    pub strip: Length,
    /// Strip as worked in, joins not counted.
    pub length: Range<Length>,
    /// Strip to cut: what the joins take is in it.
    pub cut: Range<Length>,
    /// Its weight, with what the joins take.
    pub mass: Range<Mass>,
    /// Joins in this colour.
    pub joins: u32,
}

/// The weft.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeftPlan {
    /// Width of the rug's strips.
    pub strip: Length,
    /// Rows to the inch.
    pub rows_per_inch: f64,
    /// Rows, expected.
    pub rows: u32,
    /// Rows in one case in ten at most.
    pub rows_low: u32,
    /// Rows in nine cases in ten at most.
    pub rows_take: u32,
    /// Twists: each strand pair once round each unit in each row.
    pub twists: u64,
    /// How often the two strands turn once more between units, because charts let the same one stay in front.
    pub extra_turns: u64,
    /// What each strand takes more for one of these turns, in the rug's own strips; nothing without a chart.
    pub extra_turn: Length,
    /// How much longer than the rug is wide a strand is in one row, as a part of the width.
    pub take_up: f64,
    /// One strand, one row.
    pub strand: Length,
    /// Strip as worked in, joins not counted.
    pub length: Range<Length>,
    /// Strip to cut: what the joins take is in it.
    pub cut: Range<Length>,
    /// Joins at the frame.
    pub joins: u32,
    /// By colour, in the order of their first row, and within a colour by width of strip.
    pub colours: Vec<ColourNeed>,
}

/// Weights of cloth as cut strip; hems and offcuts of the sheets come on top.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClothPlan {
    /// Warp, with its joins; nothing where it is of bought yarn.
    pub warp: Range<Mass>,
    /// Weft, with its joins.
    pub weft: Range<Mass>,
    /// Fringe; nothing without one.
    pub fringe: Range<Mass>,
    /// All of it.
    pub total: Range<Mass>,
}

/// Times.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimePlan {
    /// Cutting, joining the warp, winding the ball, winding on.
    pub prepare: Range<Minutes>,
    /// Weaving.
    pub weave: Range<Minutes>,
    /// Taking off, fringe, backing.
    pub finish: Range<Minutes>,
}

/// Edge rods.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RodPlan {
    /// Rods.
    pub count: u32,
    /// The shortest that will do.
    pub least: Length,
    /// The stock to buy: bar length and bars; nothing when no stock is long enough.
    pub stock: Option<(Length, u32)>,
    /// Thickness taken for the tying.
    pub diameter: Length,
    /// The greatest distance between ties to the frame.
    pub tie_every: Length,
    /// Ties between the ends of each rod.
    pub ties: u32,
}

/// Fringe and backing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FinishPlan {
    /// Fringe strips, both ends.
    pub fringe_strips: u32,
    /// Cloth strip for them.
    pub fringe: Range<Length>,
    /// The backing's edge to stitch.
    pub backing_edge: Length,
    /// Thread for it.
    pub thread: Range<Length>,
}

/// A rug's size off the frame and washed: it draws in along the warp once the nails no longer hold it, across it without the rods,
/// and both again in the wash.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FinishedSize {
    /// Its length, without a fringe.
    pub length: Range<Length>,
    /// Its width.
    pub width: Range<Length>,
}

impl FinishedSize {
    /// The size in words, each side with what it may be.
    pub fn show(&self, units: Units) -> String {
        let side = |side: Range<Length>| {
            format!("{} ({} to {})", side.expected.show(units), side.low.show(units), side.p90.show(units))
        };
        format!("{} × {}", side(self.width), side(self.length))
    }
}

/// Everything computed for a rug.
///
/// # Examples
/// ```
/// use thrumhall::planning::{Plan, RugSpec};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// // A plain rug on the small frame, 18 × 33 in with 33 nails per end.
/// let plan = Plan::of(&RugSpec::plain(frame), Units::Inches)?;
/// assert_eq!((plan.length, plan.warp.strands, plan.weft.rows), (Length::inches(32.0), 65, 128));
/// assert_eq!(plan.warp.length.p90.show_long(Units::Inches), "60.7 yd");
/// assert_eq!(plan.cloth.total.p90.show(Units::Inches), "2 lb 14 oz");
/// assert_eq!(plan.minutes.weave.expected.show(), "6 h 5 min");
/// // Every number says how it was worked out.
/// assert!(plan.workings.iter().any(|derivation| derivation.key == "warp.strands"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// Woven length.
    pub length: Length,
    /// Woven width.
    pub width: Length,
    /// The warp.
    pub warp: WarpPlan,
    /// The weft.
    pub weft: WeftPlan,
    /// Bands in rows, and which colour shows where.
    pub pattern: Pattern,
    /// Weights of cloth.
    pub cloth: ClothPlan,
    /// Times.
    pub minutes: TimePlan,
    /// What to do in which order.
    pub steps: Vec<Step>,
    /// Edge rods.
    pub rods: RodPlan,
    /// Fringe and backing.
    pub finish: FinishPlan,
    /// Its size off the frame and washed.
    pub finished: FinishedSize,
    /// Things to say beside it.
    pub notices: Vec<Remark>,
    /// How every number was worked out.
    pub workings: Vec<Derivation>,
}

/// The rods of a frame with that span.
pub fn rod_plan(span: Length) -> RodPlan {
    let least = rods::least_length(span);
    let diameter = rods::USUAL_DIAMETER;
    let tie_every = rods::tying_distance(diameter, SidePull::WEFT, rods::STRAIGHT);
    RodPlan {
        count: 2,
        least,
        stock: rods::stock_for(least, 2).map(|stock| (stock.bar, stock.bars)),
        diameter,
        tie_every,
        ties: rods::ties(span, tie_every),
    }
}
