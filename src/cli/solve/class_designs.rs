//! `solve class-designs`: a design for each rug of a class, from one shelf.
use super::design::{
    BundleInput, DesignOut, FrameInput, WishesInput, cloth, lacking, read_effort, read_step, told,
};
use super::{Mm, bad, unlike};
use crate::optimize::class_designs::{ClassRequest, ClassRug, USUAL_CLASS_EFFORT, suggest_for_class};
use crate::optimize::design::Wishes;
use crate::planning::{Kind, RugSpec};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r##"In:  {"rugs": [{"id", "frame": {"span_mm", "width_mm", "nails", "pitch_mm"}, "strip_mm", "wishes": {"colours", "build_on",
      "avoid", "mood", "symmetrical", "kind"}}], "bundles": [{"id", "kind", "colour": "#rrggbb", "grams"}],
      "max_bundles_per_need", "step_mm", "seed", "effort"}
Out: {"rugs": [{"id", "design": {"bands", "score", "uses", "warp_kind", "weft_kind", "family", "mirrored", "misses"}} or
      {"id", "lacking": {"part": "warp" or "weft", "needed_g", "there_g"} or "wishes"}], "covered", "at_most",
      "difference", "most_alike": [id, id], "work"}
Frames, wishes, bundles, designs and what is optional are as in design --help; there are 1 to 40 rugs, and effort is 16000000 looks
(1000 to 200000000), a few seconds. Together the designs take no more of a bundle than there is. Covered says how many have a
design; no choice of designs covers more than at_most, by the weight of cloth that could serve them. Difference is the least of
any two designs, as design --help measures it, and most_alike says of which two: the search makes it as large as it can, which
isn't proven the largest. A design for each goes before variety: only where nothing else is covered do two differ by less than 6.
Lacking says what stands in the way of a further design of the cloth that is left."##;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ClassDesignsRequest {
    rugs: Vec<RugInput>,
    bundles: Vec<BundleInput>,
    max_bundles_per_need: Option<usize>,
    step_mm: Option<Mm>,
    seed: Option<u64>,
    effort: Option<u64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RugInput {
    id: Value,
    frame: FrameInput,
    strip_mm: Mm,
    #[serde(default, deserialize_with = "super::or_usual")]
    wishes: WishesInput,
}

#[derive(Serialize)]
pub(super) struct ClassDesignsResponse<'a> {
    rugs: Vec<RugOut<'a>>,
    covered: usize,
    at_most: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    difference: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    most_alike: Option<[&'a Value; 2]>,
    work: u64,
}

#[derive(Serialize)]
struct RugOut<'a> {
    id: &'a Value,
    #[serde(skip_serializing_if = "Option::is_none")]
    design: Option<DesignOut<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lacking: Option<Value>,
}

/// Looks that may be asked for.
const EFFORT: std::ops::RangeInclusive<u64> = 1_000..=200_000_000;

pub(super) fn answer(asked: &ClassDesignsRequest) -> anyhow::Result<ClassDesignsResponse<'_>> {
    let wrong = |why: &dyn std::fmt::Display| bad("class-designs", why);
    unlike("rug", asked.rugs.iter().map(|rug| &rug.id)).map_err(|e| wrong(&e))?;
    let cloth = cloth(&asked.bundles).map_err(|e| wrong(&e))?;
    let step = read_step(asked.step_mm).map_err(|e| wrong(&e))?;
    let effort = read_effort(asked.effort, USUAL_CLASS_EFFORT, &EFFORT).map_err(|e| wrong(&e))?;
    let read = |rug: &RugInput| {
        let plain = rug.frame.rug(rug.strip_mm).map_err(|e| wrong(&format!("Rug {}: {e}", rug.id)))?;
        let base = move |warp_kind: Kind, weft_kind: Kind| RugSpec { warp_kind, weft_kind, ..plain.clone() };
        Ok((rug.wishes.read().map_err(|e| wrong(&format!("Rug {}: {e}", rug.id)))?, base))
    };
    let rugs: Vec<(Wishes, _)> = asked.rugs.iter().map(read).collect::<anyhow::Result<_>>()?;
    let rugs: Vec<ClassRug> = rugs.iter().map(|(wishes, base)| ClassRug { wishes, base }).collect();
    let found = suggest_for_class(&ClassRequest {
        cloth: &cloth,
        rugs: &rugs,
        most: asked.max_bundles_per_need.unwrap_or(2),
        step,
        unlike: &[],
        seed: asked.seed.unwrap_or(1),
        effort,
    })
    .map_err(|e| wrong(&e))?;
    let alike = found.most_alike();
    let rugs = asked.rugs.iter().zip(&found.rugs).map(|(rug, found)| RugOut {
        id: &rug.id,
        design: found.as_ref().ok().map(|design| told(&asked.bundles, &cloth, design)),
        lacking: found.as_ref().err().copied().map(lacking),
    });
    Ok(ClassDesignsResponse {
        rugs: rugs.collect(),
        covered: found.covered(),
        at_most: found.at_most,
        difference: alike.map(|alike| (alike.difference * 100.0).round() / 100.0),
        most_alike: alike.map(|alike| alike.rugs.map(|at| &asked.rugs[at].id)),
        work: found.work,
    })
}
