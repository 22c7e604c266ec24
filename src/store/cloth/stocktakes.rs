//! Stocktakes: the shelf weighed again. What was weighed is kept line by line; closing makes ledger entries of the differences.
use serde_json::json;
use sqlx::FromRow;

use super::ledger::Weighing;
use crate::planning::cloth::Kind;
use crate::planning::colour::{Family, Hex};
use crate::store::columns::Instant;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{BundleId, Error, RequestKey, StocktakeId};
use crate::units::Mass;

/// A stocktake.
#[derive(Clone, Debug, FromRow)]
pub struct Stocktake {
    /// Its id.
    pub id: StocktakeId,
    /// Only this kind.
    pub kind: Option<Kind>,
    /// Only this family of colours.
    pub family: Option<Family>,
    /// When it was begun.
    pub begun_at: Instant,
    /// By whom.
    pub who: String,
    /// When it was closed.
    pub closed_at: Option<Instant>,
    /// How many bundles were counted or looked for.
    pub lines: i64,
}

/// A bundle to be counted, and its line if there is one.
#[derive(Clone, Debug, FromRow)]
pub struct Counted {
    /// The bundle.
    pub bundle_id: BundleId,
    /// The number on its tape.
    pub tag: i64,
    /// Its cloth.
    pub kind: Kind,
    /// Its colour in words.
    pub colour_name: String,
    /// Its colour as it looks, about.
    pub colour_hex: Hex,
    /// Who counted it; nobody yet.
    pub who: Option<String>,
    /// When.
    pub at: Option<Instant>,
    /// What the scale said; nothing when it wasn't found.
    pub net_mg: Option<Mass>,
    /// As typed.
    pub typed: Option<String>,
    /// The basket.
    pub tare_mg: Option<Mass>,
    /// What the ledger said then.
    pub balance_mg: Option<Mass>,
}

impl Counted {
    /// By how much the scale and the ledger differed; nothing before it was counted.
    pub fn difference(&self) -> Option<Mass> {
        Some(self.net_mg.unwrap_or(Mass::ZERO) - self.balance_mg?)
    }
}

/// A difference that becomes an entry.
#[derive(Clone, Debug)]
pub struct Difference {
    /// Of which bundle.
    pub bundle: BundleId,
    /// How much more or less there is.
    pub change: Mass,
    /// What the scale said.
    pub weighing: Weighing,
    /// Why, in words.
    pub reason: String,
}

impl Read {
    /// The latest stocktakes, open ones first.
    pub async fn stocktakes(&mut self, limit: i64) -> Result<Vec<Stocktake>, Error> {
        self.stocktakes_where(None, limit).await
    }

    /// One stocktake.
    pub async fn stocktake(&mut self, id: StocktakeId) -> Result<Option<Stocktake>, Error> {
        Ok(self.stocktakes_where(Some(id), 1).await?.pop())
    }

    async fn stocktakes_where(
        &mut self,
        id: Option<StocktakeId>,
        limit: i64,
    ) -> Result<Vec<Stocktake>, Error> {
        sql!(
            all Stocktake, self,
            "SELECT s.id, s.kind, s.family, s.begun_at, p.name AS who, s.closed_at,
                 (SELECT COUNT(*) FROM stocktake_line l WHERE l.stocktake_id = s.id) AS lines
             FROM stocktake s JOIN person p ON p.id = s.begun_by WHERE CAST($1 AS TEXT) IS NULL OR s.id = $1
             ORDER BY CASE WHEN s.closed_at IS NULL THEN 0 ELSE 1 END, s.id DESC LIMIT $2",
            id, limit
        )
    }

    /// What a stocktake counts, by tag: ready bundles that held something when it was begun or was counted.
    pub async fn counted(&mut self, id: StocktakeId) -> Result<Vec<Counted>, Error> {
        sql!(
            all Counted, self,
            "SELECT b.id AS bundle_id, b.tag, b.kind, b.colour_name, b.colour_hex, p.name AS who, l.at, l.net_mg, l.typed,
                 l.tare_mg, l.balance_mg
             FROM stocktake s JOIN bundle b ON b.state = 'ready' AND b.made_at <= s.begun_at
                 AND (s.kind IS NULL OR b.kind = s.kind) AND (s.family IS NULL OR b.colour_family = s.family)
             LEFT JOIN stocktake_line l ON l.stocktake_id = s.id AND l.bundle_id = b.id
             LEFT JOIN person p ON p.id = l.person_id
             WHERE s.id = $1 AND (b.balance_mg > 0 OR l.bundle_id IS NOT NULL) ORDER BY b.tag",
            id
        )
    }
}

