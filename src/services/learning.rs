//! What the class has learnt, and what a rug's own log says, on their way from the store to `planning`.
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, LazyLock};

use moka::policy::EvictionPolicy;
use moka::sync::Cache;

use crate::planning::learn::{Class, Finished, Outcome};
use crate::planning::progress::Entry;
use crate::services::Result;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::results::{ResultFields, RugResult};
use crate::store::rugs::{Colour, RugBand};
use crate::store::{PersonId, Read, Revision};
use crate::units::{Minutes, Units};

use super::rug_input::RugInput;

/// What finished rugs teach, loaded once for a page and worked out once for as long as they say the same.
#[derive(Clone)]
pub struct Learning {
    class: Arc<Class>,
    /// One number for each thing learnt: plans are kept by it.
    pub revision: u64,
}

/// What was learnt, by what it was learnt from. A copy of the program that others share a database with keeps its own, and needs
/// no word from them: other results are another key.
static LEARNT: LazyLock<Cache<Vec<RugResult>, Learning>> = LazyLock::new(|| newest(8));
/// The same by what the database is at, so that the results needn't be read for as long as nothing changed.
static LEARNT_AT: LazyLock<Cache<Revision, Learning>> = LazyLock::new(|| newest(64));
/// The oldest goes first: what was asked for often before a change is of no use after it.
fn newest<K, V>(most: u64) -> Cache<K, V>
where
    K: std::hash::Hash + Eq + Send + Sync + 'static,
    V: Clone + Send + Sync + 'static,
{
    Cache::builder().max_capacity(most).eviction_policy(EvictionPolicy::lru()).build()
}

static REVISION: AtomicU64 = AtomicU64::new(0);

impl Learning {
    /// From the class's finished rugs.
    pub async fn load(read: &mut Read) -> Result<Self> {
        let at = read.revision().await?;
        if let Some(learning) = at.as_ref().and_then(|at| LEARNT_AT.get(at)) {
            return Ok(learning);
        }
        let results = read.rug_results().await?;
        let learning = LEARNT.get(&results).unwrap_or_else(|| {
            let learning = Self::from(&results);
            LEARNT.insert(results, learning.clone());
            learning
        });
        if let Some(at) = at {
            LEARNT_AT.insert(at, learning.clone());
        }
        Ok(learning)
    }

    fn from(results: &[RugResult]) -> Self {
        // Refusals alone are worded in units, and none is shown here.
        let units = Units::Inches;
        let finished: Vec<Finished> = results.iter().filter_map(|result| finished(result, units)).collect();
        let class = Arc::new(Class::of(&finished, units));
        Self { class, revision: REVISION.fetch_add(1, Ordering::Relaxed) }
    }

    /// Gives a rug that is planned for this weaver the class's figures.
    pub fn apply_learned(&self, planned: &mut RugInput, weaver: PersonId, units: Units) {
        let learnt = self.class.settings(&planned.spec, &weaver.to_string(), units);
        planned.spec.known.extend(learnt);
    }
}

fn finished(rug: &RugResult, units: Units) -> Option<Finished> {
    let any = Colour { name: String::new(), hex: String::new() };
    let whole = RugBand { height: rug.length_nm, first: any.clone(), other: any, strip: None, chart: None };
    let planned = RugInput::of(&rug.fields, &[whole], units).ok()?;
    let mut outcome = outcome(&rug.result);
    if rug.charted {
        // Planned without its chart it would look as if this class wove slower and of thicker strip than it does.
        (outcome.weft, outcome.weaving) = (None, None);
    }
    Some(Finished { spec: planned.spec, weaver: rug.weaver_id.to_string(), outcome })
}

fn outcome(result: &ResultFields) -> Outcome {
    let minutes = |minutes: Option<i64>| minutes.map(|minutes| Minutes::new(minutes as f64));
    Outcome {
        rows: result.rows_woven.and_then(|rows| u32::try_from(rows).ok()),
        woven: result.woven_nm,
        weft: result.weft_mg,
        weaving: minutes(result.weave_minutes),
        preparing: minutes(result.prepare_minutes),
        warp: result.warp_nm,
        finished_length: result.finished_length_nm,
        finished_width: result.finished_width_nm,
    }
}

/// A rug's log as `planning` reads it. Colours that the rug has no more are left out.
pub fn entries(log: &[LogEntry], colours: &[Colour]) -> Vec<Entry> {
    let entry = |entry: &LogEntry| {
        let f = &entry.fields;
        let left = f.left.iter().filter_map(|(colour, mass)| {
            colours.iter().position(|known| known == colour).map(|id| (id as u16, *mass))
        });
        Entry {
            rows: f.rows.and_then(|rows| u32::try_from(rows).ok()),
            woven: f.woven,
            minutes: f.minutes.map(|minutes| Minutes::new(minutes as f64)),
            left: left.collect(),
        }
    };
    let mut said: Vec<(bool, Entry)> = Vec::new();
    for one in log.iter().filter(|entry| entry.counts()) {
        let mut next = entry(one);
        // Rows counted one by one have no time; what is written down after them is of the same evening's work.
        while let Some((_, before)) = said.pop_if(|(counted, _)| *counted && next.minutes.is_some()) {
            if next.woven.is_none() {
                next.rows = next.rows.or(before.rows);
            }
        }
        said.push((one.counted, next));
    }
    said.into_iter().map(|(_, entry)| entry).collect()
}
