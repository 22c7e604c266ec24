//! How much of each bundle becomes strip: by its sheets' hems, else by what cutting up bundles of its kind showed.
use std::collections::HashMap;
use std::sync::{Arc, LazyLock};

use moka::policy::EvictionPolicy;
use moka::sync::Cache;
use sqlx::FromRow;

use crate::planning::cloth::Kind;
use crate::planning::usable::{CutUp, Hems, SizeFrom, Usable};
use crate::store::revision::Revision;
use crate::store::tx::{Read, sql};
use crate::store::{BundleId, Error};
use crate::units::{Length, Mass};

/// The usable share of one bundle; without more knowledge that of any cloth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yield(pub Usable);

impl Default for Yield {
    fn default() -> Self {
        Self(Usable::of_kind(CutUp::default()))
    }
}

/// What of a bundle decides how much of it becomes strip.
#[derive(Clone, Debug, Default, PartialEq, FromRow)]
pub struct Grown {
    /// The bundle that it was cut from, if it is a lot of strips.
    pub made_from: Option<BundleId>,
    /// The length of its sheets, if one was measured.
    pub sheet_length_nm: Option<Length>,
    /// Their width.
    pub sheet_width_nm: Option<Length>,
    /// Their narrower hem, if hems were measured.
    pub sheet_hem_nm: Option<Length>,
    /// Their hem at the top, if it is wider.
    pub sheet_top_hem_nm: Option<Length>,
    /// Whether their size is the label's.
    pub sheet_size_labelled: bool,
}

/// What a size was read from, as the column has it.
pub(in crate::store) fn size_from(labelled: bool) -> SizeFrom {
    if labelled { SizeFrom::Label } else { SizeFrom::Measured }
}

/// What cutting up showed, by kind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Yields(HashMap<Kind, CutUp>);

impl Yields {
    /// The usable share of a bundle.
    pub fn of(&self, kind: Kind, grown: &Grown) -> Yield {
        if grown.made_from.is_some() {
            return Yield(Usable::STRIPS);
        }
        let by_hems = || {
            let (length, width) = (grown.sheet_length_nm?, grown.sheet_width_nm?);
            let hems = Hems { hem: grown.sheet_hem_nm?, top: grown.sheet_top_hem_nm };
            Usable::of_sheets(length, width, hems, size_from(grown.sheet_size_labelled))
        };
        Yield(by_hems().unwrap_or_else(|| self.of_kind(kind)))
    }

    /// That of a bundle of the kind, of which nothing more is known.
    pub fn of_kind(&self, kind: Kind) -> Usable {
        Usable::of_kind(self.0.get(&kind).copied().unwrap_or_default())
    }
}

/// What was summed, by what the database was at: the sum goes over every bundle that was ever cut up, and each list of cloth
/// wants it. A revision is a word that no other database has, so that one place serves all.
static KEPT: LazyLock<Cache<Revision, Arc<Yields>>> = LazyLock::new(|| {
    // The oldest goes first: what was asked for often before a change is of no use after it.
    Cache::builder().max_capacity(64).eviction_policy(EvictionPolicy::lru()).build()
});

/// How many cuts, the latest, what cutting up shows is summed over: far more than it takes to know a kind's yield, while all cuts of
/// many years would have to be summed again after each change.
pub const LATEST_CUTS: i64 = 2000;

impl Read {
    /// What cutting up bundles showed lately: of each that is cut to its end, what became strip and what was thrown away. What
    /// was undone doesn't count, nor a bundle that something else was taken from, or that was thrown away whole.
    pub async fn yields(&mut self) -> Result<Arc<Yields>, Error> {
        let Some(revision) = self.revision().await? else { return Ok(Arc::new(self.summed_yields().await?)) };
        if let Some(kept) = KEPT.get(&revision) {
            return Ok(kept);
        }
        let yields = Arc::new(self.summed_yields().await?);
        KEPT.insert(revision, Arc::clone(&yields));
        Ok(yields)
    }

    async fn summed_yields(&mut self) -> Result<Yields, Error> {
        let cut = sql!(
            all(Kind, Mass, Mass),
            self,
            "SELECT b.kind, CAST(SUM(CASE WHEN e.reason = 'cut' THEN -e.change_mg ELSE 0 END) AS BIGINT) AS strips,
                 CAST(SUM(CASE WHEN e.reason = 'scrap' THEN -e.change_mg ELSE 0 END) AS BIGINT) AS scrap
             FROM (SELECT DISTINCT c.bundle_id FROM (
                     SELECT l.bundle_id FROM cloth_entry l WHERE l.reason = 'cut' AND l.change_mg < 0
                     ORDER BY l.at DESC, l.id DESC LIMIT $1
                 ) c) lately
                 JOIN bundle b ON b.id = lately.bundle_id JOIN cloth_entry e ON e.bundle_id = b.id
             WHERE b.made_from IS NULL AND b.balance_mg = 0 AND e.reason IN ('cut', 'scrap')
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id)
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry p WHERE p.bundle_id = b.id AND p.reason = 'pulled'
                     AND NOT EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = p.id))
             GROUP BY b.id, b.kind",
            LATEST_CUTS
        )?;
        let mut yields = Yields::default();
        for (kind, strips, scrap) in cut.into_iter().filter(|(_, strips, _)| *strips > Mass::ZERO) {
            let known = yields.0.entry(kind).or_default();
            *known = known.with(strips, scrap);
        }
        Ok(yields)
    }
}
