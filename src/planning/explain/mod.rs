//! A working for every number of a plan. The numbers are `plan`'s and `needs`'; only the words are here: the warp's, the weft's
//! and the times', and where a rug stands, in files of their own.
mod standing;
mod time;
mod warp;
mod weft;

use super::needs::{self, Needs};
use super::pattern::BandRows;
use super::plan::{Plan, YarnPlan};
use super::rods as rod;
use super::settings::{Parameter, Provenance};
use super::spec::{Rug, RugSpec};
use super::uncertainty::estimate::Range;
use super::workings::Derivation;
use crate::units::Length;
use crate::units::Quantity::{self, Count, PerInch};
pub use standing::standing;

pub(crate) const GEOMETRY: &str = "geometry";
const COUNTING: &str = "counting";
pub(crate) const PRACTICE: &str = "common practice, no source";
const SUM: &str = "a sum of acts, each timed; common practice and reasoned estimates";
const MASS: &str = "mass per area times area, ISO 3801:1977";
const ROARK: &str = "Roark's Formulas for Stress and Strain: simply supported beam, even load (from memory)";

pub(crate) fn count(value: impl Into<f64>) -> Quantity {
    Count(value.into())
}

pub(crate) fn workings(rug: &Rug, needs: &Needs, plan: &Plan) -> Vec<Derivation> {
    let mut all = size(rug);
    all.extend(warp::workings(rug, plan));
    all.extend(weft::workings(rug, needs, plan));
    all.extend(weft::colours(plan));
    all.extend(bands(plan));
    all.extend(cloth(rug, plan));
    all.extend(time::workings(rug, needs, plan));
    all.extend(rods(rug, plan));
    all.extend(finish(rug, plan));
    all.extend(finished(rug, plan));
    all
}

fn finished(rug: &Rug, plan: &Plan) -> [Derivation; 2] {
    let size = &plan.finished;
    let told = |key, name, side: Range<Length>, by, woven, of, lost| {
        Derivation::new(key, name, side.expected)
            .by(by, PRACTICE)
            .over(side)
            .worked("woven", woven, of)
            .parameters(&rug.settings, &[lost])
    };
    [
        told(
            "finished.length",
            "Finished length",
            size.length,
            "woven length · (1 − what it loses)",
            rug.length,
            "size.length",
            Parameter::Shorter,
        ),
        told(
            "finished.width",
            "Finished width",
            size.width,
            "woven width · (1 − what it loses)",
            rug.width,
            "size.width",
            Parameter::Narrower,
        ),
    ]
}

fn size(rug: &Rug) -> Vec<Derivation> {
    let frame = &rug.spec.frame;
    let length = Derivation::new("size.length", "Woven length", rug.length);
    let width = Derivation::new("size.width", "Woven width", rug.width)
        .by("as chosen, or the frame's width", GEOMETRY);
    let length = if rug.spec.length.is_some() || !rug.spec.bands.is_empty() {
        length.by("as chosen: the bands' heights together", COUNTING).chosen("woven length", rug.length)
    } else {
        let allowance = RugSpec::ALLOWANCE;
        length.by("span − allowance", PRACTICE).chosen("span", frame.span()).chosen("allowance", allowance)
    };
    let pitch = Derivation::new("frame.pitch", "Pitch", frame.pitch());
    let pitch = if frame.pitch_measured() {
        pitch.by("as measured on the frame", GEOMETRY).chosen("pitch", frame.pitch())
    } else {
        let by = pitch
            .by("width / (nails per end − 1): nails spread evenly, the outer ones at the rods", GEOMETRY);
        by.chosen("width", frame.width()).chosen("nails per end", count(frame.nails()))
    };
    vec![length, width.chosen("width", rug.width), pitch]
}

