//! Everything computed for a rug, with ranges. The sums are in `needs`, the words about them in `explain`.
use super::cloth::WarpFit;
use super::estimate::{Range, Spread};
use super::explain;
use super::needs::{Counting, Needs, joins};
use super::pattern::{ColourId, Pattern};
use super::quantity::Minutes;
use super::rods::{self, SidePull};
use super::settings::{At, Dial};
use super::spec::{Rug, RugSpec, SpecError};
use super::steps::{Step, steps};
use super::units::{Length, Mass, Units};
use super::warp::{self, Joined};
use super::workings::Working;
use serde::Serialize;

/// The warp.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WarpPlan {
    /// Nails per end in use.
    pub nails: u32,
    /// Strands.
    pub strands: u32,
    /// Units that the weft passes.
    pub units: u32,
    /// The strip's path, nail to nail, tails included.
    pub path: Length,
    /// The trade's rule of thumb, to compare.
    pub rule_of_thumb: Length,
    /// The ball of strip to wind: the path less what the strip gives under tension.
    pub length: Range<Length>,
    /// Length of the strips that the count below is for.
    pub strip: Length,
    /// Strips for the take.
    pub strips: u32,
    /// Joins for the take.
    pub joins: u32,
    /// What the ball then has beyond the take.
    pub left_over: Length,
}

/// One colour's weft.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColourNeed {
    /// The colour's place in the rug's list.
    pub colour: ColourId,
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
    /// One strand, one row.
    pub strand: Length,
    /// Strip as worked in, joins not counted.
    pub length: Range<Length>,
    /// Strip to cut: what the joins take is in it.
    pub cut: Range<Length>,
    /// Joins at the frame.
    pub joins: u32,
    /// By colour, in the order of their first row.
    pub colours: Vec<ColourNeed>,
}

/// Weights of cloth as cut strip; hems and offcuts of the sheets come on top.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClothPlan {
    /// Warp, with its joins.
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

/// Something to say beside a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Notice {
    /// The warp's cloth stretches or sheds: the reason.
    WarpUnfit(&'static str),
    /// The warp's cloth wants a narrower strip.
    WarpNarrower,
    /// More than 1 lb to the square foot: heavier than braided rugs are.
    VeryHeavy,
    /// No rod in stock lengths is long enough.
    NoRodLongEnough,
}

impl Notice {
    /// The notice in words.
    pub fn text(self) -> String {
        match self {
            Self::WarpUnfit(why) => {
                format!("This cloth makes a poor warp: {why}. Take sheeting for the warp.")
            }
            Self::WarpNarrower => "Cut this cloth to narrower strips for the warp.".to_owned(),
            Self::VeryHeavy => {
                "This rug comes out very heavy: check the strip width and the kind of cloth.".to_owned()
            }
            Self::NoRodLongEnough => {
                format!(
                    "No rod of the usual stock ({:?} in) is long enough for this frame.",
                    rods::STOCK_INCHES
                )
            }
        }
    }
}

/// Everything computed for a rug.
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
    /// Things to say beside it.
    pub notices: Vec<Notice>,
    /// How every number was worked out.
    pub workings: Vec<Working>,
}

impl Plan {
    /// The plan of a rug.
    ///
    /// # Errors
    /// [`SpecError`] for a choice that can't be, worded in the person's units; the plan itself is the same in any.
    pub fn of(spec: &RugSpec, units: Units) -> Result<Self, SpecError> {
        let rug = spec.check(units)?;
        let at = rug.settings.at();
        let needs = Needs::of(&rug, &at, Counting::Whole);
        let pattern = Pattern::new(&rug.bands, needs.rows_per_inch, needs.units, spec.at_rod);
        let mut plan = Self {
            length: rug.length,
            width: rug.width,
            warp: warp_plan(&rug, &at, &needs, units)?,
            weft: weft_plan(&rug, &at, &needs, &pattern),
            cloth: ClothPlan {
                warp: Range::mass(needs.warp_mass, spread(&rug, &needs, |n| n.warp_mass.grams())),
                weft: Range::mass(needs.weft_mass, spread(&rug, &needs, |n| n.weft_mass.grams())),
                fringe: Range::mass(needs.fringe_mass, spread(&rug, &needs, |n| n.fringe_mass.grams())),
                total: Range::mass(needs.total_mass(), spread(&rug, &needs, |n| n.total_mass().grams())),
            },
            minutes: TimePlan {
                prepare: Range::minutes(needs.prepare(), spread(&rug, &needs, |n| n.prepare().get())),
                weave: Range::minutes(needs.time.weave, spread(&rug, &needs, |n| n.time.weave.get())),
                finish: Range::minutes(needs.finish(), spread(&rug, &needs, |n| n.finish().get())),
            },
            steps: steps(&needs, &pattern),
            rods: rod_plan(rug.spec.frame.span()),
            finish: FinishPlan {
                fringe_strips: needs.fringe_strips,
                fringe: Range::length(needs.fringe, spread(&rug, &needs, |n| n.fringe.mm())),
                backing_edge: needs.backing_edge,
                thread: Range::length(needs.thread, spread(&rug, &needs, |n| n.thread.mm())),
            },
            notices: Vec::new(),
            workings: Vec::new(),
            pattern,
        };
        plan.notices = notices(&rug, &plan);
        plan.workings = explain::workings(&rug, &needs, &plan);
        Ok(plan)
    }

