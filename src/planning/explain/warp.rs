//! How the warp's numbers came about.
use super::{COUNTING, GEOMETRY, PRACTICE, count};
use crate::planning::plan::Plan;
use crate::planning::settings::Parameter;
use crate::planning::spec::Rug;
use crate::planning::workings::Derivation;

pub(super) fn workings(rug: &Rug, plan: &Plan) -> Vec<Derivation> {
    let (warp, frame, settings) = (&plan.warp, &rug.spec.frame, &rug.settings);
    let spliced = |key: &str, title: &str, formula, result| {
        Derivation::new(key, title, result)
            .by(formula, GEOMETRY)
            .worked("ball to take", warp.length.p90, "warp.length")
            .parameters(settings, &[Parameter::SheetStrip, Parameter::Join])
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
    .parameters(settings, &[Parameter::NailDiameter, Parameter::StripThickness, Parameter::Tail]);
    vec![
        nails,
        strands,
        Derivation::new("warp.units", "Warp units", count(warp.units))
            .by("strands / strands in a unit, rounded up", COUNTING)
            .worked("strands", count(warp.strands), "warp.strands")
            .chosen("strands in a unit", count(rug.spec.unit_size)),
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
                &[
                    Parameter::Give,
                    Parameter::SpanError,
                    Parameter::NailDiameter,
                    Parameter::StripThickness,
                    Parameter::Tail,
                ],
            ),
        spliced(
            "warp.strips",
            "Warp strips",
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
