//! How the warp's numbers came about.
use super::{COUNTING, GEOMETRY, PRACTICE, count};
use crate::planning::plan::Plan;
use crate::planning::settings::Parameter;
use crate::planning::spec::Rug;
use crate::planning::workings::Derivation;

const PEIRCE: &str = "F. T. Peirce, The geometry of cloth structure, J. Text. Inst. 28 (1937): cotton yarn of count N; from memory";

pub(super) fn workings(rug: &Rug, plan: &Plan) -> Vec<Derivation> {
    let (warp, frame, settings) = (&plan.warp, &rug.spec.frame, &rug.settings);
    let yarn = rug.spec.warp_yarn;
    let spliced = |key: &str, title: &str, formula, result| {
        let spliced = Derivation::new(key, title, result).by(formula, GEOMETRY).worked(
            "ball to take",
            warp.length.p90,
            "warp.length",
        );
        match yarn {
            Some(yarn) => spliced
                .chosen("strip: one ball as bought", yarn.length)
                .parameters(settings, &[Parameter::Join]),
            None => spliced.parameters(settings, &[Parameter::SheetStrip, Parameter::Join]),
        }
    };
    let usual = warp.way.evenly.filter(|_| !warp.way.doubled && warp.way.extra_wraps == 0);
    let nails = nails(rug, plan, usual.is_some());
    let strands = Derivation::new("warp.strands", "Warp strands", count(warp.strands));
    let strands = match usual {
        Some(_) => strands.by("2 · nails − 1, tied at opposite corners", COUNTING).worked(
            "nails per end",
            count(warp.nails),
            "warp.nails",
        ),
        None => strands
            .by(
                "stretches between nails, one less than nails taken; twice where the warp is doubled",
                COUNTING,
            )
            .chosen("nails taken of both rows", count(warp.way.nails())),
    };
    let path = Derivation::new("warp.path", "Warp path", warp.path);
    let path = match usual {
        Some(_) => path.by(
            "Σ√(D² − 4ρ²) + (S − 1)·π·ρ + 2·tail, D = span and √(span² + pitch²) in turn, ρ = (nail + strip)/2",
            GEOMETRY,
        ),
        None => path.by(
            "nail by nail: common tangents of circles of ρ = (nail + strip)/2, ρ · the angle turned, further turns \
             round each nail, 2·tail; twice where the warp is doubled",
            GEOMETRY,
        ),
    }
    .chosen("span", frame.span())
    .worked("pitch", frame.pitch(), "frame.pitch")
    .worked("strands S", count(warp.strands), "warp.strands")
    .worked("thickness of the strip", warp.wrap.strip_thickness, "warp.thickness")
    .parameters(settings, &[Parameter::NailDiameter, Parameter::Tail]);
    let cloth: &[Parameter] =
        if yarn.is_some() { &[] } else { &[Parameter::StripThickness, Parameter::WarpAreal] };
    vec![
        nails,
        strands,
        thickness(rug, plan),
        Derivation::new("warp.units", "Warp units", count(warp.units))
            .by("strands / strands in a unit, rounded up", COUNTING)
            .worked("strands", count(warp.strands), "warp.strands")
            .chosen("strands in a unit", count(rug.spec.unit_size)),
        locked(rug, plan, false),
        locked(rug, plan, true),
        path,
        Derivation::new("warp.rule_of_thumb", "Rule of thumb for the warp", warp.rule_of_thumb)
            .by("nails taken of both rows · span, twice where the warp is doubled", PRACTICE)
            .chosen("nails taken of both rows", count(warp.way.nails()))
            .chosen("span", frame.span()),
        Derivation::new("warp.length", "Warp ball", warp.length.expected)
            .by("path / (1 + give)", GEOMETRY)
            .over(warp.length)
            .worked("path", warp.path, "warp.path")
            .parameters(
                settings,
                &[Parameter::Give, Parameter::SpanError, Parameter::NailDiameter, Parameter::Tail],
            )
            .parameters(settings, cloth),
        spliced(
            "warp.strips",
            if yarn.is_some() { "Balls of warp yarn" } else { "Warp strips" },
            "(ball − join) / (strip − join), rounded up",
            count(warp.strips),
        ),
        spliced("warp.joins", "Warp joins", "strips − 1", count(warp.joins)).worked(
            "strips",
            count(warp.strips),
            "warp.strips",
        ),
        spliced(
            "warp.left_over",
            "Left over from the ball",
            "strips · strip − joins · join − ball",
            warp.left_over.into(),
        )
        .worked("strips", count(warp.strips), "warp.strips"),
    ]
}

fn locked(rug: &Rug, plan: &Plan, far: bool) -> Derivation {
    let (key, title, end) = if far {
        ("warp.locking.far", "Crossings of the row that locks the far end", &plan.warp.locking.far)
    } else {
        ("warp.locking.near", "Crossings of the row that locks the near end", &plan.warp.locking.near)
    };
    let lacks = "strands that the first unit lacks, so that the fewest loops stay open";
    Derivation::new(key, title, count(end.row().units()))
        .by("(strands + strands that the first unit lacks) / strands in a unit, rounded up", PRACTICE)
        .worked("strands", count(plan.warp.strands), "warp.strands")
        .chosen("strands in a unit", count(rug.spec.unit_size))
        .chosen(lacks, count(end.row().shift))
}

fn thickness(rug: &Rug, plan: &Plan) -> Derivation {
    let thickness = |title| Derivation::new("warp.thickness", title, plan.warp.wrap.strip_thickness);
    let Some(yarn) = rug.spec.warp_yarn else {
        return thickness("Thickness of the wound warp strip")
            .by(
                "√(4/π · strip width · g/m² / 0.5 g/cm³) · thickness of bundles",
                "a strip packs as a round bundle; reasoned",
            )
            .chosen("strip width", rug.spec.warp_strip())
            .parameters(&rug.settings, &[Parameter::WarpAreal, Parameter::StripThickness]);
    };
    let thickness = thickness("Thickness of the warp yarn");
    match yarn.thickness {
        Some(measured) => thickness.by("as measured", GEOMETRY).chosen("thickness", measured),
        None => thickness
            .by("1 in / 28 · √((weight / length) / 0.5905 g/m)", PEIRCE)
            .chosen("weight of a ball", yarn.mass)
            .chosen("length of a ball", yarn.length),
    }
}

fn nails(rug: &Rug, plan: &Plan, usual: bool) -> Derivation {
    let (warp, frame) = (&plan.warp, &rug.spec.frame);
    let nails = Derivation::new("warp.nails", "Nails per end in use", count(warp.nails));
    let nails = if usual && rug.spec.winding.every == 1 {
        nails
            .by("rug width / pitch + 1, at most the frame's nails", COUNTING)
            .worked("rug width", rug.width, "size.width")
            .worked("pitch", frame.pitch(), "frame.pitch")
    } else {
        nails
            .by(
                "nails of the rug's width, every so manyth, without those left out; of the row with more",
                COUNTING,
            )
            .worked("rug width", rug.width, "size.width")
            .chosen("every so manyth nail", count(rug.spec.winding.every))
            .chosen("nails left out", count(rug.spec.winding.left_out.len() as u32))
            .chosen("nails of the longer row that stay empty", count(warp.way.idle.len() as u32))
    };
    nails.chosen("nails per end of the frame", count(frame.nails()))
}
