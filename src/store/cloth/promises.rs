//! Promises: cloth of a bundle for a part of a rug. They are made by accepting a share-out ([`super::acceptance`]), settled by pulling, and never
//! go silently: one that its bundle no longer covers is read as broken. With its rug a promise ends that nobody pulled: of a
//! rug that is finished or given up it is read as released.
//!
//! One statement reads them, and by what it read [`Promise`] says what is still to be pulled and what can't be kept. What
//! decides about a change reads them in it, after its locks.
use std::collections::HashMap;

use serde_json::json;
use sqlx::FromRow;

use super::bundles::BundleState;
use super::ledger::{Acted, Refusal, Weighing};
use super::share_outs::RugPart;
use super::yields::{Grown, Yield};
use crate::planning::cloth::Kind;
use crate::planning::colour::Hex;
use crate::store::columns::{Instant, string_enum};
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{BundleId, Error, PromiseId, RequestKey, RugId, ShareOutId};
use crate::units::Mass;

string_enum! {
    /// How far a promise is. Whether it was pulled is the ledger's to say.
    PromiseState {
        /// Found, not accepted.
        Proposed = "proposed",
        /// It holds.
        Standing = "standing",
        /// The cloth is free again.
        Released = "released",
    }
}

/// A promise as people are shown it.
#[derive(Clone, Debug, FromRow)]
pub struct Promise {
    /// Its id.
    pub id: PromiseId,
    /// The share-out it came from.
    pub share_out_id: ShareOutId,
    /// What it is for.
    #[sqlx(flatten)]
    pub part: RugPart,
    /// The rug's name.
    pub rug: String,
    /// Whose it is.
    pub weaver: String,
    /// The bundle.
    pub bundle_id: BundleId,
    /// The number on its tape.
    pub tag: i64,
    /// Its cloth.
    pub kind: Kind,
    /// Its colour in words.
    pub bundle_colour: String,
    /// Its colour as it looks, about.
    pub bundle_hex: Hex,
    /// How far it is on its way to the shelf.
    pub bundle_state: BundleState,
    /// Where it lies on the shelf; may be empty.
    pub place: String,
    /// What is left of it.
    pub balance_mg: Mass,
    /// How much of it is promised.
    pub promised_mg: Mass,
    /// How far it is.
    pub state: PromiseState,
    /// Whether it stays when the cloth is shared out again.
    pub locked: bool,
    /// What was pulled for it; nothing before, or once that was undone.
    pub pulled_mg: Option<Mass>,
    /// When that was.
    pub pulled_at: Option<Instant>,
    /// What of that came back.
    pub back_mg: Option<Mass>,
    /// What of this bundle is promised to this one and to those before it, as far as it isn't pulled.
    pub through_mg: Mass,
    /// What decides how much of the bundle becomes strip.
    #[sqlx(flatten)]
    pub grown: Grown,
    /// How much of the bundle becomes strip.
    #[sqlx(skip)]
    pub usable: Yield,
}

impl Promise {
    /// What was pulled and not brought back, as it was weighed; nothing before it was pulled.
    pub fn out(&self) -> Option<Mass> {
        Some(self.pulled_mg? - self.back_mg.unwrap_or(Mass::ZERO))
    }

    /// The strip that this is counted on for.
    pub fn pulled_for_good(&self) -> Option<Mass> {
        Some(self.usable.0.net(self.out()?))
    }

    /// The strip that what is promised is counted on for.
    pub fn promised_strip(&self) -> Mass {
        self.usable.0.net(self.promised_mg)
    }

    /// Whether it is still to be pulled.
    pub fn is_open(&self) -> bool {
        self.pulled_mg.is_none() && self.state != PromiseState::Released
    }

