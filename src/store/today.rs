//! What the Today page asks of all nouns at once, in a few joined questions. Nothing is changed here.
use sqlx::FromRow;

use super::columns::{Day, Instant, TimeOfDay};
use super::rugs::RugState;
use super::rugs::list::BandLines;
use super::terms::Meeting;
use super::tx::{Read, sql};
use super::{Error, LoanId, MeetingId, PersonId, RugId, TermId};
use crate::units::Mass;

/// A term that runs, with its meetings in order, those called off among them.
#[derive(Clone, Debug)]
pub struct Running {
    /// Its id.
    pub id: TermId,
    /// What it is called.
    pub name: String,
    /// Its meetings.
    pub meetings: Vec<Meeting>,
}

/// A term beside one of its meetings; it may have none.
#[derive(FromRow)]
struct RunningRow {
    id: TermId,
    name: String,
    meeting_id: Option<MeetingId>,
    on_day: Option<Day>,
    starts_at: Option<TimeOfDay>,
    minutes: Option<i64>,
    called_off: Option<bool>,
}

impl RunningRow {
    fn meeting(&self) -> Option<Meeting> {
        Some(Meeting {
            id: self.meeting_id?,
            term_id: self.id,
            on_day: self.on_day?,
            starts_at: self.starts_at?,
            minutes: self.minutes?,
            called_off: self.called_off?,
        })
    }
}

/// A weaver of a term with one of their rugs, and the frame that it is on. Somebody with two rugs has two lines.
#[derive(Clone, Debug, FromRow)]
pub struct Expected {
    /// Who.
    pub weaver_id: PersonId,
    /// Their name.
    pub weaver: String,
    /// The rug; `None` when they have none in this term.
    pub rug_id: Option<RugId>,
    /// Its name.
    pub rug: Option<String>,
    /// How far it is.
    pub state: Option<RugState>,
    /// The tag of the frame it is on.
    pub frame_tag: Option<String>,
    /// When it went on that frame.
    pub handed_out_at: Option<Instant>,
    /// Its bands.
    #[sqlx(flatten)]
    pub bands: BandLines,
}

/// A frame that should come back.
#[derive(Clone, Debug, FromRow)]
pub struct Due {
    /// The loan.
    pub loan_id: LoanId,
    /// The frame's tag.
    pub frame_tag: String,
    /// Which rug is on it.
    pub rug: String,
    /// Who has it.
    pub weaver_id: PersonId,
    /// Their name.
    pub weaver: String,
    /// Since when, or from when.
    pub due_on: Day,
}

/// How much there is of everything.
#[allow(clippy::struct_excessive_bools, reason = "each says whether there is any of something")]
#[derive(Clone, Copy, Debug, FromRow)]
pub struct Counts {
    /// Weavers who are here.
    pub weavers: i64,
    /// Terms.
    pub terms: i64,
    /// Whether anybody is enrolled in any term.
    pub enrolled: bool,
    /// Frames in the inventory.
    pub frames: i64,
    /// Frames out.
    pub frames_out: i64,
    /// Whether a frame was ever lent.
    pub lent: bool,
    /// Rods owned.
    pub rods: i64,
    /// Whether a bundle was ever weighed in.
    pub weighed_in: bool,
    /// Whether a rug was ever planned.
    pub rugs: bool,
    /// Bundles that arrived and wait to be washed.
    pub unwashed: i64,
    /// What they weigh.
    pub unwashed_mg: Mass,
    /// Deliveries of notices that were given up.
    pub undelivered: i64,
}

impl Read {
    /// The terms that run, the newest first.
    pub async fn running_terms(&mut self) -> Result<Vec<Running>, Error> {
        let rows = sql!(
            all RunningRow, self,
            "SELECT t.id, t.name, m.id AS meeting_id, m.on_day, m.starts_at, m.minutes, m.called_off
             FROM term t LEFT JOIN meeting m ON m.term_id = t.id WHERE t.closed_at IS NULL
             ORDER BY t.id DESC, m.on_day, m.starts_at"
        )?;
        let mut terms: Vec<Running> = Vec::new();
        for row in rows {
            let meeting = row.meeting();
            if terms.last().is_none_or(|last| last.id != row.id) {
                terms.push(Running { id: row.id, name: row.name, meetings: Vec::new() });
            }
            if let Some(term) = terms.last_mut() {
                term.meetings.extend(meeting);
            }
        }
        Ok(terms)
    }