impl Write {
    /// Begins a stocktake.
    pub async fn begin_stocktake(
        &mut self,
        id: StocktakeId,
        kind: Option<Kind>,
        family: Option<Family>,
    ) -> Result<(), Error> {
        let (at, person) = (self.now(), self.actor.person);
        sql!(
            exec self,
            "INSERT INTO stocktake (id, kind, family, begun_at, begun_by) VALUES ($1, $2, $3, $4, $5)",
            id, kind, family, at, person
        )?;
        self.audit_log(EntityKind::Stocktake, id, "begun", json!({})).await
    }

    /// Takes a stocktake for this change alone: nothing is counted on it and it isn't closed until this change is over. What
    /// it is closed by is read after this.
    pub async fn lock_stocktake(&mut self, id: StocktakeId) -> Result<(), Error> {
        sql!(exec self, "UPDATE stocktake SET begun_at = begun_at WHERE id = $1", id)?;
        Ok(())
    }

    /// Keeps what the scale said of a bundle, or that it wasn't found; an earlier line of it is replaced. `false` when the
    /// stocktake is closed or doesn't count it.
    pub async fn count_line(
        &mut self,
        id: StocktakeId,
        bundle: BundleId,
        weighing: Option<&Weighing>,
    ) -> Result<bool, Error> {
        self.lock_stocktake(id).await?;
        // The bundle's row is locked, so that the balance is the one at this moment.
        sql!(exec self, "UPDATE bundle SET entries = entries WHERE id = $1", bundle)?;
        let (at, person) = (self.now(), self.actor.person);
        let rows = sql!(
            exec self,
            "INSERT INTO stocktake_line (stocktake_id, bundle_id, net_mg, typed, tare_mg, balance_mg, at, person_id)
             SELECT s.id, b.id, $3, $4, $5, b.balance_mg, $6, $7 FROM stocktake s CROSS JOIN bundle b
             WHERE s.id = $1 AND b.id = $2 AND s.closed_at IS NULL AND b.state = 'ready' AND b.made_at <= s.begun_at
                 AND (s.kind IS NULL OR b.kind = s.kind) AND (s.family IS NULL OR b.colour_family = s.family)
             ON CONFLICT (stocktake_id, bundle_id) DO UPDATE SET net_mg = excluded.net_mg, typed = excluded.typed,
                 tare_mg = excluded.tare_mg, balance_mg = excluded.balance_mg, at = excluded.at,
                 person_id = excluded.person_id",
            id, bundle, weighing.map(Weighing::net), weighing.map_or(String::new(), |w| w.typed.clone()),
            weighing.map_or(Mass::ZERO, |w| w.tare), at, person
        )?;
        // The count itself isn't for the record: its entries will be.
        self.skip_audit();
        Ok(rows == 1)
    }

    /// Closes a stocktake with these differences as ledger entries. `false`, and nothing is changed, when it was closed
    /// already. A bundle that by now holds less than its difference takes away is emptied.
    pub async fn close_stocktake(
        &mut self,
        id: StocktakeId,
        differences: &[Difference],
    ) -> Result<bool, Error> {
        let (at, person) = (self.now(), self.actor.person);
        let rows = sql!(
            exec self,
            "UPDATE stocktake SET closed_at = $2, closed_by = $3 WHERE id = $1 AND closed_at IS NULL",
            id, at, person
        )?;
        if rows == 0 {
            return Ok(false);
        }
        let mut sum = Mass::ZERO;
        for one in differences {
            let change =
                self.count_off(one.bundle, RequestKey::new(), one.change, &one.weighing, &one.reason).await?;
            sum += change;
        }
        let detail = json!({ "differences": differences.len(), "sum_g": sum.grams() });
        self.audit_log(EntityKind::Stocktake, id, "closed", detail).await?;
        Ok(true)
    }
}
