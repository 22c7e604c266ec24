//! How the times came about, act by act.
use super::{COUNTING, SUM, count};
use crate::planning::needs::Needs;
use crate::planning::pace::PRACTISED;
use crate::planning::plan::Plan;
use crate::planning::settings::Parameter;
use crate::planning::spec::Rug;
use crate::planning::steps::{Step, StepKind};
use crate::planning::workings::Derivation;
use crate::units::Quantity::{Count, PerInch};

pub(super) fn workings(rug: &Rug, needs: &Needs, plan: &Plan) -> Vec<Derivation> {
    use Parameter::{JoinAtFrame, Practice, SlowEnd, SlowFactor, Turn, Twist, WeavingPace};
    let (time, settings) = (&plan.minutes, &rug.settings);
    let strips = Derivation::new("strips", "Strips to cut", Count(needs.strips))
        .by(
            if plan.warp.yarn.is_some() {
                "weft to cut / strip, rounded up"
            } else {
                "warp strips for the expected ball + (weft to cut + fringe) / strip, rounded up"
            },
            COUNTING,
        )
        .worked("warp ball", plan.warp.length.expected, "warp.length")
        .worked("weft strip to cut", plan.weft.cut.expected, "weft.cut")
        .parameters(settings, &[Parameter::SheetStrip, Parameter::Join]);
    let rugs_before = match rug.spec.rugs_before {
        Some(_) => "rugs finished before",
        None => "rugs finished before, as a practised weaver has",
    };
    let charted = !plan.pattern.charts.is_empty();
    let weave = Derivation::new("minutes.weave", "Weaving", time.weave.expected);
    let weave = if charted {
        weave
            .by(
                "((twists + slow rows · units · (times as slow − 1)) · s + turns more · time for one + rows · turn + joins · join) \
                 · practice · pace, slow rows = last stretch · rows to the inch, practice = ((rugs before + 1) / 8)^log₂(rate)",
                SUM,
            )
            .worked("turns more", Count(plan.weft.extra_turns as f64), "weft.extra_turns")
            .parameters(settings, &[Parameter::ExtraTurn])
    } else {
        weave.by(
            "((twists + slow rows · units · (times as slow − 1)) · s + rows · turn + joins · join) · practice · pace, \
             slow rows = last stretch · rows to the inch, practice = ((rugs before + 1) / 8)^log₂(rate)",
            SUM,
        )
    };
    let weave = weave
        .over(time.weave)
        .worked("twists", Count(plan.weft.twists as f64), "weft.twists")
        .worked("rows", count(plan.weft.rows), "weft.rows")
        .worked("joins", count(plan.weft.joins), "weft.joins")
        .worked("units", count(plan.warp.units), "warp.units")
        .worked("rows to the inch", PerInch(needs.rows_per_inch), "weft.rows_per_inch")
        .chosen(rugs_before, count(rug.spec.rugs_before.unwrap_or(PRACTISED)))
        .parameters(settings, &[Twist, Turn, JoinAtFrame, SlowEnd, SlowFactor, Practice, WeavingPace]);
    let mut all = vec![strips, weave];
    let (mut prepare, mut finish) = (
        Derivation::new("minutes.prepare", "Preparing", time.prepare.expected).over(time.prepare),
        Derivation::new("minutes.finish", "Finishing", time.finish.expected).over(time.finish),
    );
    for step in &plan.steps {
        let working = step_working(rug, needs, plan, step);
        let part = |sum: Derivation| sum.worked(working.title.clone(), step.minutes, working.key.clone());
        match step.kind {
            StepKind::CutStrips | StepKind::JoinWarp | StepKind::WindOn => prepare = part(prepare),
            StepKind::TakeOff | StepKind::Fringe | StepKind::Backing => finish = part(finish),
            StepKind::Weave { .. } => {}
        }
        all.push(working);
    }
    let preparing = if plan.warp.yarn.is_some() {
        "cutting + joining the yarn where one ball isn’t enough + winding on"
    } else {
        "cutting + joining and winding the ball + winding on"
    };
    all.push(prepare.by(preparing, SUM));
    all.push(finish.by("taking off, and fringe and backing where there are any", SUM));
    all
}

fn step_working(rug: &Rug, needs: &Needs, plan: &Plan, step: &Step) -> Derivation {
    let settings = &rug.settings;
    let timed =
        |title: &str, formula| Derivation::new(step.kind.working_key(), title, step.minutes).by(formula, SUM);
    match step.kind {
        StepKind::CutStrips => timed("Cutting strips", "strips · time for one · pace")
            .worked("strips", Count(needs.strips), "strips")
            .parameters(settings, &[Parameter::CutStrip, Parameter::PreparingPace]),
        StepKind::JoinWarp if plan.warp.yarn.is_some() => timed("Joining the yarn", "joins · join · pace")
            .chosen("joins, for the expected ball", Count(needs.warp_joins))
            .parameters(settings, &[Parameter::JoinAtTable, Parameter::PreparingPace]),
        StepKind::JoinWarp => {
            timed("Joining the warp, winding the ball", "(joins · join + yards · winding) · pace")
                .chosen("warp joins, for the expected ball", Count(needs.warp_joins))
                .worked("warp ball", plan.warp.length.expected, "warp.length")
                .parameters(
                    settings,
                    &[Parameter::JoinAtTable, Parameter::WindYard, Parameter::PreparingPace],
                )
        }
        StepKind::WindOn => timed("Winding on", "nails taken of both rows · time for a nail · pace")
            .chosen("nails taken of both rows", count(plan.warp.way.nails()))
            .parameters(settings, &[Parameter::WindNail, Parameter::PreparingPace]),
        StepKind::Weave { band, from_row, to_row } => {
            let rows = to_row - from_row;
            let by = if plan.pattern.charts.is_empty() {
                "weaving without the slow stretch · rows / all rows; the last band takes the slow stretch"
            } else {
                "weaving without the slow stretch and the turns more · rows / all rows, and the time of its own turns more; the last \
                 band takes the slow stretch"
            };
            let mut working = timed(&format!("Weaving band {}", band + 1), by).worked(
                "weaving",
                plan.minutes.weave.expected,
                "minutes.weave",
            );
            // A band across the middle of a rug woven from both ends is two steps, each with its own rows.
            working = if rows == plan.pattern.bands[band].rows() {
                working.worked("rows of the band", count(rows), format!("band.{band}.rows"))
            } else {
                if from_row >= plan.pattern.first_half() {
                    working.key.push_str(".far");
                }
                working.chosen("rows of the band in this half", count(rows))
            };
            working
                .worked("all rows", count(plan.weft.rows), "weft.rows")
                .parameters(settings, &[Parameter::SlowEnd, Parameter::SlowFactor])
        }
        StepKind::TakeOff => {
            timed("Taking off", "time for one rug").parameters(settings, &[Parameter::TakeOff])
        }
        StepKind::Fringe => timed("Tying in the fringe", "strips · time for one")
            .worked("fringe strips", count(plan.finish.fringe_strips), "finish.fringe_strips")
            .parameters(settings, &[Parameter::FringeStrand]),
        StepKind::Backing => timed("Stitching the backing", "edge · time for an inch")
            .worked("backing edge", plan.finish.backing_edge, "finish.backing_edge")
            .parameters(settings, &[Parameter::StitchInch]),
    }
}