fn bands(plan: &Plan) -> Vec<Derivation> {
    let of = |(i, band): (usize, &BandRows)| {
        let number = i + 1;
        let rows =
            Derivation::new(format!("band.{i}.rows"), format!("Rows of band {number}"), count(band.rows()));
        let rows = match band.strip {
            None => rows.by("end · rows to the inch − start · rows to the inch, each rounded", COUNTING),
            Some(strip) => rows
                .by(
                    "height · rows to the inch · √(rug's strip / this strip), rounded at both ends",
                    "a strip packs as a round bundle; reasoned",
                )
                .chosen("this band's strip", strip),
        };
        let rows = rows.chosen("start", band.start).worked("end", band.end, format!("band.{i}.end")).worked(
            "rows to the inch",
            PerInch(plan.weft.rows_per_inch),
            "weft.rows_per_inch",
        );
        [
            Derivation::new(format!("band.{i}.end"), format!("End of band {number}"), band.end)
                .by("start + height", COUNTING)
                .chosen("start", band.start)
                .chosen("height", band.end - band.start),
            rows,
        ]
    };
    plan.pattern.bands.iter().enumerate().flat_map(of).collect()
}

fn cloth(rug: &Rug, plan: &Plan) -> Vec<Derivation> {
    let (cloth, settings, strip) = (&plan.cloth, &rug.settings, rug.spec.strip_width);
    let weft = Derivation::new("cloth.weft", "Weft cloth", cloth.weft.expected).over(cloth.weft);
    let weft = if settings.get(Parameter::GramsPerRow).basis == Provenance::Default {
        weft.by("strip to cut · strip width · g/m², for each width of strip", MASS)
            .worked("weft strip to cut", plan.weft.cut.expected, "weft.cut")
            .chosen("strip width", strip)
            .parameters(settings, &[Parameter::WeftAreal])
    } else {
        weft.by("rows · weight of a row / closer rows", "weighed, here or in the class")
            .worked("rows", count(plan.weft.rows), "weft.rows")
            .parameters(settings, &[Parameter::GramsPerRow, Parameter::Packing])
    };
    let total = Derivation::new("cloth.total", "All cloth", cloth.total.expected)
        .by("warp and fringe, where there are any and they aren’t of yarn, + weft, as cut strip", MASS)
        .over(cloth.total);
    let total = match plan.warp.yarn {
        None => total.worked("warp cloth", cloth.warp.expected, "cloth.warp"),
        Some(_) => total,
    };
    let total = total.worked("weft cloth", cloth.weft.expected, "cloth.weft");
    let total = match rug.spec.fringe.filter(|_| plan.warp.yarn.is_none()) {
        Some(_) => total.worked("fringe cloth", cloth.fringe.expected, "cloth.fringe"),
        None => total,
    };
    let warp = match plan.warp.yarn {
        Some(yarn) => yarn_mass(rug, plan, yarn),
        None => Derivation::new("cloth.warp", "Warp cloth", cloth.warp.expected)
            .by("(ball + joins · join) · strip width · g/m²", MASS)
            .over(cloth.warp)
            .worked("warp ball", plan.warp.length.expected, "warp.length")
            .chosen("strip width", rug.spec.warp_strip())
            .parameters(settings, &[Parameter::WarpAreal, Parameter::Join, Parameter::SheetStrip]),
    };
    vec![warp, weft, total]
}

/// Of the warp, and of a fringe, which is of the same yarn.
fn yarn_mass(rug: &Rug, plan: &Plan, yarn: YarnPlan) -> Derivation {
    let fringed = rug.spec.fringe.is_some();
    let formula = if fringed {
        "(ball + joins · join + fringe) · weight / length"
    } else {
        "(ball + joins · join) · weight / length"
    };
    let mass = Derivation::new("warp.yarn", "Warp yarn", yarn.mass.expected)
        .by(formula, "linear density times length, ISO 1144 (from memory)")
        .over(yarn.mass)
        .worked("warp ball", plan.warp.length.expected, "warp.length");
    let mass =
        if fringed { mass.worked("fringe", plan.finish.fringe.expected, "finish.fringe") } else { mass };
    mass.chosen("weight of a ball", yarn.of.mass)
        .chosen("length of a ball", yarn.of.length)
        .parameters(&rug.settings, &[Parameter::Join])
}

