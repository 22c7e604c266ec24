//! From a rug's choices to its plan. The sums are in `needs`, the words about them in `explain`.
use super::cloth::{Kind, USUAL_STRIP, WarpFit, usual_strip};
use super::explain;
use super::needs::{Counting, Needs, Sort, joins, length_of, wrap};
use super::notices::Remark;
use super::pattern::{BandRows, ColourId, Pattern};
use super::plan::{
    ClothPlan, ColourNeed, FinishPlan, FinishedSize, Plan, TimePlan, WarpPlan, WeftPlan, YarnPlan, rod_plan,
};
use super::settings::{Evaluation, Parameter, Provenance};
use super::spec::{Rug, RugSpec, SpecError};
use super::steps::steps;
use super::strand::{pattern, take_up_unsure};
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
        let pattern = pattern(&rug, needs.rows_per_inch);
        let spreads = Spreads::of(&rug, &needs);
        let mut plan = Self {
            length: rug.length,
            width: rug.width,
            warp: warp_plan(&rug, &at, &needs, &spreads, units)?,
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
            finished: FinishedSize {
                length: Range::length(rug.length.scale(needs.kept_length), spreads.kept_length),
                width: Range::length(rug.width.scale(needs.kept_width), spreads.kept_width),
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
            /// rows, and must not be told to take less. Where counting whole rows and joins goes further to one side
            /// than the doubt does, as with the joins of a very short weft, the doubt stands about what is counted.
            fn of(rug: &Rug, whole: &Needs) -> Self {
                let all = |needs: &Needs| [$({ let need: fn(&Needs) -> f64 = $need; need(needs) }),*];
                let smooth = all(&Needs::of(rug, &rug.settings.at(), Counting::Smooth));
                let whole = all(whole);
                let spreads =
                    Spread::of_all(&rug.settings, |at| all(&Needs::of(rug, at, Counting::Smooth)));
                let mut about_whole = spreads.into_iter().zip(smooth).zip(whole).map(|((spread, smooth), whole)| {
                    let shift = if whole > 0.0 { smooth / whole } else { 1.0 };
                    let about = |end: f64| 1.0 + (end - 1.0) * shift;
                    Spread {
                        down: (spread.down * shift).min(about(spread.down)).max(0.0),
                        up: (spread.up * shift).max(about(spread.up)),
                    }
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
    yarn_mass = |needs| needs.yarn_mass.grams();
    weft_mass = |needs| needs.weft_mass.grams();
    fringe_mass = |needs| needs.fringe_mass.grams();
    total_mass = |needs| needs.total_mass().grams();
    prepare = |needs| needs.prepare().get();
    weave = |needs| needs.time.weave.get();
    finish = |needs| needs.finish().get();
    fringe = |needs| needs.fringe.mm();
    thread = |needs| needs.thread.mm();
    kept_length = |needs| needs.kept_length;
    kept_width = |needs| needs.kept_width;
}

fn warp_plan(
    rug: &Rug,
    at: &Evaluation,
    needs: &Needs,
    spreads: &Spreads,
    units: Units,
) -> Result<WarpPlan, SpecError> {
    let length = Range::length(needs.warp, spreads.warp);
    let bought = rug.spec.warp_yarn;
    let strip = bought.map_or(at.length(Parameter::SheetStrip), |yarn| yarn.length);
    let join = at.length(Parameter::Join);
    let too_short = || SpecError::StripTooShort { strip: strip.show(units), join: join.show(units) };
    let Joined { strips, joins, left_over } = warp::joined(length.p90, strip, join).ok_or_else(too_short)?;
    Ok(WarpPlan {
        nails: rug.path.nails_per_end(),
        way: rug.path.clone(),
        wrap: wrap(rug, at),
        span: rug.spec.frame.span(),
        join,
        strands: rug.path.strands(),
        units: needs.units,
        locking: rug.locking.clone(),
        path: needs.path,
        rule_of_thumb: rug.path.rule_of_thumb(rug.spec.frame.span()),
        length,
        yarn: bought.map(|of| YarnPlan { of, mass: Range::mass(needs.yarn_mass, spreads.yarn_mass) }),
        strip_width: rug.spec.warp_strip(),
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
        let length = |run| length_of(run, sort.strand, sort.extra_turn);
        let worked = own().map(length).sum::<Length>();
        let joins: u32 = own().map(|run| joins(run, length(run), at)).sum();
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
        twists: needs.twists as u64,
        extra_turns: needs.extra_turns as u64,
        extra_turn: needs.sorts[0].extra_turn,
        take_up: needs.take_up,
        strand: needs.strand,
        length: Range::length(needs.weft, spreads.weft),
        cut: Range::length(needs.weft_cut, spreads.weft_cut),
        joins: needs.weft_joins as u32,
        colours: colours.collect(),
    }
}

/// Bundles lighter than the first part of the usual one, or heavier than the second, get a word of advice; cloth that gives this part
/// of its length, as jersey does, is handled otherwise. Reasoned estimates, no source.
const THIN: f64 = 0.6;
const THICK: f64 = 1.6;
const STRETCHY: f64 = 0.15;

/// What there is to say of a plan, in the order of its sections.
fn notices(rug: &Rug, plan: &Plan) -> Vec<Remark> {
    let area = rug.length.metres() * rug.width.metres();
    // 1 lb/ft², a ceiling from memory for braided rugs.
    let yarn = plan.warp.yarn.map_or(0.0, |yarn| yarn.mass.expected.grams());
    let heavy = (plan.cloth.total.expected.grams() + yarn) / area > 4882.4;
    let warp = match rug.spec.warp_kind.facts().warp {
        _ if plan.warp.yarn.is_some() => None,
        WarpFit::Fit => None,
        WarpFit::Narrower => Some(Remark::WarpNarrower),
        WarpFit::Unfit(why) => Some(Remark::WarpUnfit(why)),
    };
    let areal = rug.settings.at().areal(Parameter::WeftAreal);
    let bundle = areal.gsm() * rug.spec.strip_width.mm() / (Kind::Percale.facts().typical * USUAL_STRIP.mm());
    let usual = usual_strip(areal);
    let stretches = rug.spec.weft_kind.facts().stretch >= STRETCHY;
    let idle = rug.path.idle.len() as u32;
    let guessed = rug.settings.get(Parameter::TakeUp).basis == Provenance::Default;
    let [near, far] = [(false, &rug.locking.near), (true, &rug.locking.far)].map(|(far, end)| {
        let (open, loops) = (end.open().len() as u32, end.loops.len() as u32);
        (open > 0, Remark::LoopsOpen { far, open, loops })
    });
    let cut_off = cut_off(plan);
    let others = [
        (idle > 0, Remark::NailsIdle(idle)),
        near,
        far,
        (plan.pattern.joint().is_some_and(|joint| !joint.matches), Remark::HalvesDiffer),
        (rug.room().close(), if plan.warp.yarn.is_some() { Remark::YarnClose } else { Remark::WarpClose }),
        (guessed && take_up_unsure(rug), Remark::TakeUpUnsure),
        (heavy, Remark::VeryHeavy),
        (plan.rods.stock.is_none(), Remark::NoRodLongEnough),
        (bundle < THIN, Remark::StripThin(usual)),
        (bundle > THICK, Remark::StripThick(usual)),
        (stretches, Remark::WeftStretches),
    ];
    let others = others.into_iter().filter(|(is, _)| *is).map(|(_, notice)| notice);
    warp.into_iter().chain(others).chain(cut_off).collect()
}

/// The charts that don't go into their bands whole.
fn cut_off(plan: &Plan) -> Vec<Remark> {
    let pattern = &plan.pattern;
    let told = |(number, band): (u32, &BandRows)| {
        let chart = pattern.charts.get(usize::from(band.chart?))?;
        let (rows, units) = (band.rows(), pattern.units);
        if chart.high() > rows {
            Some(Remark::ChartTooHigh { band: number, chart: chart.high(), rows })
        } else if chart.across() > units {
            Some(Remark::ChartTooWide { band: number, chart: chart.across(), units })
        } else {
            None
        }
    };
    (1..).zip(&pattern.bands).filter_map(told).collect()
}
