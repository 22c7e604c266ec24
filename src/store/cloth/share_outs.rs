//! Share-outs: how far each is, and what its rugs need. The cloth it finds is in [`crate::store::cloth::promises`].
use serde_json::json;
use sqlx::FromRow;

use crate::planning::cloth::Kind;
use crate::store::columns::{Instant, string_enum};
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{BundleId, Error, PersonId, PromiseId, RugId, ShareOutId};
use crate::units::Mass;

string_enum! {
    /// How far a share-out is.
    ShareOutState {
        /// The program is at it.
        Working = "working",
        /// Found, not decided on.
        Proposed = "proposed",
        /// Its cloth is promised.
        Accepted = "accepted",
        /// Not taken, or replaced by a later one.
        Dropped = "dropped",
    }
}

/// A share-out.
#[derive(Clone, Debug, FromRow)]
pub struct ShareOut {
    /// Its id.
    pub id: ShareOutId,
    /// When it was begun.
    pub made_at: Instant,
    /// Who began it.
    pub who: Option<String>,
    /// Their id.
    pub person_id: Option<PersonId>,
    /// Whether few changes were wanted.
    pub few: bool,
    /// From at most so many bundles each need takes.
    pub most: i64,
    /// Time it was given, in seconds.
    pub seconds: i64,
    /// Cloth further off a wanted colour than this, by CIEDE2000, isn't taken for it.
    pub most_off: i64,
    /// How far it is.
    pub state: ShareOutState,
    /// Whether somebody asked it to stop with the best so far.
    pub stop: bool,
    /// The part of its time that is spent, in thousandths.
    pub spent: i64,
    /// What the best so far costs, in thousandths.
    pub cost: Option<i64>,
    /// No share-out costs less, in thousandths.
    pub bound: Option<i64>,
    /// When it last told how far it is.
    pub told_at: Instant,
    /// How many rugs it is for.
    pub rugs: i64,
}

/// Which cloth of a rug is meant: its warp, or its weft of one colour.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, FromRow)]
pub struct RugPart {
    /// Whose.
    pub rug_id: RugId,
    /// The warp; its colour is empty.
    pub warp: bool,
    /// The colour in words.
    pub colour_name: String,
    /// The colour as `#rrggbb`.
    pub colour_hex: String,
}

/// Cloth that a share-out found for a part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewPromise {
    /// What for.
    pub part: RugPart,
    /// From which bundle.
    pub bundle: BundleId,
    /// How much.
    pub promised: Mass,
}

/// What a rug needs of one part.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct PartNeed {
    /// Which.
    #[sqlx(flatten)]
    pub part: RugPart,
    /// The cloth it is planned in.
    pub kind: Kind,
    /// How much.
    pub wanted_mg: Mass,
}

/// A need beside the names that people know it by.
#[derive(Clone, Debug, FromRow)]
pub struct NeedRow {
    /// The need.
    #[sqlx(flatten)]
    pub need: PartNeed,
    /// The rug's name.
    pub rug: String,
    /// Whose it is.
    pub weaver: String,
}

/// What a rug needed of one part when its cloth was last shared out, and which share-out that was.
#[derive(Clone, Debug, FromRow)]
pub struct SharedOut {
    /// The share-out.
    pub share_out_id: ShareOutId,
    /// The need.
    #[sqlx(flatten)]
    pub need: PartNeed,
}

/// What an instructor sets for a share-out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Limits {
    /// From at most so many bundles each need takes.
    pub most: i64,
    /// Time for the search, in seconds.
    pub seconds: i64,
    /// Cloth further off a wanted colour than this, by CIEDE2000, isn't taken for it.
    pub most_off: i64,
}

impl ShareOut {
    /// What was set for it.
    pub fn limits(&self) -> Limits {
        Limits { most: self.most, seconds: self.seconds, most_off: self.most_off }
    }
}

/// How far the work is, in thousandths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Told {
    /// The part of its time that is spent.
    pub spent: i64,
    /// What the best so far costs.
    pub cost: i64,
    /// No share-out costs less.
    pub bound: i64,
}

impl Read {
    /// One share-out.
    pub async fn share_out(&mut self, id: ShareOutId) -> Result<Option<ShareOut>, Error> {
        sql!(
            opt ShareOut, self,
            "SELECT s.*, p.name AS who, (SELECT COUNT(DISTINCT n.rug_id) FROM share_out_need n WHERE n.share_out_id = s.id)
                 AS rugs
             FROM share_out s LEFT JOIN person p ON p.id = s.person_id WHERE s.id = $1",
            id
        )
    }

