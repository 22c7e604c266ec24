//! What the class has learnt, and what a rug's own log says, on their way from the store to `planning`.
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, LazyLock};

use moka::sync::Cache;

use crate::planning::learn::{Class, Finished, Outcome};
use crate::planning::progress::Entry;
use crate::services::Result;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::results::{ResultFields, RugResult};
use crate::store::rugs::{Colour, RugBand};
use crate::store::{PersonId, Read};
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
static LEARNT: LazyLock<Cache<Vec<RugResult>, Learning>> = LazyLock::new(|| Cache::new(8));
static REVISION: AtomicU64 = AtomicU64::new(0);

impl Learning {
    /// From the class's finished rugs.
    pub async fn load(read: &mut Read) -> Result<Self> {
        let results = read.rug_results().await?;
        Ok(LEARNT.get(&results).unwrap_or_else(|| {
            let learning = Self::from(&results);
            LEARNT.insert(results, learning.clone());
            learning
        }))
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
    let whole = RugBand { height: rug.length_nm, first: any.clone(), other: any, strip: None };
    let planned = RugInput::of(&rug.fields, &[whole], units).ok()?;
    Some(Finished { spec: planned.spec, weaver: rug.weaver_id.to_string(), outcome: outcome(&rug.result) })
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
    log.iter().filter(|entry| entry.counts()).map(entry).collect()
}
