//! `solve share-out`: which bundles of cloth serve which needs of a class.
use super::{bad, unlike};
use crate::optimize::share_out::{Allocation, Bundle, Job, Need, USUAL_PACE, Weights, solve};
use crate::planning::colour::Lab;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::time::Instant;

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"max_bundles_per_need", "bundles": [{"id", "grams", "lab": [L, a, b], "warp_worthy"}],
      "needs": [{"id", "grams", "lab", "warp", "most", "held": [bundle ids], "barred": [bundle ids],
                 "touches": [need ids]}],
      "weights": {"delta_e_per_100g": 1, "pair": 20, "unmet_gram": 50, "change": 0}, "seconds", "rounds"}
Out: {"assign": [{"bundle", "need", "grams"}], "unmet": [{"need", "grams"}], "cost", "bound", "gap", "proven", "work", "milliseconds"}
Cost: grams × CIEDE2000 / 100 × delta_e_per_100g + pair × pairs of bundle and need + unmet_gram × grams unmet
+ change × pairs whose need had bundles before (held) and that bundle not among them.
Grams are whole; a warp need takes warp-worthy bundles only, no need takes barred ones, one without a lab takes any colour, and
most stands in for max_bundles_per_need. No share-out costs less than the bound; the gap is
(cost − bound) / cost. The weights given here are the defaults. L lies from 0 to 100. Needs that touch one another in a rug keep
their difference: cloth for both is at least half as far apart in lightness, the lighter still the lighter, and at least half
as far in hue and chroma, where what is wanted differs by 5 and by 8; otherwise grams stay unmet. The work is counted, so that
every run ends alike, about 1.6 seconds of it for 96 needs and 60 bundles, up to 6.5 for more; after ten seconds the best so far
is given whatever the work, and it ends sooner when the cost is proven the least. Seconds: 0.1 to 60 of time instead. Rounds:
1 to 1000000 rounds instead."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ShareOutRequest {
    max_bundles_per_need: usize,
    bundles: Vec<BundleInput>,
    needs: Vec<NeedInput>,
    #[serde(default, deserialize_with = "super::or_usual")]
    weights: WeightsInput,
    seconds: Option<f64>,
    rounds: Option<u32>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct BundleInput {
    id: Value,
    grams: i64,
    lab: [f64; 3],
    #[serde(default, deserialize_with = "super::or_usual")]
    warp_worthy: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct NeedInput {
    id: Value,
    grams: i64,
    lab: Option<[f64; 3]>,
    #[serde(default, deserialize_with = "super::or_usual")]
    warp: bool,
    most: Option<usize>,
    #[serde(default, deserialize_with = "super::or_usual")]
    held: Vec<Value>,
    #[serde(default, deserialize_with = "super::or_usual")]
    barred: Vec<Value>,
    #[serde(default, deserialize_with = "super::or_usual")]
    touches: Vec<Value>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct WeightsInput {
    delta_e_per_100g: f64,
    pair: f64,
    unmet_gram: f64,
    change: f64,
}

impl Default for WeightsInput {
    fn default() -> Self {
        let usual = Weights::default();
        Self {
            delta_e_per_100g: usual.delta_e_per_100g,
            pair: usual.pair,
            unmet_gram: usual.unmet_gram,
            change: usual.change,
        }
    }
}

#[derive(Serialize)]
pub(super) struct ShareOutResponse<'a> {
    assign: Vec<Assigned<'a>>,
    unmet: Vec<Unmet<'a>>,
    cost: f64,
    bound: f64,
    gap: f64,
    proven: bool,
    work: u64,
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

pub(super) fn answer(asked: &ShareOutRequest) -> anyhow::Result<ShareOutResponse<'_>> {
    let began = Instant::now();
    if !(1..=99).contains(&asked.max_bundles_per_need) {
        let given = asked.max_bundles_per_need;
        let why = format!("max_bundles_per_need: {given} is out of range: from 1 to 99 is allowed.");
        return Err(bad("share-out", &why).into());
    }
    if asked.seconds.is_some_and(|given| !(0.1..=60.0).contains(&given)) {
        return Err(bad("share-out", &"seconds: from 0.1 to 60 is allowed.").into());
    }
    if asked.rounds.is_some_and(|given| !(1..=1_000_000).contains(&given)) {
        return Err(bad("share-out", &"rounds: from 1 to 1000000 is allowed.").into());
    }
    if asked.needs.iter().filter_map(|need| need.most).any(|most| most > 99) {
        return Err(bad("share-out", &"most: from 0 to 99 is allowed.").into());
    }
    let problem =
        asked.job().map_err(|why| bad("share-out", &why))?.problem().map_err(|e| bad("share-out", &e))?;
    let effort = usual_work(asked.needs.len() * asked.bundles.len());
    let mut rounds = 0;
    let found = solve(&problem, SEED, &mut |progress| {
        rounds += 1;
        let seconds = began.elapsed().as_secs_f64();
        match (asked.rounds, asked.seconds) {
            (Some(given), _) => f64::from(rounds) / f64::from(given),
            (None, Some(given)) => seconds / given,
            (None, None) => (progress.work as f64 / effort).max(seconds / LONGEST),
        }
    });
    let unmet = |need: usize| Unmet { need: &asked.needs[need].id, grams: found.unmet(&problem, need) };
    Ok(ShareOutResponse {
        assign: assigned(asked, &found),
        unmet: (0..asked.needs.len()).map(unmet).filter(|unmet| unmet.grams > 0).collect(),
        cost: found.cost,
        bound: found.bound,
        gap: found.gap(),
        proven: found.gap() == 0.0,
        work: found.work,
        milliseconds: began.elapsed().as_millis() as u64,
    })
}

/// The last stop, in seconds; mostly the work is done before.
const LONGEST: f64 = 10.0;

/// Work to do, for so many needs times bundles.
fn usual_work(cells: usize) -> f64 {
    let seconds = (1.6 + (cells.saturating_sub(6_000)) as f64 * 1.2e-4).min(6.5);
    seconds * USUAL_PACE
}

impl ShareOutRequest {
    fn job(&self) -> Result<Job, String> {
        unlike("bundle", self.bundles.iter().map(|one| &one.id))?;
        unlike("need", self.needs.iter().map(|one| &one.id))?;
        let named = |ids: &[Value]| -> Result<Vec<usize>, String> {
            let at = |id: &Value| self.bundles.iter().position(|bundle| bundle.id == *id);
            ids.iter().map(|id| at(id).ok_or_else(|| format!("Bundle {id} isn't listed."))).collect()
        };
        let touched = |ids: &[Value]| -> Result<Vec<usize>, String> {
            let at = |id: &Value| self.needs.iter().position(|need| need.id == *id);
            ids.iter().map(|id| at(id).ok_or_else(|| format!("Need {id} isn't listed."))).collect()
        };
        let lab = |[l, a, b]: [f64; 3]| Lab::new(l, a, b);
        let bundle =
            |one: &BundleInput| Bundle { grams: one.grams, lab: lab(one.lab), warp_worthy: one.warp_worthy };
        let need = |one: &NeedInput| -> Result<Need, String> {
            Ok(Need {
                grams: one.grams,
                lab: one.lab.map(lab),
                warp: one.warp,
                most: one.most.unwrap_or(self.max_bundles_per_need),
                held: named(&one.held)?,
                barred: named(&one.barred)?,
                touches: touched(&one.touches)?,
            })
        };
        let WeightsInput { delta_e_per_100g, pair, unmet_gram, change } = self.weights;
        Ok(Job {
            bundles: self.bundles.iter().map(bundle).collect(),
            needs: self.needs.iter().map(need).collect::<Result<_, _>>()?,
            weights: Weights { delta_e_per_100g, pair, unmet_gram, change },
        })
    }
}

fn assigned<'a>(asked: &'a ShareOutRequest, found: &Allocation) -> Vec<Assigned<'a>> {
    let mut all = Vec::new();
    for (need, takes) in asked.needs.iter().zip(&found.takes) {
        for take in takes {
            all.push(Assigned { bundle: &asked.bundles[take.bundle].id, need: &need.id, grams: take.grams });
        }
    }
    all
}