    /// Why it can't be kept, if so. What is shorter by no more than what a page rounds off isn't.
    pub fn broken(&self) -> Option<Broken> {
        if !self.is_open() || self.state != PromiseState::Standing {
            return None;
        }
        if self.bundle_state != BundleState::Ready {
            return Some(Broken::NotReady(self.bundle_state));
        }
        (self.through_mg > self.balance_mg + Mass::SHOWN_TO).then(|| {
            let before = self.through_mg - self.promised_mg;
            Broken::Short { there: (self.balance_mg - before).clamp(Mass::ZERO, self.promised_mg) }
        })
    }
}

/// What of a bundle is promised to nobody, by what it holds and all that stands promised of it.
pub fn spare(balance: Mass, promises: &[Promise]) -> Mass {
    let open = promises.iter().filter(|promise| promise.is_open());
    (balance - open.map(|promise| promise.promised_mg).sum::<Mass>()).max(Mass::ZERO)
}

/// Why a promise can't be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Broken {
    /// Its bundle isn't washed and ready.
    NotReady(BundleState),
    /// Its bundle holds less.
    Short {
        /// What is left for it.
        there: Mass,
    },
}

/// A bundle that may be shared out, and what of it is promised to others.
#[derive(Clone, Debug, FromRow)]
pub struct Offered {
    /// The bundle.
    pub id: BundleId,
    /// The number on its tape.
    pub tag: i64,
    /// Its cloth.
    pub kind: Kind,
    /// Its colour in words.
    pub colour_name: String,
    /// Its colour as it looks, about.
    pub colour_hex: Hex,
    /// How far it is on its way to the shelf.
    pub state: BundleState,
    /// What is left of it.
    pub balance_mg: Mass,
    /// What of that stands promised to rugs.
    #[sqlx(skip)]
    pub promised_mg: Mass,
    /// What decides how much of the bundle becomes strip.
    #[sqlx(flatten)]
    pub grown: Grown,
    /// How much of it becomes strip.
    #[sqlx(skip)]
    pub usable: Yield,
}