    /// The latest share-outs, newest first.
    pub async fn share_outs(&mut self, limit: i64) -> Result<Vec<ShareOut>, Error> {
        sql!(
            all ShareOut, self,
            "SELECT s.*, p.name AS who, (SELECT COUNT(DISTINCT n.rug_id) FROM share_out_need n WHERE n.share_out_id = s.id)
                 AS rugs
             FROM share_out s LEFT JOIN person p ON p.id = s.person_id ORDER BY s.id DESC LIMIT $1",
            limit
        )
    }

    /// What the rugs of a share-out need, rug by rug, the warp first.
    pub async fn share_out_needs(&mut self, id: ShareOutId) -> Result<Vec<NeedRow>, Error> {
        sql!(
            all NeedRow, self,
            "SELECT n.*, r.name AS rug, p.name AS weaver FROM share_out_need n JOIN rug r ON r.id = n.rug_id
             JOIN person p ON p.id = r.weaver_id WHERE n.share_out_id = $1
             ORDER BY r.id, CASE WHEN n.warp THEN 0 ELSE 1 END, n.wanted_mg DESC, n.colour_name",
            id
        )
    }

    /// What a rug needed in the newest accepted share-out that it was in; nothing if it was in none.
    pub async fn last_shared_out(&mut self, rug: RugId) -> Result<Vec<SharedOut>, Error> {
        sql!(
            all SharedOut, self,
            "SELECT n.* FROM share_out_need n WHERE n.rug_id = $1 AND n.share_out_id = (
                 SELECT MAX(s.id) FROM share_out s JOIN share_out_need x ON x.share_out_id = s.id
                 WHERE x.rug_id = $1 AND s.state = 'accepted')
             ORDER BY CASE WHEN n.warp THEN 0 ELSE 1 END, n.wanted_mg DESC, n.colour_name",
            rug
        )
    }

    /// The oldest share-out that is being worked out and has told nothing since `before`.
    pub async fn silent_share_out(&mut self, before: Instant) -> Result<Option<ShareOut>, Error> {
        sql!(
            opt ShareOut, self,
            "SELECT s.*, p.name AS who, (SELECT COUNT(DISTINCT n.rug_id) FROM share_out_need n WHERE n.share_out_id = s.id)
                 AS rugs
             FROM share_out s LEFT JOIN person p ON p.id = s.person_id WHERE s.state = 'working' AND s.told_at < $1
             ORDER BY s.id LIMIT 1",
            before
        )
    }

    /// Whether somebody asked a share-out to stop.
    pub async fn share_out_stops(&mut self, id: ShareOutId) -> Result<bool, Error> {
        Ok(sql!(opt(bool,), self, "SELECT stop FROM share_out WHERE id = $1", id)?.is_none_or(|(stop,)| stop))
    }
}

impl Write {
    /// Begins a share-out for these needs, with the promises that stay as they are.
    pub async fn begin_share_out(
        &mut self,
        id: ShareOutId,
        limits: Limits,
        needs: &[PartNeed],
        locked: &[NewPromise],
    ) -> Result<(), Error> {
        let (at, person) = (self.now(), self.actor.person);
        sql!(
            exec self,
            "INSERT INTO share_out (id, made_at, person_id, most, seconds, state, stop, told_at, most_off)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            id, at, person, limits.most, limits.seconds, ShareOutState::Working, false, at, limits.most_off
        )?;
        for need in needs {
            let part = &need.part;
            sql!(
                exec self,
                "INSERT INTO share_out_need (share_out_id, rug_id, warp, colour_name, colour_hex, kind, wanted_mg)
                 VALUES ($1, $2, $3, $4, $5, $6, $7)",
                id, part.rug_id, part.warp, part.colour_name.clone(), part.colour_hex.clone(), need.kind, need.wanted_mg
            )?;
        }
        self.propose(id, locked, true).await?;
        let detail = json!({ "needs": needs.len(), "most": limits.most, "kept": locked.len() });
        self.audit_log(EntityKind::ShareOut, id, "begun", detail).await
    }

    /// Notes that few changes are wanted of a share-out.
    pub async fn wants_few_changes(&mut self, id: ShareOutId) -> Result<(), Error> {
        sql!(exec self, "UPDATE share_out SET few = TRUE WHERE id = $1", id)?;
        Ok(())
    }

