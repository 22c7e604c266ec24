//! The demo's cloth on its way to the rugs: pulled on the evenings, some cut into strips; and, the day before, promised to rugs that wait.
use anyhow::Context as _;
use jiff::{Span, Timestamp, civil};

use super::cloth::{CUT, PULLED, PUT_BACK, SCRAPPED};
use super::fill::Class;
use super::given::weighing;
use super::rugs::{Fate, RUGS};
use crate::services::share_out::work::share_out_at_once;
use crate::store::cloth::cuts::CutFields;
use crate::store::cloth::ledger::Weighing;
use crate::store::{Actor, BundleId, RequestKey, RugId};
use crate::units::{Length, Mass, Units};

/// To how many of the waiting rugs cloth is shared out, and how long that may look.
const SHARED: usize = 4;
const LOOKS: u32 = 250;

impl Class<'_> {
    /// An evening's pulls, and what else became of cloth then.
    pub(super) async fn fetch_cloth(&self, evening: usize, at: Timestamp) -> anyhow::Result<()> {
        let who = self.volunteers[evening % self.volunteers.len()];
        let bundle = |tag: i64| self.bundles[tag as usize - 1];
        let mut tx = self.write(Some(who), at).await?;
        for (_, tag, weight, rug) in PULLED.iter().filter(|pull| pull.0 == evening) {
            let (key, note) = (RequestKey::new(), format!("for {rug}"));
            let pulled = tx.pull(bundle(*tag), key, &weighing(weight)?, &note).await?;
            pulled.with_context(|| format!("pulling {weight} of bundle {tag}"))?;
        }
        let (when, tag, weight, note) = SCRAPPED;
        if when == evening {
            tx.scrap(bundle(tag), RequestKey::new(), Some(&weighing(weight)?), note).await??;
        }
        let (when, tag, weight, note) = PUT_BACK;
        if when == evening {
            tx.put_back(bundle(tag), RequestKey::new(), &weighing(weight)?, note).await??;
        }
        Ok(tx.commit().await?)
    }

    /// A volunteer's quiet afternoon with the cutter.
    pub(super) async fn cut(&self) -> anyhow::Result<()> {
        let (tag, weight, note) = CUT;
        let cut = CutFields {
            weighing: weighing(weight)?,
            width: Length::inches(1.5),
            note: note.into(),
            scrap_rest: true,
        };
        let at = self.at(-2, civil::time(15, 0, 0, 0), Span::new())?;
        let mut tx = self.write(self.volunteers.first().copied(), at).await?;
        tx.cut(self.bundles[tag as usize - 1], BundleId::new(), RequestKey::new(), &cut).await??;
        Ok(tx.commit().await?)
    }

    /// The day before: cloth is shared out to the first rugs that wait, and some of it pulled; then a bundle that was
    /// counted on goes off.
    pub(super) async fn share_out(&self) -> anyhow::Result<()> {
        let waiting = self.rugs.iter().zip(RUGS).filter(|(_, rug)| matches!(rug.fate, Fate::Planned));
        let waiting: Vec<RugId> = waiting.map(|(id, _)| *id).take(SHARED).collect();
        let at = self.at(-1, civil::time(16, 0, 0, 0), Span::new())?;
        let actor = Actor { person: self.instructors.first().copied(), at };
        share_out_at_once(self.store, actor, &waiting, LOOKS).await?;
        let promises = self.store.read().await?.promises().await?;
        let at = self.at(-1, civil::time(16, 40, 0, 0), Span::new())?;
        let mut tx = self.write(self.volunteers.first().copied(), at).await?;
        for promise in promises.iter().filter(|promise| promise.part.rug_id == waiting[0]) {
            // Nobody cuts to the ounce: half of one more.
            let taken = Mass::from_mg(promise.promised_mg.mg() + 14_175).min(promise.balance_mg);
            let weighing = Weighing { typed: taken.exact(Units::Inches), gross: taken, tare: Mass::ZERO };
            tx.pull_promise(promise.id, RequestKey::new(), &weighing).await??;
        }
        if let Some(last) = promises.iter().rev().find(|promise| promise.part.rug_id != waiting[0]) {
            tx.scrap(last.bundle_id, RequestKey::new(), None, "mildew, all of it").await??;
        }
        Ok(tx.commit().await?)
    }
}
