//! The plan of a stored rug, by what the class has learnt and by its own log, and where it stands.
use std::sync::{Arc, LazyLock, Mutex, OnceLock, PoisonError};

use moka::Equivalent;
use moka::sync::Cache;

use super::learning::{Learning, entries};
use crate::drawing::rug_face::Ink;
use crate::planning::Plan;
use crate::planning::pattern::Face;
use crate::planning::progress::{Progress, measured_by};
use crate::planning::sufficiency::{Sufficiency, sufficiency};
use crate::services::{Error, Result};
use crate::store::rugs::cloth::MeasuredCloth;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Rug, RugBand, RugFields};
use crate::store::terms::Meeting;
use crate::store::{Instant, PersonId, Read};
use crate::units::{Minutes, Units};

use super::rug_input::{CantPlan, RugInput, measured};

/// A stored rug with its plan and where it stands.
#[derive(Clone)]
pub struct RugPlan {
    /// As `planning` took it.
    pub input: RugInput,
    pub plan: Plan,
    /// Where it stands by its log.
    pub status: RugStatus,
    faces: Arc<Faces>,
}

/// What was drawn of a rug already, for its page, which is looked at all evening: the back, and the front with so many rows woven.
#[derive(Default)]
struct Faces {
    back: OnceLock<String>,
    front: Mutex<Option<(Option<u32>, String)>>,
}

impl RugPlan {
    /// A picture of the face towards the weaver; of a rug on the frame with a line where the weaving is after so many rows.
    pub fn front(&self, woven: Option<u32>) -> Result<String> {
        let kept = || self.faces.front.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((at, picture)) = &*kept()
            && *at == woven
        {
            return Ok(picture.clone());
        }
        let picture = match woven {
            Some(rows) => self.input.picture_at(&self.plan, rows, "front")?,
            None => self.input.picture(&self.plan, Face::Front, Ink::Colour, "front")?,
        };
        *kept() = Some((woven, picture.clone()));
        Ok(picture)
    }

    /// A picture of the other face.
    pub fn back(&self) -> Result<String> {
        if let Some(picture) = self.faces.back.get() {
            return Ok(picture.clone());
        }
        let picture = self.input.picture(&self.plan, Face::Back, Ink::Colour, "back")?;
        Ok(self.faces.back.get_or_init(|| picture).clone())
    }
}

/// Where a rug stands by its log.
#[derive(Clone)]
pub struct RugStatus {
    pub progress: Progress,
    pub sufficiency: Vec<Sufficiency>,
    /// When the last entry that counts was written.
    pub last: Option<Instant>,
    chances: Chances,
}

/// Chances that were worked out already, by the time left: pages ask for the same ones until a meeting goes by.
type Chances = Arc<Mutex<Vec<(Minutes, f64)>>>;

impl RugStatus {
    /// The chance, 0 to 1, to finish within so much time.
    pub fn chance(&self, room: Minutes) -> f64 {
        let mut known = self.chances.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, chance)) = known.iter().find(|(time, _)| *time == room) {
            return *chance;
        }
        let chance = self.progress.chance(room);
        // While a meeting goes on the time left is another each moment.
        if known.len() >= 8 {
            known.clear();
        }
        known.push((room, chance));
        chance
    }
}

/// All that a plan follows from. A rug's revision would not do: what a bundle weighed, and what is logged, is not of the rug.
#[derive(PartialEq, Eq, Hash)]
struct Origin {
    fields: RugFields,
    bands: Vec<RugBand>,
    measured: Vec<MeasuredCloth>,
    weaver: PersonId,
    log: Vec<LogEntry>,
    /// The revision of what the class has learnt.
    learning: u64,
    units: Units,
}

/// The same, not owned, to look a plan up by. Its fields stand in the same order, so that both hash alike.
#[derive(Hash)]
struct Lookup<'a> {
    fields: &'a RugFields,
    bands: &'a [RugBand],
    measured: &'a [MeasuredCloth],
    weaver: PersonId,
    log: &'a [LogEntry],
    learning: u64,
    units: Units,
}

