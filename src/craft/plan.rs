//! Everything computed for a rug, with ranges. The sums are in `needs`, the words about them in `explain`.
use super::estimate::{Range, Spread};
use super::explain;
use super::needs::{Counting, Needs, Sort, joins, pattern, wrap};
use super::notices::{Notice, notices};
use super::path::WarpPath;
use super::pattern::{ColourId, Pattern};
use super::quantity::Minutes;
use super::rods::{self, SidePull};
use super::settings::{At, Dial};
use super::spec::{Rug, RugSpec, SpecError};
use super::steps::{Step, steps};
use super::units::{Length, Mass, Units};
use super::warp::{self, Joined, Wrap};
use super::workings::Working;
use serde::Serialize;

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
        let pattern = pattern(&rug, needs.rows_per_inch, needs.units);
        let spreads = Spreads::of(&rug, &needs);
        let mut plan = Self {
            length: rug.length,
            width: rug.width,
            warp: warp_plan(&rug, &at, &needs, spreads.warp, units)?,
            weft: weft_plan(&rug, &at, &needs, &pattern, &spreads),
            cloth: ClothPlan {
                warp: Range::mass(needs.warp_mass, spreads.warp_mass),
                weft: Range::mass(needs.weft_mass, spreads.weft_mass),
                fringe: Range::mass(needs.fringe_mass, spreads.fringe_mass),
                total: Range::mass(needs.total_mass(), spreads.total_mass),
            },
            minutes: TimePlan {
                prepare: Range::minutes(needs.prepare(), spreads.prepare),
                weave: Range::minutes(needs.time.weave, spreads.weave),
                finish: Range::minutes(needs.finish(), spreads.finish),
            },
            steps: steps(&needs, &pattern),
            rods: rod_plan(rug.spec.frame.span()),
            finish: FinishPlan {
                fringe_strips: needs.fringe_strips,
                fringe: Range::length(needs.fringe, spreads.fringe),
                backing_edge: needs.backing_edge,
                thread: Range::length(needs.thread, spreads.thread),
            },
            notices: Vec::new(),
            workings: Vec::new(),
            pattern,
        };
        plan.notices = notices(&rug, &plan);
        plan.workings = explain::workings(&rug, &needs, &plan);
        Ok(plan)
    }
}

macro_rules! spreads {
    ($($field:ident = $need:expr;)*) => {
        /// The relative spread of each need over the doubtful inputs.
        struct Spreads { $($field: Spread),* }

        impl Spreads {
            /// The spreads about the needs' whole values.
            ///
            /// Low and take are found with smooth rows and joins: a rug that is longer by less than a row has the same
            /// rows, and must not be told to take less.
            fn of(rug: &Rug, whole: &Needs) -> Self {
                let all = |needs: &Needs| [$({ let need: fn(&Needs) -> f64 = $need; need(needs) }),*];
                let smooth = all(&Needs::of(rug, &rug.settings.at(), Counting::Smooth));
                let whole = all(whole);
                let spreads =
                    Spread::of_all(&rug.settings, |at| all(&Needs::of(rug, at, Counting::Smooth)));
                let mut about_whole = spreads.into_iter().zip(smooth).zip(whole).map(|((spread, smooth), whole)| {
                    let shift = if whole > 0.0 { smooth / whole } else { 1.0 };
                    Spread { down: (spread.down * shift).min(1.0), up: (spread.up * shift).max(1.0) }
                });
                // One for each field: the array has as many as the macro has lines.
                Self { $($field: about_whole.next().unwrap_or(Spread { down: 1.0, up: 1.0 })),* }
            }
        }
    };
}

spreads! {
    rows = |needs| needs.rows;
    warp = |needs| needs.warp.mm();
    weft = |needs| needs.weft.mm();
    weft_cut = |needs| needs.weft_cut.mm();
    warp_mass = |needs| needs.warp_mass.grams();
    weft_mass = |needs| needs.weft_mass.grams();
    fringe_mass = |needs| needs.fringe_mass.grams();
    total_mass = |needs| needs.total_mass().grams();
    prepare = |needs| needs.prepare().get();
    weave = |needs| needs.time.weave.get();
    finish = |needs| needs.finish().get();
    fringe = |needs| needs.fringe.mm();
    thread = |needs| needs.thread.mm();
}

fn warp_plan(rug: &Rug, at: &At, needs: &Needs, spread: Spread, units: Units) -> Result<WarpPlan, SpecError> {
    let length = Range::length(needs.warp, spread);
    let (strip, join) = (at.length(Dial::SheetStrip), at.length(Dial::Join));
    let too_short = || SpecError::StripTooShort { strip: strip.show(units), join: join.show(units) };
    let Joined { strips, joins, left_over } = warp::joined(length.take, strip, join).ok_or_else(too_short)?;
    Ok(WarpPlan {
        nails: rug.path.nails_per_end(),
        way: rug.path.clone(),
        wrap: wrap(at),
        span: rug.spec.frame.span(),
        join,
        strands: rug.path.strands(),
        units: needs.units,
        path: needs.path,
        rule_of_thumb: rug.path.rule_of_thumb(rug.spec.frame.span()),
        length,
        strip,
        strips,
        joins,
        left_over,
    })
}

fn weft_plan(rug: &Rug, at: &At, needs: &Needs, pattern: &Pattern, spreads: &Spreads) -> WeftPlan {
    let runs = pattern.runs();
    // One cloth's doubt is common to all colours, so each colour's relative spread is the whole weft's.
    let colour = |colour: ColourId, sort: &Sort| {
        let own = || runs.iter().filter(move |run| run.colour == colour && run.strip == sort.strip);
        own().next()?;
        let worked = sort.strand * own().map(|run| i64::from(run.rows)).sum();
        let joins: u32 = own().map(|run| joins(run, sort.strand, at)).sum();
        let whole = worked + at.length(Dial::Join) * i64::from(joins);
        let mass = sort.mass.scale(if sort.cut > Length::ZERO { whole.ratio(sort.cut) } else { 0.0 });
        let strip = sort.strip.unwrap_or(rug.spec.strip_width);
        Some(ColourNeed {
            key: sort.strip.map_or_else(|| colour.to_string(), |strip| format!("{colour}-{}", strip.nm())),
            colour,
            strip,
            length: Range::length(worked, spreads.weft),
            cut: Range::length(whole, spreads.weft_cut),
            mass: Range::mass(mass, spreads.weft_mass),
            joins,
        })
    };
    let colours = pattern.colours();
    let colours = colours.iter().flat_map(|&id| needs.sorts.iter().filter_map(move |sort| colour(id, sort)));
    WeftPlan {
        strip: rug.spec.strip_width,
        rows_per_inch: needs.rows_per_inch,
        rows: needs.rows as u32,
        rows_low: (needs.rows * spreads.rows.down).round() as u32,
        rows_take: (needs.rows * spreads.rows.up).round() as u32,
        twists: needs.rows as u64 * u64::from(needs.units),
        take_up: needs.take_up,
        strand: needs.strand,
        length: Range::length(needs.weft, spreads.weft),
        cut: Range::length(needs.weft_cut, spreads.weft_cut),
        joins: needs.weft_joins as u32,
        colours: colours.collect(),
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
