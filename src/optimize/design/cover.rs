//! Which bundles cover a design, by the share-out's own search and prices.
use super::answer::{Part, Use};
use super::bands::{DesignBand, numbered};
use super::outfit::{Outfit, whole_grams};
use super::question::Request;
use crate::optimize::share_out::{Bundle, Job, Need, Weights, solve};
use crate::planning::colour::Hex;
use crate::planning::{Plan, RugSpec};
use crate::units::{Mass, Units};

/// Looks of the share-out for one design: it has a handful of needs.
const LOOKS: u64 = 30_000;
/// Bundles that are offered to a part: the nearest of them, and those with most.
const OFFERED: usize = 6;
/// Bundles that are offered to the warp.
const WARP_OFFERED: usize = 24;
const SEED: u64 = 20;

/// What covers these bands, and the looks that it took; nothing where a gram is lacking.
pub(super) fn cover(request: &Request, outfit: &Outfit, bands: &[DesignBand]) -> Option<(Vec<Use>, u64)> {
    let (numbered, colours) = numbered(bands);
    let plan = |warp, weft| {
        let spec = RugSpec { bands: numbered.clone(), length: None, ..(request.base)(warp, weft) };
        Plan::of(&spec, Units::Metric).ok()
    };
    let mut parts = vec![(Part::Warp, Mass::ZERO)];
    parts.extend(colours.iter().map(|&hex| (Part::Weft(hex), Mass::ZERO)));
    // Whichever of the kinds serves, it is enough.
    for &warp in &outfit.warp_kinds {
        let plan = plan(warp, outfit.weft)?;
        parts[0].1 = parts[0].1.max(plan.cloth.warp.p90 + plan.cloth.fringe.p90);
    }
    for &weft in &outfit.weft_kinds {
        let plan = plan(outfit.warp, weft)?;
        for (id, part) in parts[1..].iter_mut().enumerate() {
            let own = plan.weft.colours.iter().filter(|need| usize::from(need.colour) == id);
            part.1 = part.1.max(own.map(|need| need.mass.p90).sum());
        }
    }
    parts.retain(|(_, mass)| *mass > Mass::ZERO);
    let offered: Vec<Vec<usize>> = parts.iter().map(|(part, _)| offered(request, outfit, *part)).collect();
    let mut cloth: Vec<usize> = offered.concat();
    cloth.sort_unstable();
    cloth.dedup();
    let touch = |a: Hex, b: Hex| a != b && touches(bands, a, b);
    let need = |at: usize| {
        let (part, mass) = parts[at];
        let hex = if let Part::Weft(hex) = part { Some(hex) } else { None };
        let barred = |(place, one): (usize, &usize)| (!offered[at].contains(one)).then_some(place);
        let beside =
            |other: usize| matches!((part, parts[other].0), (Part::Weft(a), Part::Weft(b)) if touch(a, b));
        Need {
            grams: whole_grams(mass),
            lab: hex.map(Hex::lab),
            warp: part == Part::Warp,
            most: request.most,
            held: Vec::new(),
            barred: cloth.iter().enumerate().filter_map(barred).collect(),
            touches: (0..parts.len()).filter(|&other| beside(other)).collect(),
        }
    };
    let job = Job {
        bundles: cloth
            .iter()
            .map(|&at| Bundle {
                grams: request.cloth[at].grams,
                lab: request.cloth[at].hex.lab(),
                warp_worthy: true,
            })
            .collect(),
        needs: (0..parts.len()).map(need).collect(),
        weights: Weights::default(),
    };
    let problem = job.problem().ok()?;
    let found = solve(&problem, SEED, &mut |progress| progress.work as f64 / LOOKS as f64);
    if (0..parts.len()).any(|need| found.unmet(&problem, need) > 0) {
        return None;
    }
    let uses = parts.iter().zip(&found.takes).flat_map(|((part, _), takes)| {
        takes.iter().map(|take| Use { cloth: cloth[take.bundle], part: *part, grams: take.grams })
    });
    Some((uses.collect(), found.work))
}

fn touches(bands: &[DesignBand], one: Hex, other: Hex) -> bool {
    let has = |band: &DesignBand, hex| band.colours.contains(&hex);
    bands.iter().any(|band| has(band, one) && has(band, other))
        || bands.windows(2).any(|pair| {
            (has(&pair[0], one) && has(&pair[1], other)) || (has(&pair[0], other) && has(&pair[1], one))
        })
}

fn offered(request: &Request, outfit: &Outfit, part: Part) -> Vec<usize> {
    let Part::Weft(hex) = part else {
        return outfit.warp_pool.iter().copied().take(WARP_OFFERED).collect();
    };
    let Some(tone) = outfit.palette.tones.iter().find(|tone| tone.hex == hex) else { return Vec::new() };
    let mut most = tone.members.clone();
    most.sort_by(|&a, &b| request.cloth[b].grams.cmp(&request.cloth[a].grams).then(a.cmp(&b)));
    let mut offered: Vec<usize> = tone.members.iter().copied().take(OFFERED).collect();
    for at in most.into_iter().take(OFFERED) {
        if !offered.contains(&at) {
            offered.push(at);
        }
    }
    offered
}