impl Read {
    /// The promises of a share-out; or those that stand: one, to a rug, of a bundle, or all; in the order of the shelf.
    async fn promises_where(
        &mut self,
        share_out: Option<ShareOutId>,
        rug: Option<RugId>,
        bundle: Option<BundleId>,
        id: Option<PromiseId>,
    ) -> Result<Vec<Promise>, Error> {
        let mut found = sql!(
            all Promise, self,
            "WITH pulled AS (
                 SELECT m.id, -e.change_mg AS pulled_mg, e.at AS pulled_at FROM promise m JOIN cloth_entry e ON e.request_key = m.pull_key
                 WHERE NOT EXISTS (SELECT 1 FROM cloth_entry v WHERE v.reverses = e.id)
             ), back AS (
                 SELECT m.id, e.change_mg AS back_mg FROM promise m JOIN cloth_entry e ON e.request_key = m.back_key
                 WHERE NOT EXISTS (SELECT 1 FROM cloth_entry v WHERE v.reverses = e.id)
             ), held AS (
                 SELECT m.*, u.pulled_mg, u.pulled_at, k.back_mg, CASE WHEN m.state = 'standing' AND u.pulled_mg IS NULL
                     AND r.state NOT IN ('planned', 'weaving') THEN 'released' ELSE m.state END AS holds
                 FROM promise m JOIN rug r ON r.id = m.rug_id LEFT JOIN pulled u ON u.id = m.id LEFT JOIN back k ON k.id = m.id
             ), laid AS (
                 SELECT m.*, CAST(SUM(CASE WHEN m.pulled_mg IS NULL AND m.holds = 'standing' THEN m.promised_mg ELSE 0 END)
                     OVER (PARTITION BY m.bundle_id ORDER BY m.id) AS BIGINT) AS through_mg
                 FROM held m
             )
             SELECT m.id, m.share_out_id, m.rug_id, m.warp, m.colour_name, m.colour_hex, m.bundle_id, m.promised_mg,
                 m.holds AS state, m.locked, m.pulled_mg, m.pulled_at, m.back_mg, m.through_mg, r.name AS rug, p.name AS weaver, b.tag, b.kind,
                 b.colour_name AS bundle_colour, b.colour_hex AS bundle_hex, b.state AS bundle_state, b.place, b.balance_mg,
                 b.made_from, b.sheet_length_nm, b.sheet_width_nm, b.sheet_hem_nm, b.sheet_top_hem_nm, b.sheet_size_labelled
             FROM laid m JOIN rug r ON r.id = m.rug_id JOIN person p ON p.id = r.weaver_id
             JOIN bundle b ON b.id = m.bundle_id
             WHERE (m.share_out_id = $1 OR (CAST($1 AS TEXT) IS NULL AND m.holds = 'standing'))
                 AND (CAST($2 AS TEXT) IS NULL OR m.rug_id = $2)
                 AND (CAST($3 AS TEXT) IS NULL OR m.bundle_id = $3) AND (CAST($4 AS TEXT) IS NULL OR m.id = $4)
             ORDER BY b.tag, m.id",
            share_out, rug, bundle, id
        )?;
        let yields = self.yields().await?;
        for promise in &mut found {
            promise.usable = yields.of(promise.kind, &promise.grown);
        }
        Ok(found)
    }

    /// Every promise that stands, pulled or not, in the order of the shelf.
    pub async fn promises(&mut self) -> Result<Vec<Promise>, Error> {
        self.promises_where(None, None, None, None).await
    }

    /// What a share-out found, in the order of the shelf.
    pub async fn promises_of(&mut self, share_out: ShareOutId) -> Result<Vec<Promise>, Error> {
        self.promises_where(Some(share_out), None, None, None).await
    }

    /// What stands promised to a rug, in the order of the shelf.
    pub async fn promises_to(&mut self, rug: RugId) -> Result<Vec<Promise>, Error> {
        self.promises_where(None, Some(rug), None, None).await
    }

    /// What of a bundle stands promised, the earliest promise first.
    pub async fn promises_from(&mut self, bundle: BundleId) -> Result<Vec<Promise>, Error> {
        self.promises_where(None, None, Some(bundle), None).await
    }

    /// The bundles that hold anything, in the order of the shelf.
    pub async fn offered(&mut self) -> Result<Vec<Offered>, Error> {
        let standing = self.promises().await?;
        self.offered_beside(&standing).await
    }

    /// The same where what stands promised was read already.
    pub async fn offered_beside(&mut self, standing: &[Promise]) -> Result<Vec<Offered>, Error> {
        let mut offered = sql!(
            all Offered, self,
            "SELECT b.id, b.tag, b.kind, b.colour_name, b.colour_hex, b.state, b.balance_mg, b.made_from, b.sheet_length_nm,
                 b.sheet_width_nm, b.sheet_hem_nm, b.sheet_top_hem_nm, b.sheet_size_labelled
             FROM bundle b WHERE b.balance_mg > 0 ORDER BY b.tag"
        )?;
        let mut promised: HashMap<BundleId, Mass> = HashMap::new();
        for promise in standing.iter().filter(|promise| promise.is_open()) {
            *promised.entry(promise.bundle_id).or_default() += promise.promised_mg;
        }
        let yields = self.yields().await?;
        for bundle in &mut offered {
            bundle.usable = yields.of(bundle.kind, &bundle.grown);
            bundle.promised_mg = promised.get(&bundle.id).copied().unwrap_or_default();
        }
        Ok(offered)
    }
}

impl Write {
    /// Pulls what was promised, by what the scale says, and answers what is left of the bundle.
    pub async fn pull_promise(&mut self, id: PromiseId, key: RequestKey, weighing: &Weighing) -> Acted<Mass> {
        let Some(promise) = self.standing_promise(id).await? else { return Ok(Err(Refusal::NoEntry)) };
        if !promise.is_open() {
            return Ok(Err(Refusal::Unchanged));
        }
        let note = format!("promised to {}", promise.rug);
        let left = self.pull(promise.bundle_id, key, weighing, &note).await?;
        if left.is_ok() {
            sql!(exec self, "UPDATE promise SET pull_key = $2, back_key = NULL WHERE id = $1", id, key)?;
        }
        Ok(left)
    }

