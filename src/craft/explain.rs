//! A working for every number of a plan. The numbers are `plan`'s and `needs`'; only the words are here.
use super::needs::Needs;
use super::plan::Plan;
use super::quantity::Quantity::{self, Count, PerInch};
use super::settings::{Basis, Dial};
use super::spec::Rug;
use super::steps::{Step, StepKind};
use super::workings::Working;

const GEOMETRY: &str = "geometry";
const COUNTING: &str = "counting";
const PRACTICE: &str = "common practice, no source";
const SUM: &str = "a sum of acts, each timed; common practice and reasoned estimates";
const MASS: &str = "mass per area times area, ISO 3801:1977";
const ROARK: &str = "Roark's Formulas for Stress and Strain: simply supported beam, even load (from memory)";

fn count(value: impl Into<f64>) -> Quantity {
    Count(value.into())
}

pub(crate) fn workings(rug: &Rug, needs: &Needs, plan: &Plan) -> Vec<Working> {
    let mut all = size(rug);
    all.extend(warp(rug, plan));
    all.extend(weft(rug, needs, plan));
    all.extend(colours(plan));
    all.extend(bands(plan));
    all.extend(cloth(rug, plan));
    all.extend(minutes(rug, needs, plan));
    all.extend(rods(rug, plan));
    all.extend(finish(rug, plan));
    all
}

fn size(rug: &Rug) -> Vec<Working> {
    let frame = &rug.spec.frame;
    let length = Working::new("size.length", "Woven length", rug.length);
    let width =
        Working::new("size.width", "Woven width", rug.width).by("as chosen, or the frame's width", GEOMETRY);
    let length = if rug.spec.length.is_some() || !rug.spec.bands.is_empty() {
        length.by("as chosen: the bands' heights together", COUNTING).chosen("woven length", rug.length)
    } else {
        let allowance = super::spec::RugSpec::ALLOWANCE;
        length.by("span − allowance", PRACTICE).chosen("span", frame.span()).chosen("allowance", allowance)
    };
    let pitch = Working::new("frame.pitch", "Pitch", frame.pitch());
    let pitch = if frame.pitch_measured() {
        pitch.by("as measured on the frame", GEOMETRY).chosen("pitch", frame.pitch())
    } else {
        let by = pitch
            .by("width / (nails per end − 1): nails spread evenly, the outer ones at the rods", GEOMETRY);
        by.chosen("width", frame.width()).chosen("nails per end", count(frame.nails()))
    };
    vec![length, width.chosen("width", rug.width), pitch]
}

fn warp(rug: &Rug, plan: &Plan) -> Vec<Working> {
    let (warp, frame, settings) = (&plan.warp, &rug.spec.frame, &rug.settings);
    let spliced = |key: &str, title: &str, formula, result| {
        Working::new(key, title, result)
            .by(formula, GEOMETRY)
            .worked("ball to take", warp.length.take, "warp.length")
            .dials(settings, &[Dial::SheetStrip, Dial::Join])
    };
    vec![
        Working::new("warp.nails", "Nails per end in use", count(warp.nails))
            .by("rug width / pitch + 1, at most the frame's nails", COUNTING)
            .worked("rug width", rug.width, "size.width")
            .worked("pitch", frame.pitch(), "frame.pitch")
            .chosen("nails per end of the frame", count(frame.nails())),
        Working::new("warp.strands", "Warp strands", count(warp.strands))
            .by("2 · nails − 1, tied at opposite corners", COUNTING)
            .worked("nails per end", count(warp.nails), "warp.nails"),
        Working::new("warp.units", "Warp units", count(warp.units))
            .by("strands / strands in a unit, rounded up", COUNTING)
            .worked("strands", count(warp.strands), "warp.strands")
            .chosen("strands in a unit", count(rug.spec.unit_size)),
        Working::new("warp.path", "Warp path", warp.path)
            .by("Σ√(D² − 4ρ²) + (S − 1)·π·ρ + 2·tail, D = span and √(span² + pitch²) in turn, ρ = (nail + strip)/2", GEOMETRY)
            .chosen("span", frame.span())
            .worked("pitch", frame.pitch(), "frame.pitch")
            .worked("strands S", count(warp.strands), "warp.strands")
            .dials(settings, &[Dial::NailDiameter, Dial::StripThickness, Dial::Tail]),
        Working::new("warp.rule_of_thumb", "Rule of thumb for the warp", warp.rule_of_thumb)
            .by("2 · nails · span", PRACTICE)
            .worked("nails per end", count(warp.nails), "warp.nails")
            .chosen("span", frame.span()),
        Working::new("warp.length", "Warp ball", warp.length.expected)
            .by("path / (1 + give)", GEOMETRY)
            .over(warp.length)
            .worked("path", warp.path, "warp.path")
            .dials(settings, &[Dial::Give, Dial::SpanError, Dial::NailDiameter, Dial::StripThickness, Dial::Tail]),
        spliced("warp.strips", "Warp strips", "(ball − join) / (strip − join), rounded up", count(warp.strips)),
        spliced("warp.joins", "Warp joins", "strips − 1", count(warp.joins))
            .worked("strips", count(warp.strips), "warp.strips"),
        spliced("warp.left_over", "Left over from the ball", "strips · strip − joins · join − ball", warp.left_over.into())
            .worked("strips", count(warp.strips), "warp.strips"),
    ]
}

