//! From rugs and bundles to the share-out that is computed, and back from its answer to promises.
use std::collections::{BTreeMap, HashMap};

use crate::optimize::share_out::{Allocation, Bundle, Job, Need, Weights};
use crate::planning::cloth::WarpFit;
use crate::planning::colour::Hex;
use crate::planning::sufficiency::part_to_come;
use crate::planning::{ColourId, Kind};
use crate::services::Result;
use crate::services::learning::Learning;
use crate::services::rug_plan::{RugPlan, plan_of};
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::{Limits, NewPromise, PartNeed, RugPart};
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Colour, Rug};
use crate::store::{Instant, Read, RugId};
use crate::units::{Mass, Units};

/// Kinds stand in for each other when one is at most so much heavier than the other; common practice, no source.
const ALIKE: f64 = 1.25;
/// What another bundle than before costs, as dear as forty grams that are lacking: few changes, but not at any price.
const CHANGE: f64 = 2_000.0;

/// A rug that may be given cloth.
pub struct Wanting {
    pub rug: Rug,
    /// What it needs in all, at the plan's "take" figure.
    pub whole: Mass,
    /// What of that is still to be found, part by part: all that isn't pulled, woven or in the weaver's hands.
    pub needs: Vec<PartNeed>,
}

/// The rugs that are planned or on a frame, with what they need. `standing` are all promises.
pub async fn wanting(read: &mut Read, standing: &[Promise], units: Units) -> Result<Vec<Wanting>> {
    let rugs = read.rugs(None, None).await?;
    let log = read.logs().await?;
    let learning = Learning::load(read).await?;
    let open = rugs.into_iter().filter(|rug| rug.state.is_open());
    open.map(|rug| {
        let own: Vec<LogEntry> = log.iter().filter(|entry| entry.rug_id == rug.id).cloned().collect();
        let known = plan_of(&rug, &learning, &own, units)?;
        let (whole, needs) = needs_of(&rug, &known, &own, standing);
        Ok(Wanting { rug, whole, needs })
    })
    .collect()
}

/// The warp, and the weft by colour: in all, and what is still to be found.
fn needs_of(rug: &Rug, known: &RugPlan, log: &[LogEntry], standing: &[Promise]) -> (Mass, Vec<PartNeed>) {
    let (plan, at) = (&known.plan, &known.status);
    let part = |warp, name: &str, hex: &str| RugPart {
        rug_id: rug.id,
        warp,
        colour_name: name.to_owned(),
        colour_hex: hex.to_owned(),
    };
    // What was pulled of a part and stayed out, since a moment.
    let pulled = |part: &RugPart, since: Option<Instant>| -> Mass {
        let own = standing.iter().filter(|promise| promise.part == *part && promise.pulled_at > since);
        own.filter_map(Promise::pulled_for_good).sum()
    };
    let warp = part(true, "", "");
    let (warp_take, fringe) = (plan.cloth.warp.p90, plan.cloth.fringe.p90);
    let on_the_frame = if at.progress.began { warp_take } else { Mass::ZERO };
    let had = pulled(&warp, None).max(on_the_frame);
    let mut whole = warp_take + fringe;
    let wanted_mg = (whole - had).max(Mass::ZERO);
    let mut needs = vec![PartNeed { part: warp, kind: rug.fields.warp_kind, wanted_mg }];
    // A colour in strips of two widths is one cloth.
    let mut weft: BTreeMap<ColourId, Mass> = BTreeMap::new();
    for need in &plan.weft.colours {
        *weft.entry(need.colour).or_insert(Mass::ZERO) += need.mass.p90;
    }
    for (id, take) in weft {
        let colour = &known.input.colours[usize::from(id)];
        let part = part(false, &colour.name, &colour.hex);
        let weighed = at.sufficiency.iter().find(|told| told.colour == id);
        let wanted_mg = if let Some(told) = weighed {
            // A rest on the scale is what there is; more may have been pulled since.
            told.lacking() - pulled(&part, weighed_at(log, colour))
        } else {
            // What is woven was had, whether or not it was pulled here.
            let woven = take.scale(1.0 - part_to_come(plan, id, at.progress.rows));
            take - pulled(&part, None).max(woven)
        };
        whole += take;
        needs.push(PartNeed { part, kind: rug.fields.weft_kind, wanted_mg: wanted_mg.max(Mass::ZERO) });
    }
    (whole, needs)
}

/// When the rest of a colour was last weighed.
fn weighed_at(log: &[LogEntry], colour: &Colour) -> Option<Instant> {
    let weighed = |entry: &&LogEntry| entry.counts() && entry.fields.left.iter().any(|(of, _)| of == colour);
    log.iter().rev().find(weighed).map(|entry| entry.at)
}