    /// Who is expected at a term's meetings, by name, each with their rugs of this term: those being woven first.
    pub async fn expected(&mut self, term: TermId) -> Result<Vec<Expected>, Error> {
        sql!(
            all Expected, self,
            "SELECT p.id AS weaver_id, p.name AS weaver, r.id AS rug_id, r.name AS rug, r.state, f.tag AS frame_tag,
                 l.handed_out_at,
                 COALESCE((SELECT string_agg(b.first_hex || b.first_name || '\n' || b.other_hex || b.other_name || '\n' || b.height_nm,
                     '\n' ORDER BY b.position) FROM rug_band b WHERE b.rug_id = r.id), '') AS bands
             FROM enrolment e JOIN person p ON p.id = e.person_id
             LEFT JOIN rug r ON r.weaver_id = p.id AND r.state <> 'given up'
                 AND (r.term_id = e.term_id OR (r.term_id IS NULL AND r.state <> 'finished'))
             LEFT JOIN loan l ON l.rug_id = r.id AND l.taken_back_at IS NULL
             LEFT JOIN frame f ON f.id = l.frame_id
             WHERE e.term_id = $1 AND p.left_at IS NULL
             ORDER BY p.name_key, p.id,
                 CASE r.state WHEN 'weaving' THEN 1 WHEN 'planned' THEN 2 ELSE 3 END, r.id",
            term
        )
    }

    /// Rugs that aren't done, by weaver, in the same lines: what is left to settle when no term runs.
    pub async fn unfinished(&mut self) -> Result<Vec<Expected>, Error> {
        sql!(
            all Expected, self,
            "SELECT p.id AS weaver_id, p.name AS weaver, r.id AS rug_id, r.name AS rug, r.state, f.tag AS frame_tag,
                 l.handed_out_at,
                 COALESCE((SELECT string_agg(b.first_hex || b.first_name || '\n' || b.other_hex || b.other_name || '\n' || b.height_nm,
                     '\n' ORDER BY b.position) FROM rug_band b WHERE b.rug_id = r.id), '') AS bands
             FROM rug r JOIN person p ON p.id = r.weaver_id
             LEFT JOIN loan l ON l.rug_id = r.id AND l.taken_back_at IS NULL
             LEFT JOIN frame f ON f.id = l.frame_id
             WHERE r.state IN ('planned', 'weaving') AND p.left_at IS NULL
             ORDER BY p.name_key, p.id, CASE r.state WHEN 'weaving' THEN 1 ELSE 2 END, r.id"
        )
    }

    /// The frames that are due on a day or were before, the longest overdue first.
    pub async fn frames_due(&mut self, by: Day) -> Result<Vec<Due>, Error> {
        sql!(
            all Due, self,
            "SELECT l.id AS loan_id, f.tag AS frame_tag, r.name AS rug, p.id AS weaver_id, p.name AS weaver, l.due_on
             FROM loan l JOIN frame f ON f.id = l.frame_id JOIN rug r ON r.id = l.rug_id
             JOIN person p ON p.id = r.weaver_id
             WHERE l.taken_back_at IS NULL AND l.due_on <= $1 ORDER BY l.due_on, f.tag_key",
            by
        )
    }

    /// How much there is of everything.
    pub async fn counts(&mut self) -> Result<Counts, Error> {
        sql!(
            one Counts, self,
            "SELECT
                 (SELECT COUNT(*) FROM person WHERE role = 'weaver' AND left_at IS NULL) AS weavers,
                 (SELECT COUNT(*) FROM term) AS terms,
                 EXISTS (SELECT 1 FROM enrolment) AS enrolled,
                 (SELECT COUNT(*) FROM frame WHERE NOT retired) AS frames,
                 (SELECT COUNT(*) FROM loan WHERE taken_back_at IS NULL) AS frames_out,
                 EXISTS (SELECT 1 FROM loan) AS lent,
                 (SELECT CAST(COALESCE(SUM(owned), 0) AS BIGINT) FROM rod) AS rods,
                 EXISTS (SELECT 1 FROM bundle) AS weighed_in,
                 EXISTS (SELECT 1 FROM rug) AS rugs,
                 (SELECT COUNT(*) FROM bundle WHERE state = 'arrived' AND balance_mg > 0) AS unwashed,
                 (SELECT CAST(COALESCE(SUM(balance_mg), 0) AS BIGINT) FROM bundle WHERE state = 'arrived' AND balance_mg > 0)
                     AS unwashed_mg,
                 (SELECT COUNT(*) FROM delivery d JOIN receiver r ON r.id = d.receiver_id
                     WHERE d.state = 'given up' AND r.removed_at IS NULL)
                 + (SELECT COUNT(*) FROM delivery d WHERE d.state = 'given up' AND d.person_id IS NOT NULL) AS undelivered"
        )
    }
}
