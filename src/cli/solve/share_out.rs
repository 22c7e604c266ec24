//! `solve share-out`: which bundles of cloth serve which needs of a class.
use super::bad;
use crate::class::share_out::{Answer as Found, Bundle, Job, Need, Weights, solve};
use crate::craft::colour::Lab;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::time::Instant;

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"max_bundles_per_need", "bundles": [{"id", "grams", "lab": [L, a, b], "warp_worthy"}],
      "needs": [{"id", "grams", "lab", "warp"}],
      "weights": {"delta_e_per_100g": 1, "pair": 20, "unmet_gram": 50}, "seconds"}
Out: {"assign": [{"bundle", "need", "grams"}], "unmet": [{"need", "grams"}], "cost", "bound", "gap", "milliseconds"}
Cost: grams × CIEDE2000 / 100 × delta_e_per_100g + pair × pairs of bundle and need + unmet_gram × grams unmet.
Grams are whole; a warp need takes warp-worthy bundles only. No share-out costs less than the bound; the gap is
(cost − bound) / cost. The weights given here are the defaults. Seconds: 0.1 to 60, by default 1.6 for 96 needs and 60
bundles, up to 9 for more; it ends sooner when the cost is proven the least."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Asked {
    max_bundles_per_need: usize,
    bundles: Vec<AskedBundle>,
    needs: Vec<AskedNeed>,
    #[serde(default)]
    weights: AskedWeights,
    seconds: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedBundle {
    id: Value,
    grams: i64,
    lab: [f64; 3],
    #[serde(default)]
    warp_worthy: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedNeed {
    id: Value,
    grams: i64,
    lab: [f64; 3],
    #[serde(default)]
    warp: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct AskedWeights {
    delta_e_per_100g: f64,
    pair: f64,
    unmet_gram: f64,
}

impl Default for AskedWeights {
    fn default() -> Self {
        let usual = Weights::default();
        Self { delta_e_per_100g: usual.delta_e_per_100g, pair: usual.pair, unmet_gram: usual.unmet_gram }
    }
}

#[derive(Serialize)]
pub(super) struct Answer<'a> {
    assign: Vec<Assigned<'a>>,
    unmet: Vec<Unmet<'a>>,
    cost: f64,
    bound: f64,
    gap: f64,
    milliseconds: u64,
}

#[derive(Serialize)]
struct Assigned<'a> {
    bundle: &'a Value,
    need: &'a Value,
    grams: i64,
}

#[derive(Serialize)]
struct Unmet<'a> {
    need: &'a Value,
    grams: i64,
}

/// Chance is only there to break the search's ties; one seed makes runs comparable.
const SEED: u64 = 20_261_125;

pub(super) fn answer(asked: &Asked) -> anyhow::Result<Answer<'_>> {
    let began = Instant::now();
    if !(1..=99).contains(&asked.max_bundles_per_need) {
        let given = asked.max_bundles_per_need;
        let why = format!("max_bundles_per_need: {given} is out of range: from 1 to 99 is allowed.");
        return Err(bad("share-out", &why).into());
    }
    if asked.seconds.is_some_and(|given| !(0.1..=60.0).contains(&given)) {
        return Err(bad("share-out", &"seconds: from 0.1 to 60 is allowed.").into());
    }
    let problem = asked.job().problem().map_err(|e| bad("share-out", &e))?;
    let seconds = asked.seconds.unwrap_or_else(|| usual_seconds(asked.needs.len() * asked.bundles.len()));
    let found = solve(&problem, SEED, &mut |_| began.elapsed().as_secs_f64() / seconds);
    let unmet = |need: usize| Unmet { need: &asked.needs[need].id, grams: found.unmet(&problem, need) };
    Ok(Answer {
        assign: assigned(asked, &found),
        unmet: (0..asked.needs.len()).map(unmet).filter(|unmet| unmet.grams > 0).collect(),
        cost: found.cost,
        bound: found.bound,
        gap: found.gap(),
        milliseconds: began.elapsed().as_millis() as u64,
    })
}

/// Time to work in, for so many needs times bundles.
fn usual_seconds(cells: usize) -> f64 {
    (1.6 + (cells.saturating_sub(6_000)) as f64 * 1.2e-4).min(9.0)
}

impl Asked {
    fn job(&self) -> Job {
        let lab = |[l, a, b]: [f64; 3]| Lab::new(l, a, b);
        let bundle =
            |one: &AskedBundle| Bundle { grams: one.grams, lab: lab(one.lab), warp_worthy: one.warp_worthy };
        let need = |one: &AskedNeed| Need {
            grams: one.grams,
            lab: Some(lab(one.lab)),
            warp: one.warp,
            most: self.max_bundles_per_need,
            held: Vec::new(),
            barred: Vec::new(),
        };
        let AskedWeights { delta_e_per_100g, pair, unmet_gram } = self.weights;
        Job {
            bundles: self.bundles.iter().map(bundle).collect(),
            needs: self.needs.iter().map(need).collect(),
            weights: Weights { delta_e_per_100g, pair, unmet_gram, change: 0.0 },
        }
    }
}

fn assigned<'a>(asked: &'a Asked, found: &Found) -> Vec<Assigned<'a>> {
    let mut all = Vec::new();
    for (need, takes) in asked.needs.iter().zip(&found.takes) {
        for take in takes {
            all.push(Assigned { bundle: &asked.bundles[take.bundle].id, need: &need.id, grams: take.grams });
        }
    }
    all
}