    /// Twists still to do after so many rows.
    pub fn twists_after(&self, rows: u32) -> u64 {
        u64::from(self.weft.rows.saturating_sub(rows)) * u64::from(self.warp.units)
    }
}

/// The spread of one need over the doubtful inputs, about its whole value.
///
/// Low and take are found with smooth rows and joins: a rug that is longer by less than a row has the same rows, and must
/// not be told to take less.
fn spread(rug: &Rug, whole: &Needs, need: impl Fn(&Needs) -> f64) -> Spread {
    let smooth = Needs::of(rug, &rug.settings.at(), Counting::Smooth);
    let Spread { down, up } = Spread::of(&rug.settings, |at| need(&Needs::of(rug, at, Counting::Smooth)));
    let (smooth, whole) = (need(&smooth), need(whole));
    let shift = if whole > 0.0 { smooth / whole } else { 1.0 };
    Spread { down: (down * shift).min(1.0), up: (up * shift).max(1.0) }
}

fn warp_plan(rug: &Rug, at: &At, needs: &Needs, units: Units) -> Result<WarpPlan, SpecError> {
    let length = Range::length(needs.warp, spread(rug, needs, |n| n.warp.mm()));
    let (strip, join) = (at.length(Dial::SheetStrip), at.length(Dial::Join));
    let too_short = || SpecError::StripTooShort { strip: strip.show(units), join: join.show(units) };
    let Joined { strips, joins, left_over } = warp::joined(length.take, strip, join).ok_or_else(too_short)?;
    Ok(WarpPlan {
        nails: rug.nails,
        strands: rug.strands,
        units: needs.units,
        path: needs.path,
        rule_of_thumb: warp::rule_of_thumb(rug.spec.frame.span(), rug.nails),
        length,
        strip,
        strips,
        joins,
        left_over,
    })
}

fn weft_plan(rug: &Rug, at: &At, needs: &Needs, pattern: &Pattern) -> WeftPlan {
    let [rows, length, cut, mass] = [
        spread(rug, needs, |n| n.rows),
        spread(rug, needs, |n| n.weft.mm()),
        spread(rug, needs, |n| n.weft_cut.mm()),
        spread(rug, needs, |n| n.weft_mass.grams()),
    ];
    let runs = pattern.runs();
    // One cloth's doubt is common to all colours, so each colour's relative spread is the whole weft's.
    let colour = |colour: ColourId| {
        let own = || runs.iter().filter(|run| run.colour == colour);
        let worked = needs.strand * own().map(|run| i64::from(run.rows)).sum();
        let joins: u32 = own().map(|run| joins(run, needs.strand, at)).sum();
        let whole = worked + at.length(Dial::Join) * i64::from(joins);
        let share = needs.weft_mass.scale(whole.ratio(needs.weft_cut));
        let (length, cut) = (Range::length(worked, length), Range::length(whole, cut));
        ColourNeed { colour, length, cut, mass: Range::mass(share, mass), joins }
    };
    WeftPlan {
        rows_per_inch: needs.rows_per_inch,
        rows: needs.rows as u32,
        rows_low: (needs.rows * rows.down).round() as u32,
        rows_take: (needs.rows * rows.up).round() as u32,
        twists: needs.rows as u64 * u64::from(needs.units),
        strand: needs.strand,
        length: Range::length(needs.weft, length),
        cut: Range::length(needs.weft_cut, cut),
        joins: needs.weft_joins as u32,
        colours: pattern.colours().into_iter().map(colour).collect(),
    }
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

fn notices(rug: &Rug, plan: &Plan) -> Vec<Notice> {
    let area = rug.length.metres() * rug.width.metres();
    // 1 lb/ft², a ceiling from memory for braided rugs.
    let heavy = plan.cloth.total.expected.grams() / area > 4882.4;
    let warp = match rug.spec.warp_kind.facts().warp {
        WarpFit::Fit => None,
        WarpFit::Narrower => Some(Notice::WarpNarrower),
        WarpFit::Unfit(why) => Some(Notice::WarpUnfit(why)),
    };
    let others = [(heavy, Notice::VeryHeavy), (plan.rods.stock.is_none(), Notice::NoRodLongEnough)];
    warp.into_iter().chain(others.into_iter().filter(|(is, _)| *is).map(|(_, notice)| notice)).collect()
}
