//! What finished rugs took, which teaches the class's figures. What is learnt from it is computed, never stored.
use serde_json::json;
use sqlx::FromRow;

use super::{RugFields, RugState};
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{Error, PersonId, RugId};
use crate::units::{Length, Mass};

/// What a finished rug took, as far as somebody said so.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, FromRow, Hash)]
pub struct ResultFields {
    /// Rows.
    pub rows_woven: Option<i64>,
    /// Woven length.
    pub woven_nm: Option<Length>,
    /// Weft used.
    pub weft_mg: Option<Mass>,
    /// Minutes of weaving.
    pub weave_minutes: Option<i64>,
    /// Minutes of cutting, joining and winding.
    pub prepare_minutes: Option<i64>,
    /// Warp strip used.
    pub warp_nm: Option<Length>,
    /// Length off the frame and washed.
    pub finished_length_nm: Option<Length>,
    /// Width off the frame and washed.
    pub finished_width_nm: Option<Length>,
}

impl ResultFields {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A finished rug with what it took.
#[derive(Clone, Debug, PartialEq, Eq, Hash, FromRow)]
pub struct RugResult {
    /// Whose it is.
    pub weaver_id: PersonId,
    /// What was chosen.
    #[sqlx(flatten)]
    pub fields: RugFields,
    /// The planned length: the bands together.
    pub length_nm: Length,
    /// Whether a band was woven by a chart, whose extra turns took strip and time.
    pub charted: bool,
    /// What it took.
    #[sqlx(flatten)]
    pub result: ResultFields,
}

impl Read {
    /// The finished rugs of which something was said, the newest first, as many as say anything new: the last 120 are some
    /// four terms.
    pub async fn rug_results(&mut self) -> Result<Vec<RugResult>, Error> {
        // The results lead, so that the newest are read and no more: SQLite keeps the order of a CROSS JOIN.
        sql!(
            all RugResult, self,
            "SELECT r.*, (SELECT CAST(SUM(b.height_nm) AS BIGINT) FROM rug_band b WHERE b.rug_id = r.id) AS length_nm,
                 EXISTS (SELECT 1 FROM rug_band c WHERE c.rug_id = r.id AND c.chart IS NOT NULL) AS charted,
                 s.rows_woven, s.woven_nm, s.weft_mg, s.weave_minutes, s.prepare_minutes, s.warp_nm,
                 s.finished_length_nm, s.finished_width_nm
             FROM rug_result s CROSS JOIN rug r
             WHERE r.id = s.rug_id AND r.state = 'finished' ORDER BY s.at DESC, s.rug_id LIMIT 120"
        )
    }

    /// What one rug took.
    pub async fn rug_result(&mut self, rug: RugId) -> Result<Option<ResultFields>, Error> {
        sql!(
            opt ResultFields, self,
            "SELECT rows_woven, woven_nm, weft_mg, weave_minutes, prepare_minutes, warp_nm, finished_length_nm,
                 finished_width_nm
             FROM rug_result WHERE rug_id = $1",
            rug
        )
    }
}

impl Write {
    /// Says that a rug is finished, and what it took, over what was said before. Nothing said takes nothing back.
    pub async fn finish_rug(&mut self, rug: RugId, f: &ResultFields) -> Result<(), Error> {
        self.set_rug_state(rug, RugState::Finished).await?;
        if f.is_empty() {
            return Ok(());
        }
        let (at, person) = (self.now(), self.actor.person);
        sql!(
            exec self,
            "INSERT INTO rug_result (rug_id, at, person_id, rows_woven, woven_nm, weft_mg, weave_minutes,
                 prepare_minutes, warp_nm, finished_length_nm, finished_width_nm)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)
             ON CONFLICT (rug_id) DO UPDATE SET at = excluded.at, person_id = excluded.person_id,
                 rows_woven = excluded.rows_woven, woven_nm = excluded.woven_nm, weft_mg = excluded.weft_mg,
                 weave_minutes = excluded.weave_minutes, prepare_minutes = excluded.prepare_minutes,
                 warp_nm = excluded.warp_nm, finished_length_nm = excluded.finished_length_nm,
                 finished_width_nm = excluded.finished_width_nm",
            rug, at, person, f.rows_woven, f.woven_nm, f.weft_mg, f.weave_minutes, f.prepare_minutes, f.warp_nm,
            f.finished_length_nm, f.finished_width_nm
        )?;
        let said = json!({
            "rows": f.rows_woven,
            "woven_mm": f.woven_nm.map(Length::mm),
            "weft_g": f.weft_mg.map(Mass::grams),
            "weave_minutes": f.weave_minutes,
            "prepare_minutes": f.prepare_minutes,
            "warp_mm": f.warp_nm.map(Length::mm),
            "finished_length_mm": f.finished_length_nm.map(Length::mm),
            "finished_width_mm": f.finished_width_nm.map(Length::mm),
        });
        self.audit_log(EntityKind::Rug, rug, "what it took", said).await
    }
}