    /// The most that may be taken of a promise's bundle for it without taking what is promised to others: what is promised to it,
    /// and what is promised to nobody. `None` where it isn't to be pulled. The bundle is locked until the end of the change.
    pub async fn pullable(&mut self, id: PromiseId) -> Result<Option<Mass>, Error> {
        let Some(promise) = self.standing_promise(id).await?.filter(Promise::is_open) else {
            return Ok(None);
        };
        let spare = self.unpromised(promise.bundle_id).await?;
        Ok(spare.map(|spare| promise.promised_mg + spare))
    }

    /// Puts back what was pulled for a promise and not used, and answers what the bundle weighs then.
    pub async fn put_promise_back(
        &mut self,
        id: PromiseId,
        key: RequestKey,
        weighing: &Weighing,
    ) -> Acted<Mass> {
        let Some(promise) = self.standing_promise(id).await? else { return Ok(Err(Refusal::NoEntry)) };
        // The rest comes back once: a second time would be more than is out, or would hide the first.
        let Some(out) = promise.pulled_mg.filter(|_| promise.back_mg.is_none()) else {
            return Ok(Err(Refusal::TooMuchBack { out: Mass::ZERO }));
        };
        if weighing.net() > out {
            return Ok(Err(Refusal::TooMuchBack { out }));
        }
        let note = format!("rest from {}", promise.rug);
        let left = self.put_back(promise.bundle_id, key, weighing, &note).await?;
        if left.is_ok() {
            sql!(exec self, "UPDATE promise SET back_key = $2 WHERE id = $1", id, key)?;
        }
        Ok(left)
    }

    /// Takes a promise back that nobody pulled; the cloth is free again.
    pub async fn release_promise(&mut self, id: PromiseId) -> Result<bool, Error> {
        let Some(promise) = self.standing_promise(id).await?.filter(Promise::is_open) else {
            return Ok(false);
        };
        self.set_promise_free(id).await?;
        let detail = json!({ "bundle": promise.bundle_id, "rug": promise.rug });
        self.audit_log(EntityKind::ShareOut, promise.share_out_id, "promise released", detail).await?;
        Ok(true)
    }

    /// What of a bundle is promised to nobody, where anything of it is promised. The bundle is locked until the end of the
    /// change, so that what is decided by this stays true.
    pub async fn unpromised(&mut self, bundle: BundleId) -> Result<Option<Mass>, Error> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(None) };
        let promises = self.promises_from(bundle).await?;
        Ok(promises.iter().any(Promise::is_open).then(|| spare(locked.balance_mg, &promises)))
    }

    pub(super) async fn set_promise_free(&mut self, id: PromiseId) -> Result<(), Error> {
        sql!(exec self, "UPDATE promise SET state = 'released' WHERE id = $1", id)?;
        Ok(())
    }

    /// Locks what is promised to a rug until the end of the change, by the rug's row.
    pub(super) async fn lock_rug_cloth(&mut self, rug: RugId) -> Result<(), Error> {
        sql!(exec self, "UPDATE rug SET revision = revision WHERE id = $1", rug)?;
        Ok(())
    }

    /// A promise that stands, locked until the end of the change.
    async fn standing_promise(&mut self, id: PromiseId) -> Result<Option<Promise>, Error> {
        let rug = sql!(opt(RugId,), self, "SELECT rug_id FROM promise WHERE id = $1", id)?;
        let Some((rug,)) = rug else { return Ok(None) };
        self.lock_rug_cloth(rug).await?;
        Ok(self.promises_where(None, None, None, Some(id)).await?.pop())
    }
}