fn weft(rug: &Rug, needs: &Needs, plan: &Plan) -> Vec<Working> {
    let (weft, settings) = (&plan.weft, &rug.settings);
    let rows = Working::new("weft.rows_per_inch", "Rows to the inch", PerInch(needs.rows_per_inch));
    let rows = if settings.get(Dial::RowsPerInch).basis == Basis::Default {
        rows.by(
            "rows of the reference · √(1½ in · 130 g/m² / (strip width · g/m²))",
            "a strip packs as a round bundle; reasoned",
        )
        .chosen("strip width", rug.spec.strip_width)
        .dials(settings, &[Dial::RowsPerInch, Dial::WeftAreal])
    } else {
        rows.by("as measured or learnt, by closer or wider rows", COUNTING)
            .dials(settings, &[Dial::RowsPerInch, Dial::Packing])
    };
    let weighed =
        [Dial::GramsPerRow, Dial::WeftAreal].iter().all(|&d| settings.get(d).basis != Basis::Default);
    let strand = Working::new("weft.strand", "One strand, one row", needs.strand);
    let strand = if weighed {
        strand
            .by("weight of a row / (strip width · g/m²) / 2, less what joins take", MASS)
            .chosen("strip width", rug.spec.strip_width)
            .dials(settings, &[Dial::GramsPerRow, Dial::WeftAreal, Dial::Join, Dial::WeftPiece])
    } else {
        strand
            .by("width · (1 + take-up) + turn", GEOMETRY)
            .worked("width", rug.width, "size.width")
            .dials(settings, &[Dial::TakeUp, Dial::RodTurn])
    };
    let range = super::estimate::Range {
        low: count(weft.rows_low),
        expected: count(weft.rows),
        take: count(weft.rows_take),
    };
    vec![
        rows,
        Working::new("weft.rows", "Rows", count(weft.rows))
            .by("length · rows to the inch, rounded at the end of each band", COUNTING)
            .over(range)
            .worked("length", rug.length, "size.length")
            .worked("rows to the inch", PerInch(needs.rows_per_inch), "weft.rows_per_inch"),
        Working::new("weft.twists", "Twists", Count(weft.twists as f64))
            .by("rows · units", COUNTING)
            .worked("rows", count(weft.rows), "weft.rows")
            .worked("units", count(plan.warp.units), "warp.units"),
        strand,
        Working::new("weft.length", "Weft strip", weft.length.expected)
            .by("2 · rows · strand", GEOMETRY)
            .over(weft.length)
            .worked("rows", count(weft.rows), "weft.rows")
            .worked("one strand, one row", needs.strand, "weft.strand"),
        Working::new("weft.joins", "Weft joins", count(weft.joins))
            .by("pieces in each run of one colour, but the first of each strand", COUNTING)
            .worked("weft strip", weft.length.expected, "weft.length")
            .dials(settings, &[Dial::WeftPiece, Dial::Join]),
        Working::new("weft.cut", "Weft strip to cut", weft.cut.expected)
            .by("weft strip + joins · join", GEOMETRY)
            .over(weft.cut)
            .worked("weft strip", weft.length.expected, "weft.length")
            .worked("joins", count(weft.joins), "weft.joins")
            .dials(settings, &[Dial::Join]),
    ]
}