/// Whether cloth of one kind can be used where another was planned: about as heavy, as stretchy, and fit for warp if it is
/// for warp.
fn serves(has: Kind, planned: Kind, warp: bool) -> bool {
    let (has_facts, planned_facts) = (has.facts(), planned.facts());
    let ratio = has_facts.typical / planned_facts.typical;
    let alike = has == planned
        || ((1.0 / ALIKE..=ALIKE).contains(&ratio)
            && (has_facts.stretch - planned_facts.stretch).abs() < 0.05);
    alike && (!warp || has == planned || has_facts.warp == WarpFit::Fit)
}

/// Whether a bundle could serve a need, were it washed.
pub fn could_serve(bundle: &Offered, need: &PartNeed) -> bool {
    serves(bundle.kind, need.kind, need.part.warp)
}

/// A share-out to be computed, and what its numbers stand for.
pub struct Question {
    pub job: Job,
    parts: Vec<RugPart>,
    bundles: Vec<crate::store::BundleId>,
}

impl Question {
    /// For these needs: from washed cloth that isn't promised to other rugs. `locked` stays as it is; with `few_changes`
    /// what a part was promised before counts for much.
    pub fn of(
        needs: &[PartNeed],
        offered: &[Offered],
        standing: &[Promise],
        locked: &[NewPromise],
        (limits, few_changes): (Limits, bool),
    ) -> Self {
        let picked = |rug: RugId| needs.iter().any(|need| need.part.rug_id == rug);
        let mut freed: HashMap<_, Mass> = HashMap::new();
        for promise in standing.iter().filter(|p| p.is_open() && picked(p.part.rug_id)) {
            *freed.entry(promise.bundle_id).or_insert(Mass::ZERO) += promise.promised_mg;
        }
        for promise in locked {
            *freed.entry(promise.bundle).or_insert(Mass::ZERO) -= promise.promised;
        }
        let ready: Vec<&Offered> = offered.iter().filter(|one| one.state == BundleState::Ready).collect();
        let free = |one: &Offered| {
            let mass = one.balance_mg - one.promised_mg + freed.get(&one.id).copied().unwrap_or(Mass::ZERO);
            (mass.grams().floor() as i64).max(0)
        };
        let bundles = ready
            .iter()
            .map(|one| Bundle { grams: free(one), lab: one.colour_hex.lab(), warp_worthy: true })
            .collect();
        let need = |need: &PartNeed| {
            let kept = || locked.iter().filter(|promise| promise.part == need.part);
            let grams = (need.wanted_mg - kept().map(|promise| promise.promised).sum::<Mass>()).grams();
            let before = |one: &Offered| {
                standing.iter().any(|p| p.is_open() && p.part == need.part && p.bundle_id == one.id)
            };
            let wanted = Hex::parse(&need.part.colour_hex).ok();
            let too_far = |one: &Offered| {
                wanted.is_some_and(|hex| hex.difference(one.colour_hex) > limits.most_off as f64)
            };
            let taken = |one: &Offered| kept().any(|promise| promise.bundle == one.id);
            let which = |test: &dyn Fn(&Offered) -> bool| -> Vec<usize> {
                (0..ready.len()).filter(|&at| test(ready[at])).collect()
            };
            Need {
                grams: (grams.ceil() as i64).max(0),
                lab: wanted.map(Hex::lab),
                warp: need.part.warp,
                most: (limits.most as usize).saturating_sub(kept().count()),
                held: if few_changes { which(&before) } else { Vec::new() },
                barred: which(&|one| !could_serve(one, need) || taken(one) || too_far(one)),
            }
        };
        let weights = Weights { change: if few_changes { CHANGE } else { 0.0 }, ..Weights::default() };
        Self {
            job: Job { bundles, needs: needs.iter().map(need).collect(), weights },
            parts: needs.iter().map(|need| need.part.clone()).collect(),
            bundles: ready.iter().map(|one| one.id).collect(),
        }
    }

    /// The answer as promises.
    pub fn promises(&self, answer: &Allocation) -> Vec<NewPromise> {
        let mut found = Vec::new();
        for (part, takes) in self.parts.iter().zip(&answer.takes) {
            for take in takes {
                let promised = Mass::from_grams(take.grams as f64);
                found.push(NewPromise { part: part.clone(), bundle: self.bundles[take.bundle], promised });
            }
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::serves;
    use crate::planning::Kind;

    #[test]
    fn cloth_stands_in_for_cloth_like_it() {
        assert!(serves(Kind::Percale, Kind::Percale, true));
        assert!(serves(Kind::Sateen, Kind::Percale, true));
        assert!(!serves(Kind::Denim, Kind::Percale, false), "far too heavy");
        assert!(!serves(Kind::Jersey, Kind::Sateen, false), "it stretches");
        assert!(serves(Kind::Jersey, Kind::Jersey, false));
    }
}