fn rods(rug: &Rug, plan: &Plan) -> Vec<Derivation> {
    let (rods, span) = (&plan.rods, rug.spec.frame.span());
    let mut all = vec![
        Derivation::new("rods.least", "Shortest rod", rods.least)
            .by("span + 2 · overhang", PRACTICE)
            .chosen("span", span)
            .chosen("overhang", rod::OVERHANG),
        Derivation::new("rods.tie_every", "Tie the rods at least every", rods.tie_every)
            .by("(384·E·I·bow / 5q)^¼, I = πd⁴/64, E = 200 GPa, q = 9 N/m", ROARK)
            .chosen("rod diameter", rods.diameter)
            .chosen("bow allowed", rod::STRAIGHT),
        Derivation::new("rods.ties", "Ties on each rod", count(rods.ties))
            .by("span / distance between ties, rounded up, less one", COUNTING)
            .chosen("span", span)
            .worked("distance", rods.tie_every, "rods.tie_every"),
    ];
    if let Some((bar, bars)) = rods.stock {
        all.push(
            Derivation::new("rods.bars", "Bars to buy", count(bars))
                .by("the stock length with the least waste for two rods", PRACTICE)
                .worked("shortest rod", rods.least, "rods.least")
                .chosen("bar", bar),
        );
    }
    all
}

fn finish(rug: &Rug, plan: &Plan) -> Vec<Derivation> {
    let (finish, settings) = (&plan.finish, &rug.settings);
    let (mut all, of_yarn) = (Vec::new(), plan.warp.yarn.is_some());
    if let Some(fringe) = rug.spec.fringe {
        all.extend([
            Derivation::new(
                "finish.fringe_strips",
                if of_yarn { "Fringe strands" } else { "Fringe strips" },
                count(finish.fringe_strips),
            )
            .by("one at each nail's loop, both ends", PRACTICE)
            .chosen("nails taken of both rows", count(plan.warp.way.nails())),
            Derivation::new(
                "finish.fringe",
                if of_yarn { "Yarn for the fringe" } else { "Strip for the fringe" },
                finish.fringe.expected,
            )
            .by("strips · (2 · fringe + knot)", GEOMETRY)
            .over(finish.fringe)
            .worked("fringe strips", count(finish.fringe_strips), "finish.fringe_strips")
            .chosen("fringe", fringe)
            .parameters(settings, &[Parameter::FringeKnot]),
        ]);
        if !of_yarn {
            all.push(
                Derivation::new("cloth.fringe", "Fringe cloth", plan.cloth.fringe.expected)
                    .by("fringe strip · strip width · g/m²", MASS)
                    .over(plan.cloth.fringe)
                    .worked("fringe strip", finish.fringe.expected, "finish.fringe")
                    .chosen("strip width", rug.spec.strip_width)
                    .parameters(settings, &[Parameter::WeftAreal]),
            );
        }
    }
    if let Some(margin) = rug.spec.backing {
        all.extend([
            Derivation::new("finish.backing_edge", "Edge of the backing", finish.backing_edge)
                .by("2 · (length − 2 · margin + width − 2 · margin)", GEOMETRY)
                .worked("length", rug.length, "size.length")
                .worked("width", rug.width, "size.width")
                .chosen("margin", margin),
            Derivation::new("finish.thread", "Thread for the backing", finish.thread.expected)
                .by("edge · ratio + a tail for each thread", PRACTICE)
                .over(finish.thread)
                .worked("edge", finish.backing_edge, "finish.backing_edge")
                .chosen("length of a thread", needs::THREAD_PIECE)
                .chosen("tail", needs::THREAD_TAIL)
                .parameters(settings, &[Parameter::ThreadRatio]),
        ]);
    }
    all
}