fn colours(plan: &Plan) -> Vec<Working> {
    let of = |need: &super::plan::ColourNeed| {
        let name = u32::from(need.colour) + 1;
        let key = |what: &str| format!("weft.colour.{}.{what}", need.colour);
        [
            Working::new(key("length"), format!("Strip of colour {name}"), need.length.expected)
                .by("rows of the strands in this colour · strand", COUNTING)
                .over(need.length)
                .worked("one strand, one row", plan.weft.strand, "weft.strand"),
            Working::new(key("joins"), format!("Joins in colour {name}"), count(need.joins))
                .by("pieces in each run of this colour, but the first of each strand", COUNTING)
                .worked("strip", need.length.expected, key("length")),
            Working::new(key("cut"), format!("Strip to cut of colour {name}"), need.cut.expected)
                .by("strip + joins · join", GEOMETRY)
                .over(need.cut)
                .worked("strip", need.length.expected, key("length"))
                .worked("joins", count(need.joins), key("joins")),
            Working::new(key("mass"), format!("Weight of colour {name}"), need.mass.expected)
                .by("weft weight · strip to cut of this colour / weft strip to cut", MASS)
                .over(need.mass)
                .worked("weft weight", plan.cloth.weft.expected, "cloth.weft")
                .worked("strip to cut", need.cut.expected, key("cut"))
                .worked("weft strip to cut", plan.weft.cut.expected, "weft.cut"),
        ]
    };
    plan.weft.colours.iter().flat_map(of).collect()
}

fn bands(plan: &Plan) -> Vec<Working> {
    let of = |(i, band): (usize, &super::pattern::BandRows)| {
        let number = i + 1;
        [
            Working::new(format!("band.{i}.end"), format!("End of band {number}"), band.end)
                .by("start + height", COUNTING)
                .chosen("start", band.start)
                .chosen("height", band.end - band.start),
            Working::new(format!("band.{i}.rows"), format!("Rows of band {number}"), count(band.rows()))
                .by("end · rows to the inch − start · rows to the inch, each rounded", COUNTING)
                .chosen("start", band.start)
                .worked("end", band.end, format!("band.{i}.end"))
                .worked("rows to the inch", PerInch(plan.weft.rows_per_inch), "weft.rows_per_inch"),
        ]
    };
    plan.pattern.bands.iter().enumerate().flat_map(of).collect()
}

fn cloth(rug: &Rug, plan: &Plan) -> Vec<Working> {
    let (cloth, settings, strip) = (&plan.cloth, &rug.settings, rug.spec.strip_width);
    let weft = Working::new("cloth.weft", "Weft cloth", cloth.weft.expected).over(cloth.weft);
    let weft = if settings.get(Dial::GramsPerRow).basis == Basis::Default {
        weft.by("strip to cut · strip width · g/m²", MASS)
            .worked("weft strip to cut", plan.weft.cut.expected, "weft.cut")
            .chosen("strip width", strip)
            .dials(settings, &[Dial::WeftAreal])
    } else {
        weft.by("rows · weight of a row / closer rows", "weighed, here or in the class")
            .worked("rows", count(plan.weft.rows), "weft.rows")
            .dials(settings, &[Dial::GramsPerRow, Dial::Packing])
    };
    let total = Working::new("cloth.total", "All cloth", cloth.total.expected)
        .by("warp + weft + fringe where there is one, as cut strip", MASS)
        .over(cloth.total)
        .worked("warp cloth", cloth.warp.expected, "cloth.warp")
        .worked("weft cloth", cloth.weft.expected, "cloth.weft");
    let total = match rug.spec.fringe {
        Some(_) => total.worked("fringe cloth", cloth.fringe.expected, "cloth.fringe"),
        None => total,
    };
    vec![
        Working::new("cloth.warp", "Warp cloth", cloth.warp.expected)
            .by("(ball + joins · join) · strip width · g/m²", MASS)
            .over(cloth.warp)
            .worked("warp ball", plan.warp.length.expected, "warp.length")
            .chosen("strip width", strip)
            .dials(settings, &[Dial::WarpAreal, Dial::Join, Dial::SheetStrip]),
        weft,
        total,
    ]
}

