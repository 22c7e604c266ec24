//! Loans: a frame, with its rods, handed out for a weaver's rug until a day, and taken back.
//!
//! Both acts lock in one order (frame, rug, loan, rod), so that two of them wait for each other instead of failing.
use serde_json::json;
use sqlx::FromRow;

use super::columns::{Day, Instant};
use super::frames::Condition;
use super::rugs::RugState;
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, FrameId, LoanId, PersonId, RodId, RugId};
use crate::units::Length;

/// A loan, with what its lines and its slip show.
#[derive(Clone, Debug, FromRow)]
pub struct Loan {
    /// Its id.
    pub id: LoanId,
    /// The frame.
    pub frame_id: FrameId,
    /// Its tag.
    pub frame_tag: String,
    /// Its span.
    pub span_nm: Length,
    /// Its width.
    pub width_nm: Length,
    /// Its nails per end.
    pub nails: i64,
    /// What is known about it.
    pub frame_note: String,
    /// The rug.
    pub rug_id: RugId,
    /// The rug's name.
    pub rug: String,
    /// Whose rug.
    pub weaver_id: PersonId,
    /// Their name.
    pub weaver: String,
    /// The size of the rods; `None` when none went along.
    pub rod_id: Option<RodId>,
    /// Their length.
    pub rod_length_nm: Option<Length>,
    /// Their diameter.
    pub rod_diameter_nm: Option<Length>,
    /// How many went along.
    pub rods: i64,
    /// Until when.
    pub due_on: Day,
    /// The frame's condition when it went.
    pub condition_out: Condition,
    /// When it went.
    pub handed_out_at: Instant,
    /// Who handed it out.
    pub handed_out_by: String,
    /// When it came back; `None` while it is out.
    pub taken_back_at: Option<Instant>,
    /// Who took it back.
    pub taken_back_by: Option<String>,
    /// The frame's condition when it came back.
    pub condition_back: Option<Condition>,
    /// Rods that came back bent.
    pub rods_bent: i64,
    /// Rods that didn't come back.
    pub rods_missing: i64,
    /// What was noted when it came back.
    pub note: String,
}

/// A rug as far as a frame for it is concerned.
#[derive(Clone, Debug, FromRow)]
pub struct RugInLine {
    /// The rug.
    pub rug_id: RugId,
    /// Its name.
    pub rug: String,
    /// Whose.
    pub weaver: String,
    /// How far it is.
    pub state: RugState,
    /// Span of the frame it is planned for.
    pub span_nm: Length,
    /// Width of that frame.
    pub width_nm: Length,
    /// Nails per end of that frame.
    pub nails: i64,
    /// The last meeting of its term that takes place.
    pub last_meeting: Option<Day>,
    /// The tag of the frame it is on now.
    pub frame_tag: Option<String>,
}

/// What is to be handed out.
#[derive(Clone, Copy, Debug)]
pub struct HandOut {
    /// The frame.
    pub frame: FrameId,
    /// For which rug.
    pub rug: RugId,
    /// The size of the rods, and how many; `None` for a frame without rods.
    pub rods: Option<(RodId, i64)>,
    /// Until when.
    pub due_on: Day,
}

/// How something came back.
#[derive(Clone, Debug)]
pub struct TakeBack {
    /// The frame's condition.
    pub condition: Condition,
    /// How far the rug is.
    pub rug: RugState,
    /// Rods that came back bent.
    pub rods_bent: i64,
    /// Rods that didn't come back: written off.
    pub rods_missing: i64,
    /// Anything worth knowing.
    pub note: String,
}

/// Why a frame could not be handed out. Nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// Somebody else has it.
    #[error("this frame is with {weaver} until {}", due_on.0)]
    FrameOut {
        /// Who.
        weaver: String,
        /// Until when.
        due_on: Day,
    },
    /// It is broken or retired, or was never there.
    #[error("a broken or retired frame is not handed out")]
    FrameUnfit,
    /// The rug is finished or given up, or its weaver left.
    #[error("this rug is not being woven")]
    RugClosed,
    /// The rug is on another frame.
    #[error("this rug is on a frame already")]
    RugOnFrame,
    /// There are fewer rods of this size in than asked for.
    #[error("there are not so many rods of this size in")]
    RodsShort,
    /// Anything else.
    #[error(transparent)]
    Store(#[from] Error),
}

impl Read {
    /// What is out now, the longest overdue first.
    pub async fn loans_out(&mut self) -> Result<Vec<Loan>, Error> {
        let mut loans = self.loans_of(None, None, Some(false), i64::MAX).await?;
        loans.sort_by(|a, b| (a.due_on, &a.frame_tag).cmp(&(b.due_on, &b.frame_tag)));
        Ok(loans)
    }

