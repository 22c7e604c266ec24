//! From rugs and bundles to the share-out that is computed, and back from its answer to promises.
use std::collections::{BTreeMap, HashMap};

use crate::optimize::share_out::{Allocation, Bundle, Job, Need, Weights};
use crate::planning::colour::Hex;
use crate::planning::sufficiency::part_to_come;
use crate::planning::{ColourId, Plan};
use crate::services::Result;
use crate::services::learning::Learning;
use crate::services::rug_plan::{RugPlan, plan_of};
use crate::services::share_out::touching::Touching;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::{Limits, NewPromise, PartNeed, RugPart};
use crate::store::cloth::yields::Yield;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Colour, Rug, RugFields};
use crate::store::{Instant, Read, RugId};
use crate::units::{Mass, Units};

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

/// What a rug needs in all, at its plan's "take": the warp with the fringe, and the weft by colour.
pub fn needs_in_all(rug_id: RugId, fields: &RugFields, plan: &Plan, colours: &[Colour]) -> Vec<PartNeed> {
    let part = |warp, name: &str, hex: &str| RugPart {
        rug_id,
        warp,
        colour_name: name.to_owned(),
        colour_hex: hex.to_owned(),
    };
    let mut needs = Vec::new();
    // A warp of bought yarn takes no cloth, and its fringe is of the same yarn.
    if fields.warp_yarn.is_none() {
        let wanted_mg = plan.cloth.warp.p90 + plan.cloth.fringe.p90;
        needs.push(PartNeed { part: part(true, "", ""), kind: fields.warp_kind, wanted_mg });
    }
    // A colour in strips of two widths is one cloth.
    let mut weft: BTreeMap<ColourId, Mass> = BTreeMap::new();
    for need in &plan.weft.colours {
        *weft.entry(need.colour).or_insert(Mass::ZERO) += need.mass.p90;
    }
    needs.extend(weft.into_iter().map(|(id, wanted_mg)| {
        let colour = &colours[usize::from(id)];
        PartNeed { part: part(false, &colour.name, &colour.hex), kind: fields.weft_kind, wanted_mg }
    }));
    needs
}

/// The warp, and the weft by colour: in all, and what is still to be found.
fn needs_of(rug: &Rug, known: &RugPlan, log: &[LogEntry], standing: &[Promise]) -> (Mass, Vec<PartNeed>) {
    let (plan, at, colours) = (&known.plan, &known.status, &known.input.colours);
    // The strip that what was pulled of a part and stayed out makes, since a moment.
    let pulled = |part: &RugPart, since: Option<Instant>| -> Mass {
        let own = standing.iter().filter(|promise| promise.part == *part && promise.pulled_at > since);
        own.filter_map(Promise::pulled_for_good).sum()
    };
    let in_all = needs_in_all(rug.id, &rug.fields, plan, colours);
    let whole = in_all.iter().map(|need| need.wanted_mg).sum();
    let to_be_found = |need: PartNeed| {
        let (part, take) = (&need.part, need.wanted_mg);
        let id = colours.iter().position(|one| one.name == part.colour_name && one.hex == part.colour_hex);
        let wanted_mg = match id.filter(|_| !part.warp).map(|id| id as ColourId) {
            None => {
                let on_the_frame = if at.progress.began { plan.cloth.warp.p90 } else { Mass::ZERO };
                take - pulled(part, None).max(on_the_frame)
            }
            Some(id) => {
                if let Some(told) = at.sufficiency.iter().find(|told| told.colour == id) {
                    // A rest on the scale is what there is; more may have been pulled since.
                    told.lacking() - pulled(part, weighed_at(log, &colours[usize::from(id)]))
                } else {
                    // What is woven was had, whether or not it was pulled here.
                    let woven = take.scale(1.0 - part_to_come(plan, id, at.progress.rows));
                    take - pulled(part, None).max(woven)
                }
            }
        };
        PartNeed { wanted_mg: wanted_mg.max(Mass::ZERO), ..need }
    };
    (whole, in_all.into_iter().map(to_be_found).collect())
}

/// When the rest of a colour was last weighed.
fn weighed_at(log: &[LogEntry], colour: &Colour) -> Option<Instant> {
    let weighed = |entry: &&LogEntry| entry.counts() && entry.fields.left.iter().any(|(of, _)| of == colour);
    log.iter().rev().find(weighed).map(|entry| entry.at)
}

