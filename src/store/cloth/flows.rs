//! Where cloth went: every entry of the ledger with the source of its bundle, to be summed.
use sqlx::FromRow;

use super::ledger::Reason;
use crate::store::columns::Instant;
use crate::store::tx::{Read, sql};
use crate::store::{Error, TermId};
use crate::units::Mass;

/// An entry, with what it counts as: a reversal counts as what it reverses.
#[derive(Clone, Debug, FromRow)]
pub struct Flow {
    /// Where the bundle came from, in a word; may be empty.
    pub source: String,
    /// Why the weight changed.
    pub reason: Reason,
    /// By how much.
    pub change_mg: Mass,
    /// When.
    pub at: Instant,
}

impl Read {
    /// Every entry of the cloth ledger, in time.
    pub async fn flows(&mut self) -> Result<Vec<Flow>, Error> {
        sql!(
            all Flow, self,
            "SELECT b.source, COALESCE(o.reason, e.reason) AS reason, e.change_mg, e.at
             FROM cloth_entry e JOIN bundle b ON b.id = e.bundle_id LEFT JOIN cloth_entry o ON o.id = e.reverses
             ORDER BY e.at, e.id"
        )
    }

    /// What was pulled for the finished rugs of a term, or of all, and not brought back, as far as promises tell.
    pub async fn in_finished_rugs(&mut self, term: Option<TermId>) -> Result<Mass, Error> {
        sql!(
            val Mass, self,
            "SELECT CAST(COALESCE(SUM(-e.change_mg), 0) AS BIGINT) FROM promise m JOIN rug r ON r.id = m.rug_id
             JOIN cloth_entry e ON e.request_key IN (m.pull_key, m.back_key)
             WHERE r.state = 'finished' AND (CAST($1 AS TEXT) IS NULL OR r.term_id = $1)
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry v WHERE v.reverses = e.id)",
            term
        )
    }
}