    /// What came back, the newest loan first.
    pub async fn loans_back(&mut self, limit: i64) -> Result<Vec<Loan>, Error> {
        self.loans_of(None, None, Some(true), limit).await
    }

    /// Every loan of a frame, the newest first.
    pub async fn loans_of_frame(&mut self, frame: FrameId) -> Result<Vec<Loan>, Error> {
        self.loans_of(None, Some(frame), None, i64::MAX).await
    }

    /// One loan.
    pub async fn loan(&mut self, id: LoanId) -> Result<Option<Loan>, Error> {
        Ok(self.loans_of(Some(id), None, None, 1).await?.pop())
    }

    async fn loans_of(
        &mut self,
        id: Option<LoanId>,
        frame: Option<FrameId>,
        back: Option<bool>,
        limit: i64,
    ) -> Result<Vec<Loan>, Error> {
        // Ids sort by time (UUID version 7). Each way to ask has a part of its own, which finds its loans by an index.
        sql!(
            all Loan, self,
            "SELECT l.id, l.frame_id, f.tag AS frame_tag, f.span_nm, f.width_nm, f.nails, f.note AS frame_note,
                    l.rug_id, r.name AS rug, r.weaver_id, w.name AS weaver,
                    l.rod_id, d.length_nm AS rod_length_nm, d.diameter_nm AS rod_diameter_nm, l.rods, l.due_on,
                    l.condition_out, l.handed_out_at, o.name AS handed_out_by, l.taken_back_at,
                    b.name AS taken_back_by, l.condition_back, l.rods_bent, l.rods_missing, l.note
             FROM loan l JOIN frame f ON f.id = l.frame_id JOIN rug r ON r.id = l.rug_id
                 JOIN person w ON w.id = r.weaver_id JOIN person o ON o.id = l.handed_out_by
                 LEFT JOIN person b ON b.id = l.taken_back_by LEFT JOIN rod d ON d.id = l.rod_id
             WHERE l.id IN (SELECT y.id FROM loan y WHERE y.id = $1 UNION ALL
                 SELECT y.id FROM loan y WHERE y.frame_id = $2 UNION ALL
                 SELECT y.id FROM loan y WHERE y.taken_back_at IS NULL AND NOT CAST($3 AS BOOLEAN) UNION ALL
                 SELECT z.id FROM (SELECT y.id FROM loan y WHERE y.taken_back_at IS NOT NULL AND CAST($3 AS BOOLEAN)
                     ORDER BY y.id DESC LIMIT $4) z)
             ORDER BY l.id DESC LIMIT $4",
            id, frame, back, limit
        )
    }

    /// The rugs that want a frame and have none: planned before begun, then the oldest first.
    pub async fn rugs_in_line(&mut self) -> Result<Vec<RugInLine>, Error> {
        self.in_line(None).await
    }

    /// One rug, whether it wants a frame or not.
    pub async fn rug_in_line(&mut self, id: RugId) -> Result<Option<RugInLine>, Error> {
        Ok(self.in_line(Some(id)).await?.pop())
    }

    async fn in_line(&mut self, id: Option<RugId>) -> Result<Vec<RugInLine>, Error> {
        sql!(
            all RugInLine, self,
            "SELECT r.id AS rug_id, r.name AS rug, w.name AS weaver, r.state, r.span_nm, r.width_nm, r.nails,
                    f.tag AS frame_tag, (SELECT MAX(m.on_day) FROM meeting m
                        WHERE m.term_id = r.term_id AND m.called_off = FALSE) AS last_meeting
             FROM rug r JOIN person w ON w.id = r.weaver_id
                 LEFT JOIN loan l ON l.rug_id = r.id AND l.taken_back_at IS NULL LEFT JOIN frame f ON f.id = l.frame_id
             WHERE r.id = $1 OR (CAST($1 AS TEXT) IS NULL AND r.state IN ('planned', 'weaving')
                 AND w.left_at IS NULL AND l.id IS NULL)
             ORDER BY r.state, r.made_at, r.id",
            id
        )
    }
}

