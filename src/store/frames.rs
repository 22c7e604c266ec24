//! Frames: the inventory, and where each frame is now. Handing out and taking back are in [`super::loans`].
use serde_json::{Value, json};
use sqlx::FromRow;

use super::columns::{Day, string_enum};
use super::people::name_key;
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, FrameId, LoanId, PersonId};
use crate::planning::warp::nail_rows::NailRows;
use crate::units::{Length, Units};

string_enum! {
    /// What a frame is fit for.
    Condition {
        /// Ready to use.
        Sound = "sound",
        /// Usable, and wants a look.
        Worn = "worn",
        /// Not to be handed out.
        Broken = "broken",
    }
}

/// What can be said of a frame in a form.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct FrameFields {
    /// What is painted on it; no two frames share one.
    pub tag: String,
    /// Between the nail rows.
    pub span_nm: Length,
    /// Between the edge rods.
    pub width_nm: Length,
    /// Nails per end.
    pub nails: i64,
    /// Between neighbouring nails; `None`: never measured, taken as spread evenly over the width.
    pub pitch_nm: Option<Length>,
    /// How its nail rows stand to each other.
    pub nail_rows: NailRows,
    /// What it is fit for.
    pub condition: Condition,
    /// Anything worth knowing; goes on the loan slip.
    pub note: String,
}

/// A frame, and with whom it is.
#[derive(Clone, Debug, FromRow)]
pub struct Frame {
    /// Its id.
    pub id: FrameId,
    /// What was said of it.
    #[sqlx(flatten)]
    pub fields: FrameFields,
    /// Whether it is no longer used.
    pub retired: bool,
    /// Rises with each change.
    pub revision: i64,
    /// The loan that is open, if it is out.
    pub loan_id: Option<LoanId>,
    /// Whom it is with.
    pub weaver: Option<String>,
    /// That person's id.
    pub weaver_id: Option<PersonId>,
    /// Until when.
    pub due_on: Option<Day>,
}

impl Frame {
    /// Whether it may be handed out as soon as it is in.
    pub fn usable(&self) -> bool {
        !self.retired && self.fields.condition != Condition::Broken
    }
}

/// A tag folded for comparing and its numbers padded, so that K-2 stands before K-10.
fn in_order(frame: &Frame) -> String {
    let mut key = String::new();
    let mut digits = String::new();
    for c in name_key(&frame.fields.tag).chars().chain(['\0']) {
        if c.is_ascii_digit() {
            digits.push(c);
            continue;
        }
        if !digits.is_empty() {
            key.extend(std::iter::repeat_n('0', 24_usize.saturating_sub(digits.len())));
            key.push_str(&digits);
            digits.clear();
        }
        key.push(c);
    }
    key
}

/// A frame's fields as the record keeps them, each in words.
fn audit_snapshot(f: &FrameFields) -> Value {
    let length = |length: Length| length.exact(Units::Inches);
    json!({
        "tag": f.tag,
        "span": length(f.span_nm),
        "width": length(f.width_nm),
        "nails": f.nails,
        "pitch": f.pitch_nm.map_or("spread evenly".to_owned(), length),
        "nail rows": f.nail_rows,
        "condition": f.condition.word(),
        "note": f.note,
    })
}

impl Read {
    /// Every frame, also the retired ones, in the order of their tags.
    pub async fn frames(&mut self) -> Result<Vec<Frame>, Error> {
        let mut frames = self.frames_of(None).await?;
        frames.sort_by_cached_key(in_order);
        Ok(frames)
    }

    /// One frame.
    pub async fn frame(&mut self, id: FrameId) -> Result<Option<Frame>, Error> {
        Ok(self.frames_of(Some(id)).await?.pop())
    }

    async fn frames_of(&mut self, id: Option<FrameId>) -> Result<Vec<Frame>, Error> {
        sql!(
            all Frame, self,
            "SELECT f.*, l.id AS loan_id, l.due_on, w.id AS weaver_id, w.name AS weaver
             FROM frame f LEFT JOIN loan l ON l.frame_id = f.id AND l.taken_back_at IS NULL
                 LEFT JOIN rug r ON r.id = l.rug_id LEFT JOIN person w ON w.id = r.weaver_id
             WHERE CAST($1 AS TEXT) IS NULL OR f.id = $1",
            id
        )
    }
}

impl Write {
    /// Adds a frame. A second one with the same tag breaks `u_frame__tag_key`.
    pub async fn add_frame(&mut self, id: FrameId, f: &FrameFields) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO frame (id, tag, tag_key, span_nm, width_nm, nails, pitch_nm, nail_rows, condition, note, made_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
            id, f.tag.clone(), name_key(&f.tag), f.span_nm, f.width_nm, f.nails, f.pitch_nm, f.nail_rows.clone(),
            f.condition, f.note.clone(), at
        )?;
        self.audit_log(EntityKind::Frame, id, "added", audit_snapshot(f)).await
    }

    /// Changes what is said of a frame, if nobody else did since `revision`.
    pub async fn change_frame(&mut self, id: FrameId, revision: i64, f: &FrameFields) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE frame SET tag = $3, tag_key = $4, span_nm = $5, width_nm = $6, nails = $7, pitch_nm = $8,
                 nail_rows = $9, condition = $10, note = $11, revision = revision + 1
             WHERE id = $1 AND revision = $2",
            id, revision, f.tag.clone(), name_key(&f.tag), f.span_nm, f.width_nm, f.nails, f.pitch_nm,
            f.nail_rows.clone(), f.condition, f.note.clone()
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Frame, id, "changed", audit_snapshot(f)).await
    }

    /// Takes a frame out of use; `false` while it is out with somebody, and then the change is not to be kept.
    pub async fn retire_frame(&mut self, id: FrameId, revision: i64) -> Result<bool, Error> {
        // The frame's row is locked by the change before its loans are read, so that no hand-out slips in between.
        self.set_retired(id, revision, true).await?;
        let out = sql!(
            val i64, self,
            "SELECT COUNT(*) FROM loan WHERE frame_id = $1 AND taken_back_at IS NULL", id
        )?;
        if out > 0 {
            return Ok(false);
        }
        self.audit_log(EntityKind::Frame, id, "retired", json!({})).await?;
        Ok(true)
    }

    /// Puts a retired frame back into use.
    pub async fn restore_frame(&mut self, id: FrameId, revision: i64) -> Result<(), Error> {
        self.set_retired(id, revision, false).await?;
        self.audit_log(EntityKind::Frame, id, "put back into use", json!({})).await
    }

    async fn set_retired(&mut self, id: FrameId, revision: i64, retired: bool) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE frame SET retired = $3, revision = revision + 1
             WHERE id = $1 AND revision = $2 AND retired <> $3",
            id, revision, retired
        )?;
        check_revision(rows)
    }
}
