//! From a rug's choices to its plan. The sums are in `needs`, the words about them in `explain`.
use super::cloth::WarpFit;
use super::explain;
use super::needs::{self, Counting, Needs, Sort, joins, pattern, wrap};
use super::notices::Remark;
use super::pattern::{ColourId, Pattern};
use super::plan::{ClothPlan, ColourNeed, FinishPlan, Plan, TimePlan, WarpPlan, WeftPlan, rod_plan};
use super::settings::{Evaluation, Parameter, Provenance};
use super::spec::{Rug, RugSpec, SpecError};
use super::steps::steps;
use super::uncertainty::estimate::{Range, Spread};
use super::warp::{self, Joined};
use crate::units::{Length, Units};

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

fn warp_plan(
    rug: &Rug,
    at: &Evaluation,
    needs: &Needs,
    spread: Spread,
    units: Units,
) -> Result<WarpPlan, SpecError> {
    let length = Range::length(needs.warp, spread);
    let (strip, join) = (at.length(Parameter::SheetStrip), at.length(Parameter::Join));
    let too_short = || SpecError::StripTooShort { strip: strip.show(units), join: join.show(units) };
    let Joined { strips, joins, left_over } = warp::joined(length.p90, strip, join).ok_or_else(too_short)?;
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

fn weft_plan(rug: &Rug, at: &Evaluation, needs: &Needs, pattern: &Pattern, spreads: &Spreads) -> WeftPlan {
    let runs = pattern.runs();
    // One cloth's doubt is common to all colours, so each colour's relative spread is the whole weft's.
    let colour = |colour: ColourId, sort: &Sort| {
        let own = || runs.iter().filter(move |run| run.colour == colour && run.strip == sort.strip);
        own().next()?;
        let worked = sort.strand * own().map(|run| i64::from(run.rows)).sum();
        let joins: u32 = own().map(|run| joins(run, sort.strand, at)).sum();
        let whole = worked + at.length(Parameter::Join) * i64::from(joins);
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

/// What there is to say of a plan, in the order of its sections.
fn notices(rug: &Rug, plan: &Plan) -> Vec<Remark> {
    let area = rug.length.metres() * rug.width.metres();
    // 1 lb/ft², a ceiling from memory for braided rugs.
    let heavy = plan.cloth.total.expected.grams() / area > 4882.4;
    let warp = match rug.spec.warp_kind.facts().warp {
        WarpFit::Fit => None,
        WarpFit::Narrower => Some(Remark::WarpNarrower),
        WarpFit::Unfit(why) => Some(Remark::WarpUnfit(why)),
    };
    let idle = rug.path.idle.len() as u32;
    let guessed = rug.settings.get(Parameter::TakeUp).basis == Provenance::Default;
    let others = [
        (idle > 0, Remark::NailsIdle(idle)),
        (plan.pattern.joint().is_some_and(|joint| !joint.matches), Remark::HalvesDiffer),
        (guessed && needs::take_up_unsure(rug), Remark::TakeUpUnsure),
        (heavy, Remark::VeryHeavy),
        (plan.rods.stock.is_none(), Remark::NoRodLongEnough),
    ];
    warp.into_iter().chain(others.into_iter().filter(|(is, _)| *is).map(|(_, notice)| notice)).collect()
}