    /// Takes up a share-out that told nothing for long; `false` where somebody else did meanwhile. Not for the record.
    pub async fn take_up_share_out(&mut self, left: &ShareOut) -> Result<bool, Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE share_out SET told_at = $3 WHERE id = $1 AND told_at = $2 AND state = 'working'",
            left.id, left.told_at, at
        )?;
        self.skip_audit();
        Ok(rows == 1)
    }

    /// Leaves a share-out to whoever takes it up next. Not for the record.
    pub async fn leave_share_out(&mut self, id: ShareOutId) -> Result<(), Error> {
        sql!(exec self, "UPDATE share_out SET told_at = 0 WHERE id = $1 AND state = 'working'", id)?;
        self.skip_audit();
        Ok(())
    }

    /// Tells how far a share-out is. Not for the record.
    pub async fn tell_share_out(&mut self, id: ShareOutId, told: Told) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "UPDATE share_out SET spent = $2, cost = $3, bound = $4, told_at = $5 WHERE id = $1 AND state = 'working'",
            id, told.spent, told.cost, told.bound, at
        )?;
        self.skip_audit_unseen();
        Ok(())
    }

    /// Asks a share-out to stop with the best so far; where it is done, nothing is asked, and nothing is to be recorded.
    pub async fn stop_share_out(&mut self, id: ShareOutId) -> Result<(), Error> {
        let rows =
            sql!(exec self, "UPDATE share_out SET stop = $2 WHERE id = $1 AND state = 'working'", id, true)?;
        if rows == 0 {
            self.skip_audit();
            return Ok(());
        }
        self.audit_log(EntityKind::ShareOut, id, "asked to stop", json!({})).await
    }

    /// Keeps what a share-out found, as a proposal.
    pub async fn finish_share_out(
        &mut self,
        id: ShareOutId,
        told: Told,
        found: &[NewPromise],
    ) -> Result<(), Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE share_out SET state = 'proposed', spent = $2, cost = $3, bound = $4, told_at = $5
             WHERE id = $1 AND state = 'working'",
            id, told.spent, told.cost, told.bound, at
        )?;
        if rows == 1 {
            self.propose(id, found, false).await?;
        }
        self.audit_log(EntityKind::ShareOut, id, "proposed", json!({ "promises": found.len() })).await
    }

    /// Replaces what a proposal found for one part by what somebody chose, and locks it. What the proposal costs isn't known
    /// from then on. `false` when it is no proposal any more.
    pub async fn choose_for_part(
        &mut self,
        id: ShareOutId,
        part: &RugPart,
        chosen: &[NewPromise],
    ) -> Result<bool, Error> {
        let rows = sql!(
            exec self,
            "UPDATE share_out SET cost = NULL, bound = NULL WHERE id = $1 AND state = 'proposed'",
            id
        )?;
        if rows == 0 {
            return Ok(false);
        }
        sql!(
            exec self,
            "DELETE FROM promise WHERE share_out_id = $1 AND state = 'proposed' AND rug_id = $2 AND warp = $3
                 AND colour_name = $4 AND colour_hex = $5",
            id, part.rug_id, part.warp, part.colour_name.clone(), part.colour_hex.clone()
        )?;
        self.propose(id, chosen, true).await?;
        let detail = json!({ "rug": part.rug_id, "colour": part.colour_name, "bundles": chosen.len() });
        self.audit_log(EntityKind::ShareOut, id, "chosen by hand", detail).await?;
        Ok(true)
    }

    /// Sets a proposal aside, or one whose work broke off. `false`, and nothing is changed, when it is neither by now.
    pub async fn drop_share_out(&mut self, id: ShareOutId) -> Result<bool, Error> {
        let rows = sql!(
            exec self,
            "UPDATE share_out SET state = 'dropped', stop = $2 WHERE id = $1 AND state IN ('working', 'proposed')",
            id, true
        )?;
        if rows == 0 {
            self.skip_audit();
            return Ok(false);
        }
        self.audit_log(EntityKind::ShareOut, id, "set aside", json!({})).await?;
        Ok(true)
    }

    async fn propose(&mut self, id: ShareOutId, found: &[NewPromise], locked: bool) -> Result<(), Error> {
        for new in found {
            let part = &new.part;
            sql!(
                exec self,
                "INSERT INTO promise (id, share_out_id, rug_id, warp, colour_name, colour_hex, bundle_id, promised_mg,
                     locked, state)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, 'proposed')",
                PromiseId::new(), id, part.rug_id, part.warp, part.colour_name.clone(), part.colour_hex.clone(),
                new.bundle, new.promised, locked
            )?;
        }
        Ok(())
    }
}
