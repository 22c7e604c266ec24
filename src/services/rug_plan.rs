//! The plan of a stored rug, by what the class has learnt and by its own log, and where it stands.
use super::learning::{Learning, entries};
use crate::planning::Plan;
use crate::planning::progress::{Progress, measured_by};
use crate::planning::sufficiency::{Sufficiency, sufficiency};
use crate::services::{Error, Result};
use crate::store::rugs::Rug;
use crate::store::rugs::log::LogEntry;
use crate::store::terms::Meeting;
use crate::store::{Instant, Read};
use crate::units::Units;

use super::rug_input::{CantPlan, RugInput, measured};

/// A stored rug with its plan and where it stands.
pub struct RugPlan {
    pub planned: RugInput,
    pub plan: Plan,
    pub standing: RugStatus,
}

/// Where a rug stands by its log.
pub struct RugStatus {
    pub progress: Progress,
    pub sufficiency: Vec<Sufficiency>,
    /// When the last entry that counts was written.
    pub last: Option<Instant>,
}

/// The plan of a stored rug by what the class has learnt and what its own log says, and where it stands. What is stored was
/// planned before it was kept, so a refusal here is a fault of ours.
pub fn plan_of(rug: &Rug, learning: &Learning, log: &[LogEntry], units: Units) -> Result<RugPlan> {
    let fault = |e: CantPlan| Error::Fault(format!("rug {} can't be planned: {e}", rug.id));
    let mut planned = RugInput::of(&rug.fields, &rug.bands, units).map_err(|e| fault(e.into()))?;
    learning.apply_learned(&mut planned, rug.weaver_id, units);
    planned.spec.known.extend(measured(&rug.fields, &rug.measured, units));
    let entries = entries(log, &planned.colours);
    planned.spec = measured_by(&planned.spec, &entries, units);
    let plan = planned.plan(units).map_err(|e| fault(e.into()))?;
    let spec = &planned.spec;
    let standing = RugStatus {
        progress: Progress::of(spec, &plan, &entries, units).map_err(|e| fault(e.into()))?,
        sufficiency: sufficiency(spec, &plan, &entries, units).map_err(|e| fault(e.into()))?,
        last: log.iter().rev().find(|entry| entry.counts()).map(|entry| entry.at),
    };
    Ok(RugPlan { planned, plan, standing })
}

/// The rug's plan by what the class has learnt and by its own log, and that log.
pub async fn load(read: &mut Read, rug: &Rug, units: Units) -> Result<(RugPlan, Vec<LogEntry>)> {
    let log = read.rug_log(rug.id).await?;
    let learning = Learning::load(read).await?;
    Ok((plan_of(rug, &learning, &log, units)?, log))
}

/// The meetings of the rug's term; none without one.
pub async fn meetings(read: &mut Read, rug: &Rug) -> Result<Vec<Meeting>> {
    match rug.fields.term_id {
        Some(term) => Ok(read.meetings(term).await?),
        None => Ok(Vec::new()),
    }
}