fn minutes(rug: &Rug, needs: &Needs, plan: &Plan) -> Vec<Working> {
    use Dial::{JoinAtFrame, Practice, SlowEnd, SlowFactor, Turn, Twist, WeavingPace};
    let (time, settings) = (&plan.minutes, &rug.settings);
    let strips = Working::new("strips", "Strips to cut", Count(needs.strips))
        .by("warp strips for the expected ball + (weft to cut + fringe) / strip, rounded up", COUNTING)
        .worked("warp ball", plan.warp.length.expected, "warp.length")
        .worked("weft strip to cut", plan.weft.cut.expected, "weft.cut")
        .dials(settings, &[Dial::SheetStrip, Dial::Join]);
    let weave = Working::new("minutes.weave", "Weaving", time.weave.expected)
        .by(
            "((twists + slow rows · units · (times as slow − 1)) · s + rows · turn + joins · join) · practice · pace, \
             slow rows = last stretch · rows to the inch, practice = (rugs before + 1)^log₂(rate)",
            SUM,
        )
        .over(time.weave)
        .worked("twists", Count(plan.weft.twists as f64), "weft.twists")
        .worked("rows", count(plan.weft.rows), "weft.rows")
        .worked("joins", count(plan.weft.joins), "weft.joins")
        .worked("units", count(plan.warp.units), "warp.units")
        .worked("rows to the inch", PerInch(needs.rows_per_inch), "weft.rows_per_inch")
        .chosen("rugs finished before", count(rug.spec.rugs_before))
        .dials(settings, &[Twist, Turn, JoinAtFrame, SlowEnd, SlowFactor, Practice, WeavingPace]);
    let mut all = vec![strips, weave];
    let (mut prepare, mut finish) = (
        Working::new("minutes.prepare", "Preparing", time.prepare.expected).over(time.prepare),
        Working::new("minutes.finish", "Finishing", time.finish.expected).over(time.finish),
    );
    for step in &plan.steps {
        let working = step_working(rug, needs, plan, step);
        let part = |sum: Working| sum.worked(working.title.clone(), step.minutes, working.key.clone());
        match step.kind {
            StepKind::CutStrips | StepKind::JoinWarp | StepKind::WindOn => prepare = part(prepare),
            StepKind::TakeOff | StepKind::Fringe | StepKind::Backing => finish = part(finish),
            StepKind::Weave { .. } => {}
        }
        all.push(working);
    }
    all.push(prepare.by("cutting + joining and winding the ball + winding on", SUM));
    all.push(finish.by("taking off, and fringe and backing where there are any", SUM));
    all
}

fn step_working(rug: &Rug, needs: &Needs, plan: &Plan, step: &Step) -> Working {
    let settings = &rug.settings;
    let timed =
        |title: &str, formula| Working::new(step.kind.working_key(), title, step.minutes).by(formula, SUM);
    match step.kind {
        StepKind::CutStrips => timed("Cutting strips", "strips · time for one · pace")
            .worked("strips", Count(needs.strips), "strips")
            .dials(settings, &[Dial::CutStrip, Dial::PreparingPace]),
        StepKind::JoinWarp => {
            timed("Joining the warp, winding the ball", "(joins · join + yards · winding) · pace")
                .chosen("warp joins, for the expected ball", Count(needs.warp_joins))
                .worked("warp ball", plan.warp.length.expected, "warp.length")
                .dials(settings, &[Dial::JoinAtTable, Dial::WindYard, Dial::PreparingPace])
        }
        StepKind::WindOn => timed("Winding on", "2 · nails per end · time for a nail · pace")
            .worked("nails per end", count(plan.warp.nails), "warp.nails")
            .dials(settings, &[Dial::WindNail, Dial::PreparingPace]),
        StepKind::Weave { band, from_row, to_row } => timed(
            &format!("Weaving band {}", band + 1),
            "weaving without the slow stretch · rows / all rows; the last band takes the slow stretch",
        )
        .worked("weaving", plan.minutes.weave.expected, "minutes.weave")
        .worked("rows of the band", count(to_row - from_row), format!("band.{band}.rows"))
        .worked("all rows", count(plan.weft.rows), "weft.rows")
        .dials(settings, &[Dial::SlowEnd, Dial::SlowFactor]),
        StepKind::TakeOff => timed("Taking off", "time for one rug").dials(settings, &[Dial::TakeOff]),
        StepKind::Fringe => timed("Tying in the fringe", "strips · time for one")
            .worked("fringe strips", count(plan.finish.fringe_strips), "finish.fringe_strips")
            .dials(settings, &[Dial::FringeStrand]),
        StepKind::Backing => timed("Stitching the backing", "edge · time for an inch")
            .worked("backing edge", plan.finish.backing_edge, "finish.backing_edge")
            .dials(settings, &[Dial::StitchInch]),
    }
}