impl Equivalent<Origin> for Lookup<'_> {
    fn equivalent(&self, origin: &Origin) -> bool {
        let own = (self.weaver, self.learning, self.units) == (origin.weaver, origin.learning, origin.units);
        own && *self.fields == origin.fields
            && *self.bands == *origin.bands
            && *self.measured == *origin.measured
            && *self.log == *origin.log
    }
}

/// Plans by what they follow from: a class looks at the same ones all evening. Several copies of the program over one database
/// agree without talking, since what changes is another key. About 20 kB each, and as much again of one that was drawn.
static PLANS: LazyLock<Cache<Origin, Arc<RugPlan>>> = LazyLock::new(|| Cache::new(200));

/// The plan of a stored rug by what the class has learnt and what its own log says, and where it stands. What is stored was
/// planned before it was kept, so a refusal here is our own fault.
pub fn plan_of(rug: &Rug, learning: &Learning, log: &[LogEntry], units: Units) -> Result<Arc<RugPlan>> {
    let (weaver, learnt) = (rug.weaver_id, learning.revision);
    let lookup = Lookup {
        fields: &rug.fields,
        bands: &rug.bands,
        measured: &rug.measured,
        weaver,
        log,
        learning: learnt,
        units,
    };
    if let Some(plan) = PLANS.get(&lookup) {
        return Ok(plan);
    }
    let plan = beside_requests(|| worked_out(rug, learning, log, units));
    let plan = Arc::new(plan.map_err(|e| Error::Fault(format!("rug {} can't be planned: {e}", rug.id)))?);
    let origin = Origin {
        fields: rug.fields.clone(),
        bands: rug.bands.clone(),
        measured: rug.measured.clone(),
        weaver,
        log: log.to_vec(),
        learning: learnt,
        units,
    };
    PLANS.insert(origin, Arc::clone(&plan));
    Ok(plan)
}

/// Works something out on a thread that answers requests once the others have been handed over to another thread. A runtime of
/// one thread, as small tests have, has nobody to hand them to.
fn beside_requests<T>(work: impl FnOnce() -> T) -> T {
    use tokio::runtime::{Handle, RuntimeFlavor};
    match Handle::try_current().map(|runtime| runtime.runtime_flavor()) {
        Ok(RuntimeFlavor::MultiThread) => tokio::task::block_in_place(work),
        _ => work(),
    }
}

fn worked_out(rug: &Rug, learning: &Learning, log: &[LogEntry], units: Units) -> Result<RugPlan, CantPlan> {
    let mut input = RugInput::of(&rug.fields, &rug.bands, units)?;
    learning.apply_learned(&mut input, rug.weaver_id, units);
    input.spec.known.extend(measured(&rug.fields, &rug.measured, units));
    let entries = entries(log, &input.colours);
    input.spec = measured_by(&input.spec, &entries, units);
    let plan = input.plan(units)?;
    let spec = &input.spec;
    let status = RugStatus {
        progress: Progress::of(spec, &plan, &entries, units)?,
        sufficiency: sufficiency(spec, &plan, &entries, units)?,
        last: log.iter().rev().find(|entry| entry.counts()).map(|entry| entry.at),
        chances: Chances::default(),
    };
    Ok(RugPlan { input, plan, status, faces: Arc::default() })
}

/// The rug's plan by what the class has learnt and by its own log, and that log.
pub async fn load(read: &mut Read, rug: &Rug, units: Units) -> Result<(Arc<RugPlan>, Vec<LogEntry>)> {
    let log = read.rug_log(rug.id).await?;
    let learning = Learning::load(read).await?;
    Ok((plan_of(rug, &learning, &log, units)?, log))
}

/// The meetings of the rug's term but those to which its weaver won't come; none without a term.
pub async fn meetings(read: &mut Read, rug: &Rug) -> Result<Vec<Meeting>> {
    let Some(term) = rug.fields.term_id else { return Ok(Vec::new()) };
    let absences = read.absences(term).await?;
    let away =
        |one: &Meeting| absences.iter().any(|a| (a.meeting_id, a.person_id) == (one.id, rug.weaver_id));
    Ok(read.meetings(term).await?.into_iter().filter(|one| !away(one)).collect())
}
