//! Accepting what a share-out found, or refusing it because the cloth or the rugs are no longer as it found them.
use std::collections::BTreeSet;

use serde_json::json;
use sqlx::FromRow;

use super::promises::Promise;
use super::share_outs::{RugPart, ShareOutState};
use crate::store::tx::{EntityKind, Write, sql};
use crate::store::{BundleId, Error, RugId, ShareOutId};
use crate::units::Mass;

/// Why a proposal can't be accepted. Nothing was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotAccepted {
    /// It is no proposal any more.
    StateIs(ShareOutState),
    /// Cloth of this bundle, by its tag, isn't there any more.
    Gone(i64),
    /// A share-out begun after this one was accepted for one of its rugs.
    Newer,
    /// Cloth was pulled for this rug since: it would be promised a second time.
    Pulled(RugId),
}

/// What a part had already when it was asked for.
#[derive(FromRow)]
struct Had {
    #[sqlx(flatten)]
    part: RugPart,
    had_mg: Mass,
}

/// What was pulled for a part and not brought back, as it was weighed: how much strip that is taken for changes with what is learnt.
fn had_already(part: &RugPart, standing: &[Promise]) -> Mass {
    standing.iter().filter(|promise| promise.part == *part).filter_map(Promise::out).sum()
}

impl Write {
    /// Accepts a proposal: its cloth is promised, and what its rugs were promised before and nobody pulled is released.
    /// Refused when cloth it counted on isn't there any more; and, unless it is to replace them, when a newer share-out's promises
    /// stand.
    pub async fn accept_share_out(
        &mut self,
        id: ShareOutId,
        over_newer: bool,
    ) -> Result<Result<(), NotAccepted>, Error> {
        // The share-out first, so that nobody chooses other cloth for it meanwhile.
        let rows = sql!(
            exec self,
            "UPDATE share_out SET state = 'accepted' WHERE id = $1 AND state = 'proposed'",
            id
        )?;
        if rows == 0 {
            let state = sql!(opt(ShareOutState,), self, "SELECT state FROM share_out WHERE id = $1", id)?;
            return Ok(Err(NotAccepted::StateIs(state.map_or(ShareOutState::Dropped, |(state,)| state))));
        }
        // Then its rugs and the bundles it wants, each in one order, so that two acceptances can neither promise one need
        // twice, nor one cloth, nor wait for each other.
        let rugs = sql!(
            all(RugId,),
            self,
            "SELECT DISTINCT n.rug_id FROM share_out_need n WHERE n.share_out_id = $1 ORDER BY n.rug_id",
            id
        )?;
        for (rug,) in &rugs {
            self.lock_rug_cloth(*rug).await?;
        }
        let bundles = sql!(
            all(BundleId,),
            self,
            "SELECT DISTINCT m.bundle_id FROM promise m WHERE m.share_out_id = $1 ORDER BY m.bundle_id",
            id
        )?;
        for (bundle,) in &bundles {
            self.lock_bundle(*bundle).await?;
        }
        let rugs: BTreeSet<RugId> = rugs.into_iter().map(|(rug,)| rug).collect();
        let mut before = self.promises().await?;
        if let Some(rug) = self.pulled_since(id, &before).await? {
            return Ok(Err(NotAccepted::Pulled(rug)));
        }
        before.retain(|promise| promise.is_open() && rugs.contains(&promise.part.rug_id));
        // Ids sort by time (UUID version 7).
        if before.iter().any(|promise| promise.share_out_id > id) && !over_newer {
            return Ok(Err(NotAccepted::Newer));
        }
        for promise in before {
            self.set_promise_free(promise.id).await?;
        }
        // A rug that ended since it was asked for is promised nothing.
        sql!(
            exec self,
            "UPDATE promise SET state = CASE WHEN rug_id IN (SELECT r.id FROM rug r WHERE r.state IN ('planned', 'weaving'))
                 THEN 'standing' ELSE 'released' END
             WHERE share_out_id = $1 AND state = 'proposed'",
            id
        )?;
        // Whoever was promised cloth of these bundles: nobody's promise breaks by this.
        let bundles: BTreeSet<BundleId> = bundles.into_iter().map(|(bundle,)| bundle).collect();
        let mut wanted = self.promises().await?.into_iter().filter(|one| bundles.contains(&one.bundle_id));
        if let Some(gone) = wanted.find(|promise| promise.broken().is_some()) {
            return Ok(Err(NotAccepted::Gone(gone.tag)));
        }
        self.audit_log(EntityKind::ShareOut, id, "accepted", json!({})).await?;
        Ok(Ok(()))
    }

    /// A rug that goes on, for a part of which a share-out promises cloth, and more of it is pulled than was when that was worked out.
    async fn pulled_since(&mut self, id: ShareOutId, standing: &[Promise]) -> Result<Option<RugId>, Error> {
        let had = sql!(
            all Had, self,
            "SELECT n.rug_id, n.warp, n.colour_name, n.colour_hex, n.had_mg
             FROM share_out_need n JOIN rug r ON r.id = n.rug_id AND r.state IN ('planned', 'weaving')
             WHERE n.share_out_id = $1 AND n.had_mg IS NOT NULL AND EXISTS (
                 SELECT 1 FROM promise m WHERE m.share_out_id = n.share_out_id AND m.rug_id = n.rug_id AND m.warp = n.warp
                     AND m.colour_name = n.colour_name AND m.colour_hex = n.colour_hex)",
            id
        )?;
        let more = had.into_iter().find(|had| had_already(&had.part, standing) > had.had_mg);
        Ok(more.map(|had| had.part.rug_id))
    }

    /// Notes with what a share-out needs what its rugs had already then, by the promises that stood.
    pub async fn note_had_already(&mut self, id: ShareOutId, standing: &[Promise]) -> Result<(), Error> {
        sql!(exec self, "UPDATE share_out_need SET had_mg = 0 WHERE share_out_id = $1", id)?;
        let parts: BTreeSet<&RugPart> = standing.iter().map(|promise| &promise.part).collect();
        for part in parts {
            let had = had_already(part, standing);
            if had == Mass::ZERO {
                continue;
            }
            sql!(
                exec self,
                "UPDATE share_out_need SET had_mg = $2 WHERE share_out_id = $1 AND rug_id = $3 AND warp = $4
                     AND colour_name = $5 AND colour_hex = $6",
                id, had, part.rug_id, part.warp, part.colour_name.clone(), part.colour_hex.clone()
            )?;
        }
        Ok(())
    }
}