fn rods(rug: &Rug, plan: &Plan) -> Vec<Working> {
    let (rods, span) = (&plan.rods, rug.spec.frame.span());
    let mut all = vec![
        Working::new("rods.least", "Shortest rod", rods.least)
            .by("span + 2 · overhang", PRACTICE)
            .chosen("span", span)
            .chosen("overhang", super::rods::OVERHANG),
        Working::new("rods.tie_every", "Tie the rods at least every", rods.tie_every)
            .by("(384·E·I·bow / 5q)^¼, I = πd⁴/64, E = 200 GPa, q = 9 N/m", ROARK)
            .chosen("rod diameter", rods.diameter)
            .chosen("bow allowed", super::rods::STRAIGHT),
        Working::new("rods.ties", "Ties on each rod", count(rods.ties))
            .by("span / distance between ties, rounded up, less one", COUNTING)
            .chosen("span", span)
            .worked("distance", rods.tie_every, "rods.tie_every"),
    ];
    if let Some((bar, bars)) = rods.stock {
        all.push(
            Working::new("rods.bars", "Bars to buy", count(bars))
                .by("the stock length with the least waste for two rods", PRACTICE)
                .worked("shortest rod", rods.least, "rods.least")
                .chosen("bar", bar),
        );
    }
    all
}

fn finish(rug: &Rug, plan: &Plan) -> Vec<Working> {
    let (finish, settings) = (&plan.finish, &rug.settings);
    let mut all = Vec::new();
    if let Some(fringe) = rug.spec.fringe {
        all.extend([
            Working::new("finish.fringe_strips", "Fringe strips", count(finish.fringe_strips))
                .by("one at each nail's loop, both ends", PRACTICE)
                .worked("nails per end", count(plan.warp.nails), "warp.nails"),
            Working::new("finish.fringe", "Strip for the fringe", finish.fringe.expected)
                .by("strips · (2 · fringe + knot)", GEOMETRY)
                .over(finish.fringe)
                .worked("fringe strips", count(finish.fringe_strips), "finish.fringe_strips")
                .chosen("fringe", fringe)
                .dials(settings, &[Dial::FringeKnot]),
            Working::new("cloth.fringe", "Fringe cloth", plan.cloth.fringe.expected)
                .by("fringe strip · strip width · g/m²", MASS)
                .over(plan.cloth.fringe)
                .worked("fringe strip", finish.fringe.expected, "finish.fringe")
                .chosen("strip width", rug.spec.strip_width)
                .dials(settings, &[Dial::WeftAreal]),
        ]);
    }
    if let Some(margin) = rug.spec.backing {
        all.extend([
            Working::new("finish.backing_edge", "Edge of the backing", finish.backing_edge)
                .by("2 · (length − 2 · margin + width − 2 · margin)", GEOMETRY)
                .worked("length", rug.length, "size.length")
                .worked("width", rug.width, "size.width")
                .chosen("margin", margin),
            Working::new("finish.thread", "Thread for the backing", finish.thread.expected)
                .by("edge · ratio + a tail for each thread", PRACTICE)
                .over(finish.thread)
                .worked("edge", finish.backing_edge, "finish.backing_edge")
                .chosen("length of a thread", super::needs::THREAD_PIECE)
                .chosen("tail", super::needs::THREAD_TAIL)
                .dials(settings, &[Dial::ThreadRatio]),
        ]);
    }
    all
}
