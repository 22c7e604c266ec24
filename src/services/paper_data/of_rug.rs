//! What a rug's papers say: warp card, change tape, reading card.
use std::sync::Arc;

use super::{Printed, Reader};
use crate::drawing::hatch::by_lightness;
use crate::planning::colour::Hex;
use crate::services::learning::Learning;
use crate::services::rug_calendar::{Calendar, Entry};
use crate::services::rug_plan::{self, RugPlan, plan_of};
use crate::services::rug_status::{place, running_short};
use crate::services::{Error, Result};
use crate::store::cloth::promises::Promise;
use crate::store::rugs::Rug;
use crate::store::rugs::log::LogEntry;
use crate::store::terms::Meeting;
use crate::store::{Read, TermId};
use crate::units::Units;

/// A rug with all that its papers say.
pub struct RugPaper {
    pub rug: Rug,
    pub known: Arc<RugPlan>,
    pub calendar: Calendar,
    /// Cloth from the shelf that is promised to it.
    pub promises: Vec<Promise>,
}

/// Where a rug stands, as its cards say it.
#[derive(Clone, Debug, Default)]
pub struct Standing {
    /// The next step: when, and what.
    pub next: Option<(String, String)>,
    /// The row that is reached; nothing before the first is woven.
    pub reached: Option<String>,
    /// Which colours run short.
    pub short: Vec<String>,
}

impl RugPaper {
    fn of(
        reader: &Reader,
        rug: Rug,
        known: Arc<RugPlan>,
        meetings: &[Meeting],
        promises: Vec<Promise>,
    ) -> Self {
        let calendar = Calendar::of(&rug, &known, meetings, reader.now, &reader.wall.zone, reader.units);
        Self { rug, known, calendar, promises }
    }

    /// Of one rug.
    pub async fn load(read: &mut Read, reader: &Reader, rug: Rug) -> Result<Self> {
        let meetings = rug_plan::meetings(read, &rug).await?;
        let (known, _) = rug_plan::load(read, &rug, reader.units).await?;
        let promises = read.promises_to(rug.id).await?;
        Ok(Self::of(reader, rug, known, &meetings, promises))
    }

    /// Of many rugs, all of one term where it is given: one question for each kind of thing, however many rugs there are.
    pub async fn load_all(
        read: &mut Read,
        reader: &Reader,
        rugs: Vec<Rug>,
        term: Option<TermId>,
    ) -> Result<Vec<Self>> {
        let learning = Learning::load(read).await?;
        let (logs, meetings) = match term {
            Some(term) => (read.term_log(term).await?, read.meetings(term).await?),
            None => (read.logs().await?, Vec::new()),
        };
        let promises = read.promises().await?;
        let mut papers = Vec::new();
        for rug in rugs {
            let log: Vec<LogEntry> = logs.iter().filter(|entry| entry.rug_id == rug.id).cloned().collect();
            let own = promises.iter().filter(|promise| promise.part.rug_id == rug.id).cloned().collect();
            let known = plan_of(&rug, &learning, &log, reader.units)?;
            papers.push(Self::of(reader, rug, known, &meetings, own));
        }
        Ok(papers)
    }

    /// The names of its colours, by [`ColourId`](crate::planning::ColourId).
    pub fn colours(&self) -> Vec<String> {
        self.known.input.colours.iter().map(|colour| colour.name.clone()).collect()
    }

    /// Its steps, each for itself: when, and what.
    pub fn steps(&self) -> Vec<(String, String)> {
        let of = |entry: &Entry| {
            let when = entry.when.clone();
            entry.what.iter().map(move |what| (when.clone(), what.clone())).collect::<Vec<_>>()
        };
        self.calendar.entries.iter().flat_map(of).collect()
    }

    /// Where the rug stands: what comes next, how far it is, which colours run short.
    pub fn standing(&self, units: Units) -> Standing {
        let began = self.known.status.progress.began;
        Standing {
            next: self.steps().into_iter().next(),
            reached: began.then(|| place(&self.known, units)),
            short: running_short(&self.known),
        }
    }

    /// The hatches of its colours, by their numbers in `drawing::hatch`.
    pub fn hatches(&self) -> Vec<usize> {
        let hexes = self.known.input.colours.iter().map(|colour| Hex::parse(&colour.hex));
        hexes
            .collect::<std::result::Result<Vec<_>, _>>()
            .map_or_else(|_| Vec::new(), |all| by_lightness(&all))
    }

    /// Where the live page is that knows this paper.
    pub fn link(&self, reader: &Reader) -> String {
        Printed::of(&self.rug, &self.known.plan).link(&reader.origin, &self.rug)
    }
}

/// A term's name, and those of its rugs that a paper is of use for.
pub async fn rugs_of_term(
    read: &mut Read,
    id: TermId,
    wanted: impl Fn(&Rug) -> bool,
) -> Result<(String, Vec<Rug>)> {
    let term = read.term(id).await?.ok_or(Error::NotFound("term"))?;
    let mut rugs = read.rugs(None, Some(id)).await?;
    rugs.retain(wanted);
    if rugs.is_empty() { Err(Error::NotFound("rug to print this for")) } else { Ok((term.name, rugs)) }
}