impl Write {
    /// Hands a frame with its rods out for a rug, which is being woven from now on.
    ///
    /// # Errors
    /// [`Refused`] says what stands in the way, and who has the frame if somebody has it.
    pub async fn hand_out(&mut self, id: LoanId, what: &HandOut) -> Result<(), Refused> {
        let HandOut { frame, rug, rods, due_on } = *what;
        // Changing nothing locks the row: anyone who retires, breaks or takes back this frame waits, or was quicker.
        let condition = sql!(
            opt(Condition,),
            self,
            "UPDATE frame SET revision = revision WHERE id = $1 AND retired = FALSE AND condition <> 'broken'
             RETURNING condition",
            frame
        )?;
        let Some((condition,)) = condition else { return Err(Refused::FrameUnfit) };
        let open = sql!(
            exec self,
            "UPDATE rug SET revision = revision WHERE id = $1 AND state IN ('planned', 'weaving')
                 AND EXISTS (SELECT 1 FROM person p WHERE p.id = rug.weaver_id AND p.left_at IS NULL)",
            rug
        )?;
        if open == 0 {
            return Err(Refused::RugClosed);
        }
        let (rod, count) = rods.unzip();
        let (at, by) = (self.now(), self.actor.person);
        let made = sql!(
            exec self,
            "INSERT INTO loan (id, frame_id, rug_id, rod_id, rods, due_on, condition_out, handed_out_at, handed_out_by)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)
             ON CONFLICT (frame_id) WHERE taken_back_at IS NULL DO NOTHING",
            id, frame, rug, rod, count.unwrap_or(0), due_on, condition, at, by
        );
        match made {
            Ok(0) => return Err(self.holder(frame).await?),
            Ok(_) => {}
            Err(e) if e.violates("u_loan__rug_id") => return Err(Refused::RugOnFrame),
            Err(e) => return Err(e.into()),
        }
        if let Some((rod, count)) = rods {
            match sql!(exec self, "UPDATE rod SET out_now = out_now + $2 WHERE id = $1", rod, count) {
                Err(e) if e.violates("ck_rod__counts") => return Err(Refused::RodsShort),
                done => done?,
            };
        }
        self.set_rug_state(rug, RugState::Weaving).await?;
        let detail = json!({ "frame": frame.to_string(), "rug": rug.to_string(), "rods": count.unwrap_or(0),
            "due": due_on.0.to_string() });
        Ok(self.audit_log(EntityKind::Loan, id, "handed out", detail).await?)
    }

    async fn holder(&mut self, frame: FrameId) -> Result<Refused, Error> {
        let (weaver, due_on) = sql!(
            one (String, Day), self,
            "SELECT w.name, l.due_on FROM loan l JOIN rug r ON r.id = l.rug_id JOIN person w ON w.id = r.weaver_id
             WHERE l.frame_id = $1 AND l.taken_back_at IS NULL",
            frame
        )?;
        Ok(Refused::FrameOut { weaver, due_on })
    }

    /// Moves the day a loan is due from `was`, if nobody else moved it and it is still out.
    pub async fn move_due(&mut self, id: LoanId, was: Day, to: Day) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE loan SET due_on = $3 WHERE id = $1 AND due_on = $2 AND taken_back_at IS NULL", id, was, to
        )?;
        check_revision(rows)?;
        self.audit_log(
            EntityKind::Loan,
            id,
            "due day moved",
            json!({ "due": to.0.to_string(), "was": was.0.to_string() }),
        )
        .await
    }

    /// Takes a frame back with its rods: bent ones are counted as bent, missing ones are written off. More bent and
    /// missing than went out break `ck_loan__rods`.
    ///
    /// # Errors
    /// [`Error::Stale`] when it was taken back before.
    pub async fn take_back(&mut self, id: LoanId, how: &TakeBack) -> Result<(), Error> {
        let whose = sql!(opt(FrameId, RugId), self, "SELECT frame_id, rug_id FROM loan WHERE id = $1", id)?;
        let Some((frame, rug)) = whose else { return Err(Error::Stale) };
        sql!(
            exec self,
            "UPDATE frame SET condition = $2, revision = revision + 1 WHERE id = $1", frame, how.condition
        )?;
        self.set_rug_state(rug, how.rug).await?;
        let (at, by) = (self.now(), self.actor.person);
        let back = sql!(
            opt(Option<RodId>, i64),
            self,
            "UPDATE loan SET taken_back_at = $2, taken_back_by = $3, condition_back = $4, rods_bent = $5,
                 rods_missing = $6, note = $7
             WHERE id = $1 AND taken_back_at IS NULL RETURNING rod_id, rods",
            id,
            at,
            by,
            how.condition,
            how.rods_bent,
            how.rods_missing,
            how.note.clone()
        )?;
        let Some((rod, rods)) = back else { return Err(Error::Stale) };
        if let Some(rod) = rod {
            sql!(
                exec self,
                "UPDATE rod SET out_now = out_now - $2, bent = bent + $3, owned = owned - $4 WHERE id = $1",
                rod, rods, how.rods_bent, how.rods_missing
            )?;
            if how.rods_bent + how.rods_missing > 0 {
                let detail = json!({ "bent": how.rods_bent, "missing": how.rods_missing });
                self.audit_log(EntityKind::Rod, rod, "taken back", detail).await?;
            }
        }
        let condition = how.condition.word();
        self.audit_log(EntityKind::Frame, frame, "taken back", json!({ "condition": condition })).await?;
        let detail = json!({ "frame": frame.to_string(), "condition": condition, "rods": rods,
            "bent": how.rods_bent, "missing": how.rods_missing });
        self.audit_log(EntityKind::Loan, id, "taken back", detail).await
    }
}
