//! Timetables: which rug has which frame from which meeting to which, what is wanted for its turn, and who won't come.
use std::collections::BTreeSet;

use serde_json::json;
use sqlx::FromRow;

use super::columns::{Day, Instant};
use super::loans::HandOut;
use super::rugs::RugState;
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, FrameId, MeetingId, PersonId, RugId, TermId};

/// A term's timetable.
#[derive(Clone, Debug, FromRow)]
pub struct Timetable {
    /// Rises with each new one.
    pub revision: i64,
    /// When it was made.
    pub made_at: Instant,
    /// By whom.
    pub who: Option<String>,
}

/// A rug's place in it.
#[derive(Clone, Debug, FromRow)]
pub struct Place {
    /// The rug.
    pub rug_id: RugId,
    /// Its name.
    pub rug: String,
    /// How far it is.
    pub rug_state: RugState,
    /// Whose.
    pub weaver_id: PersonId,
    /// The weaver's name.
    pub weaver: String,
    /// The frame.
    pub frame_id: FrameId,
    /// Its tag.
    pub frame_tag: String,
    /// The term.
    pub term_id: TermId,
    /// At which meeting it is handed out.
    pub from_meeting: MeetingId,
    /// At which meeting it comes back.
    pub to_meeting: MeetingId,
    /// The day of the first.
    pub from_day: Day,
    /// The day of the last.
    pub to_day: Day,
    /// Whether its term still runs.
    pub runs: bool,
    /// Whether it stays when the timetable is worked out again.
    pub locked: bool,
    /// Whether the weaver knows.
    pub told: bool,
}

impl Place {
    /// Whether its rug still waits for this frame, by a timetable that holds, and would get it before what is handed out to
    /// another comes back.
    pub fn is_broken_by(&self, what: &HandOut) -> bool {
        self.runs
            && self.frame_id == what.frame
            && self.rug_id != what.rug
            && self.rug_state == RugState::Planned
            && self.from_day < what.due_on
    }
}

/// A place to be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NewPlace {
    /// The rug.
    pub rug: RugId,
    /// The frame.
    pub frame: FrameId,
    /// At which meeting it is handed out.
    pub from: MeetingId,
    /// At which meeting it comes back.
    pub to: MeetingId,
}

/// What is wanted for a rug's turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, FromRow)]
pub struct TurnWish {
    /// The rug.
    pub rug_id: RugId,
    /// How urgent: 1 as any, more before others.
    pub priority: i64,
    /// Not before this meeting.
    pub not_before: Option<MeetingId>,
}

/// A weaver who won't come to a meeting.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, FromRow)]
pub struct Absence {
    /// The meeting.
    pub meeting_id: MeetingId,
    /// Who.
    pub person_id: PersonId,
}

impl Read {
    /// A term's timetable; nothing before the first was accepted.
    pub async fn timetable(&mut self, term: TermId) -> Result<Option<Timetable>, Error> {
        sql!(
            opt Timetable, self,
            "SELECT t.revision, t.made_at, p.name AS who FROM timetable t LEFT JOIN person p ON p.id = t.person_id
             WHERE t.term_id = $1",
            term
        )
    }

    /// The places in the timetables of the terms that run and of one more, by frame; those of rugs given up or finished among
    /// them.
    pub async fn places(&mut self, term: Option<TermId>) -> Result<Vec<Place>, Error> {
        sql!(
            all Place, self,
            "SELECT c.*, r.name AS rug, r.state AS rug_state, r.weaver_id, p.name AS weaver, f.tag AS frame_tag,
                 m.on_day AS from_day, n.on_day AS to_day, t.closed_at IS NULL AS runs
             FROM place c JOIN rug r ON r.id = c.rug_id JOIN person p ON p.id = r.weaver_id JOIN frame f ON f.id = c.frame_id
             JOIN meeting m ON m.id = c.from_meeting JOIN meeting n ON n.id = c.to_meeting JOIN term t ON t.id = c.term_id
             WHERE c.term_id IN (SELECT o.id FROM term o WHERE o.closed_at IS NULL UNION SELECT CAST($1 AS TEXT))
             ORDER BY f.tag, m.on_day, m.starts_at, c.rug_id",
            term
        )
    }

    /// What is wanted for the turns of a term's rugs.
    pub async fn turn_wishes(&mut self, term: TermId) -> Result<Vec<TurnWish>, Error> {
        sql!(
            all TurnWish, self,
            "SELECT w.rug_id, w.priority, w.not_before FROM turn_wish w JOIN rug r ON r.id = w.rug_id WHERE r.term_id = $1
             ORDER BY w.rug_id",
            term
        )
    }

    /// Who won't come to which of a term's meetings.
    pub async fn absences(&mut self, term: TermId) -> Result<Vec<Absence>, Error> {
        sql!(
            all Absence, self,
            "SELECT a.meeting_id, a.person_id FROM absence a JOIN meeting m ON m.id = a.meeting_id WHERE m.term_id = $1
             ORDER BY m.on_day, m.starts_at, a.person_id",
            term
        )
    }
}