/// Whether a bundle could serve a need, were it washed.
pub fn could_serve(bundle: &Offered, need: &PartNeed) -> bool {
    bundle.kind.stands_in_for(need.kind, need.part.warp)
}

/// A share-out to be computed, and what its numbers stand for.
pub struct Question {
    pub job: Job,
    parts: Vec<RugPart>,
    bundles: Vec<(crate::store::BundleId, Yield)>,
}

impl Question {
    /// For these needs, of rugs in which colours touch: from washed cloth that isn't promised to other rugs. `locked` stays as it is; with `few_changes`
    /// what a part was promised before counts for much.
    pub fn of(
        needs: &[PartNeed],
        offered: &[Offered],
        standing: &[Promise],
        locked: &[NewPromise],
        touching: &Touching,
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
            // Needs are strip, so that bundles count by the strip that they make.
            (one.usable.0.net(mass).grams().floor() as i64).max(0)
        };
        let bundles = ready
            .iter()
            .map(|one| Bundle { grams: free(one), lab: one.colour_hex.lab(), warp_worthy: true })
            .collect();
        let need = |need: &PartNeed| {
            let kept = || locked.iter().filter(|promise| promise.part == need.part);
            let strip = |promise: &NewPromise| {
                let bundle = offered.iter().find(|one| one.id == promise.bundle);
                bundle.map_or(Yield::default(), |one| one.usable).0.net(promise.promised)
            };
            let grams = (need.wanted_mg - kept().map(strip).sum::<Mass>()).grams();
            let before = |one: &Offered| {
                standing.iter().any(|p| p.is_open() && p.part == need.part && p.bundle_id == one.id)
            };
            let wanted = Hex::parse(&need.part.colour_hex).ok();
            let too_far = |one: &Offered| {
                wanted.is_some_and(|hex| hex.difference(one.colour_hex) > limits.most_off as f64)
            };
            let taken = |one: &Offered| kept().any(|promise| promise.bundle == one.id);
            // Cloth that is kept for a colour, or was pulled for it, is what the others must go beside.
            let has = || {
                let kept = locked.iter().filter_map(|promise| {
                    let bundle = offered.iter().find(|one| one.id == promise.bundle)?;
                    Some((&promise.part, bundle.colour_hex))
                });
                let pulled = standing.iter().filter(|promise| promise.pulled_for_good().is_some());
                kept.chain(pulled.map(|promise| (&promise.part, promise.bundle_hex)))
            };
            let beside =
                |one: &Offered| has().all(|other| touching.goes_beside((&need.part, one.colour_hex), other));
            let which = |test: &dyn Fn(&Offered) -> bool| -> Vec<usize> {
                (0..ready.len()).filter(|&at| test(ready[at])).collect()
            };
            Need {
                grams: (grams.ceil() as i64).max(0),
                lab: wanted.map(Hex::lab),
                warp: need.part.warp,
                most: (limits.most as usize).saturating_sub(kept().count()),
                held: if few_changes { which(&before) } else { Vec::new() },
                barred: which(&|one| !could_serve(one, need) || taken(one) || too_far(one) || !beside(one)),
                touches: (0..needs.len()).filter(|&at| touching.touch(&need.part, &needs[at].part)).collect(),
            }
        };
        let weights = Weights { change: if few_changes { CHANGE } else { 0.0 }, ..Weights::default() };
        Self {
            job: Job { bundles, needs: needs.iter().map(need).collect(), weights },
            parts: needs.iter().map(|need| need.part.clone()).collect(),
            bundles: ready.iter().map(|one| (one.id, one.usable)).collect(),
        }
    }

    /// The answer as promises: of each bundle the weight that makes the strip.
    pub fn promises(&self, answer: &Allocation) -> Vec<NewPromise> {
        let mut found = Vec::new();
        for (part, takes) in self.parts.iter().zip(&answer.takes) {
            for take in takes {
                let (bundle, usable) = self.bundles[take.bundle];
                // Whole grams, as a scale shows: what is lost by it is less than a gram of strip.
                let gross = usable.0.gross(Mass::from_grams(take.grams as f64));
                let promised = Mass::from_grams((gross.grams() + 1e-6).floor());
                found.push(NewPromise { part: part.clone(), bundle, promised });
            }
        }
        found
    }
}