impl Write {
    /// Replaces a term's timetable, if nobody else did since `revision` (0 for none). Who stays where they were stays told.
    pub async fn accept_timetable(
        &mut self,
        term: TermId,
        revision: i64,
        places: &[NewPlace],
    ) -> Result<(), Error> {
        let (at, person) = (self.now(), self.actor.person);
        let rows = if revision == 0 {
            sql!(
                exec self,
                "INSERT INTO timetable (term_id, revision, made_at, person_id) VALUES ($1, 1, $2, $3)
                 ON CONFLICT DO NOTHING",
                term, at, person
            )?
        } else {
            sql!(
                exec self,
                "UPDATE timetable SET revision = revision + 1, made_at = $3, person_id = $4
                 WHERE term_id = $1 AND revision = $2",
                term, revision, at, person
            )?
        };
        check_revision(rows)?;
        // Each frame is locked, always in the same order: who hands one out meanwhile waits and then sees these turns.
        let frames: BTreeSet<FrameId> = places.iter().map(|place| place.frame).collect();
        for frame in frames {
            sql!(exec self, "UPDATE frame SET revision = revision WHERE id = $1", frame)?;
        }
        let before = sql!(
            all Kept, self,
            "SELECT rug_id, frame_id, from_meeting, to_meeting, locked, told FROM place WHERE term_id = $1", term
        )?;
        sql!(exec self, "DELETE FROM place WHERE term_id = $1", term)?;
        for new in places {
            let old = before.iter().find(|old| old.rug_id == new.rug);
            let same = |old: &&Kept| {
                (old.frame_id, old.from_meeting, old.to_meeting) == (new.frame, new.from, new.to)
            };
            let told = old.filter(same).is_some_and(|old| old.told);
            let locked = old.is_some_and(|old| old.locked);
            sql!(
                exec self,
                "INSERT INTO place (rug_id, term_id, frame_id, from_meeting, to_meeting, locked, told)
                 VALUES ($1, $2, $3, $4, $5, $6, $7)
                 ON CONFLICT (rug_id) DO UPDATE SET term_id = excluded.term_id, frame_id = excluded.frame_id,
                     from_meeting = excluded.from_meeting, to_meeting = excluded.to_meeting, locked = excluded.locked,
                     told = excluded.told",
                new.rug, term, new.frame, new.from, new.to, locked, told
            )?;
        }
        self.audit_log(EntityKind::Term, term, "timetable accepted", json!({ "rugs": places.len() })).await
    }

    /// Locks a rug's place, or lets it go.
    pub async fn lock_place(&mut self, term: TermId, rug: RugId, locked: bool) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE place SET locked = $3 WHERE rug_id = $1 AND term_id = $2", rug, term, locked
        )?;
        check_revision(rows)?;
        let what = if locked { "place locked" } else { "place unlocked" };
        self.audit_log(EntityKind::Term, term, what, json!({ "rug": rug })).await
    }

    /// Keeps that the weaver of a rug knows its place.
    pub async fn mark_told(&mut self, term: TermId, rug: RugId) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE place SET told = $3 WHERE rug_id = $1 AND term_id = $2", rug, term, true
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Term, term, "weaver told of their place", json!({ "rug": rug })).await
    }

    /// Keeps what is wanted for a rug's turn.
    pub async fn wish_turn(&mut self, term: TermId, wish: TurnWish) -> Result<(), Error> {
        sql!(
            exec self,
            "INSERT INTO turn_wish (rug_id, priority, not_before) VALUES ($1, $2, $3)
             ON CONFLICT (rug_id) DO UPDATE SET priority = excluded.priority, not_before = excluded.not_before",
            wish.rug_id, wish.priority, wish.not_before
        )?;
        let detail = json!({ "rug": wish.rug_id, "priority": wish.priority });
        self.audit_log(EntityKind::Term, term, "turn wished", detail).await
    }

    /// Keeps who won't come to which meetings of a term; what was kept before is replaced.
    pub async fn set_absences(&mut self, term: TermId, absences: &[Absence]) -> Result<(), Error> {
        sql!(
            exec self,
            "DELETE FROM absence WHERE meeting_id IN (SELECT m.id FROM meeting m WHERE m.term_id = $1)", term
        )?;
        for one in absences {
            sql!(
                exec self,
                "INSERT INTO absence (meeting_id, person_id)
                 SELECT m.id, p.id FROM meeting m CROSS JOIN person p WHERE m.id = $1 AND m.term_id = $3 AND p.id = $2
                 ON CONFLICT DO NOTHING",
                one.meeting_id, one.person_id, term
            )?;
        }
        self.audit_log(EntityKind::Term, term, "absences", json!({ "absences": absences.len() })).await
    }
}

#[derive(FromRow)]
struct Kept {
    rug_id: RugId,
    frame_id: FrameId,
    from_meeting: MeetingId,
    to_meeting: MeetingId,
    locked: bool,
    told: bool,
}
