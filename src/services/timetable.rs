//! What a term's timetable is worked out from: the meetings ahead, the frames that can be used, the rugs that wait or are on
//! a frame, and how many meetings each still needs.
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::optimize::fit::{Fit, Opening, fit};
use crate::optimize::timetable::{self, Placed, Problem};
use crate::planning::frame::size_words;
use crate::planning::rods::least_length;
use crate::planning::steps::StepKind;
use crate::services::learning::Learning;
use crate::services::rug_plan::{RugPlan, plan_of};
use crate::services::{Error, Result};
use crate::store::frames::{Frame, FrameFields};
use crate::store::loans::Loan;
use crate::store::rods::Rod;
use crate::store::rugs::Rug;
use crate::store::terms::{Meeting, Term};
use crate::store::timetable::{Absence, NewPlace, Place, Timetable, TurnWish};
use crate::store::{FrameId, MeetingId, Read, TermId};
use crate::units::dates;
use crate::units::{Length, Minutes, Units};

/// What an instructor sets before a timetable is worked out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Each rug gets the time that nine in ten such weavers need, not half of them.
    pub sure: bool,
    /// A rug may go on a larger frame than it was planned for.
    pub larger: bool,
    /// Meetings between two rugs on one frame.
    pub gap: u32,
}

impl Options {
    /// What a timetable is looked at with where nobody has set anything.
    pub const USUAL: Self = Self { sure: true, larger: false, gap: 0 };
}

/// A rug to be placed.
pub struct TimetableRow {
    pub rug: Rug,
    /// Meetings that the work at the frame takes which is still to be done.
    pub meetings: u32,
    /// The frame that it is on.
    pub out: Option<usize>,
    pub wish: Option<TurnWish>,
    /// Where it is in the timetable that holds.
    pub place: Option<Place>,
}

/// Everything on one table.
pub struct TimetableData {
    pub term: Term,
    /// Those that take place and aren't over, in order.
    pub meetings: Vec<Meeting>,
    pub frames: Vec<Frame>,
    pub rows: Vec<TimetableRow>,
    pub kept: Option<Timetable>,
    /// All places that hold, those of rugs that want none any more among them.
    pub places: Vec<Place>,
    /// Who won't come to which meeting.
    pub absences: Vec<Absence>,
    pub problem: Problem,
    /// The lengths of rod that the frames ask for, the shortest first: the problem's kinds of rods.
    pub rod_lengths: Vec<Length>,
    larger: bool,
    /// What one rug of common urgency counts for; who waits longer counts for a little more.
    pub base: u64,
}

const WHAT: Error = Error::NotFound("term");

impl TimetableData {
    pub async fn load(
        read: &mut Read,
        (zone, units): (TimeZone, Units),
        (id, now): (TermId, Timestamp),
        options: Options,
    ) -> Result<Self> {
        let term = read.term(id).await?.ok_or(WHAT)?;
        let running = read.running_terms().await?;
        let all: Vec<Meeting> =
            running.iter().find(|one| one.id == id).map_or_else(Vec::new, |one| one.meetings.clone());
        let ahead =
            |meeting: &&Meeting| !meeting.called_off && meeting.end(&zone).is_some_and(|end| end > now);
        let meetings: Vec<Meeting> = all.iter().filter(ahead).cloned().collect();
        let every = read.places(Some(id)).await?;
        let (places, elsewhere): (Vec<_>, Vec<_>) = every.into_iter().partition(|place| place.term_id == id);
        let (log, learning) = (read.term_log(id).await?, Learning::load(read).await?);
        let enrolled = read.enrolled(id).await?;
        let rugs =
            read.rugs(None, Some(id)).await?.into_iter().filter(|rug| {
                rug.state.is_open() && enrolled.iter().any(|one| one.person_id == rug.weaver_id)
            });
        let rugs: Vec<Rug> = rugs.collect();
        let ours = |frame: &Frame| rugs.iter().any(|rug| rug.frame_tag.as_ref() == Some(&frame.fields.tag));
        let frames: Vec<Frame> =
            read.frames().await?.into_iter().filter(|frame| frame.usable() || ours(frame)).collect();
        let wishes = read.turn_wishes(id).await?;
        let mut rows = Vec::new();
        for rug in rugs {
            let own: Vec<_> = log.iter().filter(|entry| entry.rug_id == rug.id).cloned().collect();
            let known = plan_of(&rug, &learning, &own, units)?;
            let work = at_the_frame(&known, options.sure);
            rows.push(TimetableRow {
                meetings: meetings_for(work, &rug, &meetings),
                out: frames.iter().position(|frame| Some(&frame.fields.tag) == rug.frame_tag.as_ref()),
                wish: wishes.iter().find(|wish| wish.rug_id == rug.id).copied(),
                place: places.iter().find(|place| place.rug_id == rug.id).cloned(),
                rug,
            });
        }
        // Who waits longest stands first.
        rows.sort_by_key(|row| (row.rug.made_at, row.rug.id));
        let (absences, stock, loans) =
            (read.absences(id).await?, read.rods().await?, read.loans_out().await?);
        let kept = read.timetable(id).await?;
        let base = (rows.len() * rows.len() + 1) as u64;
        let mut data = Self {
            term,
            meetings,
            frames,
            rows,
            kept,
            places,
            absences,
            problem: Problem::default(),
            rod_lengths: Vec::new(),
            larger: options.larger,
            base,
        };
        data.rod_lengths = data.rod_kinds();
        data.problem = data.posed((&stock, &loans), options);
        for (rug, row) in data.problem.rugs.iter_mut().zip(&data.rows) {
            let away = data.absences.iter().filter(|one| one.person_id == row.rug.weaver_id);
            rug.absent = away.filter_map(|one| number(&data.meetings, one.meeting_id)).collect();
        }
        for place in elsewhere.iter().filter(|place| place.runs) {
            if let Some(frame) = data.frames.iter().position(|frame| frame.id == place.frame_id) {
                data.close(frame, |meeting| (place.from_day..=place.to_day).contains(&meeting.on_day));
            }
        }
        Ok(data)
    }

    /// The question in numbers.
    fn posed(&self, (rods, loans): (&[Rod], &[Loan]), options: Options) -> Problem {
        let left = self.meetings.len() as u32;
        let lengths = &self.rod_lengths;
        let mut problem = Problem {
            meetings: left,
            frames: self.frames.iter().map(|frame| self.empty_frame(opening(&frame.fields))).collect(),
            rugs: Vec::new(),
            rods: self.pairs(lengths, rods, loans),
            gap: options.gap,
        };
        let waiting = self.rows.len() as u32;
        for (rank, row) in self.rows.iter().enumerate() {
            let urgent = row.wish.map_or(1, |wish| wish.priority.clamp(1, 9)) as u32;
            let before = row.place.as_ref().and_then(|place| self.numbered(place));
            let locked = row.place.as_ref().is_some_and(|place| place.locked);
            let earliest = row.wish.and_then(|wish| wish.not_before);
            problem.rugs.push(timetable::Rug {
                fits: (0..self.frames.len()).filter(|&at| self.serves(at, &row.rug)).collect(),
                // A rug that can't be done by the last meeting still holds its frame until then.
                meetings: if row.out.is_some() { row.meetings.min(left.max(1)) } else { row.meetings },
                earliest: earliest.and_then(|id| number(&self.meetings, id)).unwrap_or(1),
                latest: left,
                priority: self.base as u32 * urgent + (waiting - rank as u32 - 1),
                absent: Vec::new(),
                // An urgent rug should also be done sooner.
                haste: urgent * urgent,
                fixed: row.out.map(|frame| (frame, 1)).or(before.filter(|_| locked)),
                before: row.out.map(|frame| (frame, 1)).or(before),
                // What went with the frame is out, be it longer than needed or nothing; else as the frame needs.
                rods: row.out.map(|_| {
                    let loan = loans.iter().find(|loan| loan.rug_id == row.rug.id);
                    loan.and_then(|loan| kind_of(lengths, loan.rod_length_nm?)).into_iter().collect()
                }),
            });
        }
        for (at, frame) in self.frames.iter().enumerate() {
            let with_ours = self.rows.iter().any(|row| row.out == Some(at));
            if let (false, Some(_), Some(due)) = (with_ours, frame.loan_id, frame.due_on) {
                let closed = self.meetings.iter().zip(1..).filter(|(meeting, _)| meeting.on_day < due);
                problem.frames[at].closed = closed.map(|(_, number)| number).collect();
            }
        }
        problem
    }

    /// A frame as the problem has it: any rods that are long enough for it serve, the shortest before longer ones.
    fn empty_frame(&self, of: Opening) -> timetable::Frame {
        let long = |length: &Length| *length >= least_length(of.span);
        let first = self.rod_lengths.iter().position(long).unwrap_or(self.rod_lengths.len());
        timetable::Frame { closed: Vec::new(), rods: (first..self.rod_lengths.len()).collect() }
    }

    /// The problem with one more frame of a size, and with a pair of rods for it where `rods` says so.
    pub fn with_frame(&self, of: Opening, rods: bool) -> Problem {
        let mut problem = self.problem.clone();
        let frame = self.empty_frame(of);
        if let (true, Some(&kind)) = (rods, frame.rods.first()) {
            problem.rods[kind].iter_mut().for_each(|pairs| *pairs += 1);
        }
        problem.frames.push(frame);
        for (rug, row) in problem.rugs.iter_mut().zip(&self.rows) {
            if self.suits(of, &row.rug) {
                rug.fits.push(self.frames.len());
            }
        }
        problem
    }

    /// The problem with one more pair of rods of a kind.
    pub fn with_rods(&self, kind: usize) -> Problem {
        let mut problem = self.problem.clone();
        problem.rods[kind].iter_mut().for_each(|pairs| *pairs += 1);
        problem
    }

    /// The problem with one more meeting at the end.
    pub fn with_meeting(&self) -> Problem {
        let mut problem = self.problem.clone();
        problem.meetings += 1;
        for (rug, row) in problem.rugs.iter_mut().zip(&self.rows) {
            rug.latest += 1;
            if row.out.is_some() {
                rug.meetings = row.meetings.min(problem.meetings);
            }
        }
        problem
    }

    /// Pairs of straight rods by the longest length that each is enough for, meeting by meeting: what is out with rugs that
    /// aren't on this table is there again from the day that it is due. A longer rod that is left single makes a pair with
    /// a shorter one.
    fn pairs(&self, lengths: &[Length], rods: &[Rod], loans: &[Loan]) -> Vec<Vec<u32>> {
        let elsewhere = |loan: &&Loan| self.rows.iter().all(|row| row.rug.id != loan.rug_id);
        let loans: Vec<&Loan> = loans.iter().filter(elsewhere).collect();
        let singles = |kind: usize, meeting: &Meeting| -> i64 {
            let of_kind = |length: Length| kind_of(lengths, length) == Some(kind);
            let owned = rods.iter().filter(|rod| of_kind(rod.length_nm)).map(|rod| rod.owned - rod.bent);
            let away = loans
                .iter()
                .filter(|loan| meeting.on_day < loan.due_on && loan.rod_length_nm.is_some_and(of_kind));
            (owned.sum::<i64>() - away.map(|loan| loan.rods).sum::<i64>()).max(0)
        };
        let mut pairs = vec![Vec::new(); lengths.len()];
        for meeting in &self.meetings {
            let mut single = 0;
            for kind in (0..lengths.len()).rev() {
                let there = singles(kind, meeting) + single;
                single = there % 2;
                pairs[kind].push((there / 2) as u32);
            }
        }
        pairs
    }

    fn close(&mut self, frame: usize, taken: impl Fn(&Meeting) -> bool) {
        let closed = self.meetings.iter().zip(1..).filter(|(meeting, _)| taken(meeting));
        let mut closed: Vec<u32> = closed.map(|(_, number)| number).collect();
        let known = &mut self.problem.frames[frame].closed;
        closed.retain(|number| !known.contains(number));
        known.extend(closed);
        known.sort_unstable();
    }

    /// Whether a frame serves a rug; the frame that it is on does.
    fn serves(&self, frame: usize, rug: &Rug) -> bool {
        let f = &self.frames[frame].fields;
        rug.frame_tag.as_ref() == Some(&f.tag) || self.suits(opening(f), rug)
    }

    /// Whether a frame of a size serves a rug.
    fn suits(&self, frame: Opening, rug: &Rug) -> bool {
        match fit(frame, wanted(rug)) {
            Fit::AsPlanned => true,
            Fit::Larger => self.larger,
            Fit::Smaller => false,
        }
    }

    /// The lengths of rod that the frames ask for, the shortest first.
    fn rod_kinds(&self) -> Vec<Length> {
        let mut lengths: Vec<Length> =
            self.frames.iter().map(|frame| least_length(frame.fields.span_nm)).collect();
        lengths.extend(self.rows.iter().map(|row| least_length(row.rug.fields.span_nm)));
        lengths.sort_unstable();
        lengths.dedup();
        lengths
    }

    /// A place by the numbers of frame and first meeting; one that should have begun already begins at the next meeting.
    fn numbered(&self, place: &Place) -> Option<(usize, u32)> {
        let frame = self.frames.iter().position(|frame| frame.id == place.frame_id)?;
        Some((frame, number(&self.meetings, place.from_meeting).unwrap_or(1)))
    }

    /// A place found, as it is kept.
    pub fn kept_as(&self, row: usize, placed: Placed) -> Option<NewPlace> {
        let meeting = |number: u32| self.meetings.get(number as usize - 1).map(|meeting| meeting.id);
        let frame: FrameId = self.frames.get(placed.frame)?.id;
        Some(NewPlace {
            rug: self.rows[row].rug.id,
            frame,
            from: meeting(placed.from)?,
            to: meeting(placed.to)?,
        })
    }

    /// The frames' tags and the meetings' days, as a wall shows them.
    pub fn names(&self) -> (Vec<String>, Vec<String>) {
        let frames = self.frames.iter().map(|frame| frame.fields.tag.clone()).collect();
        let meetings = self.meetings.iter().map(|meeting| dates::short_day(meeting.on_day.0)).collect();
        (frames, meetings)
    }

    /// The sizes of frame that there are, and those that a rug was planned for, in words and in numbers.
    pub fn sizes(&self, units: Units) -> Vec<(String, Opening)> {
        let there = self.frames.iter().map(|frame| opening(&frame.fields));
        let planned = self.rows.iter().map(|row| wanted(&row.rug));
        let mut sizes: Vec<(String, Opening)> = Vec::new();
        for size in there.chain(planned) {
            let said = size_words(size.width, size.span, size.nails, units);
            if sizes.iter().all(|(known, _)| *known != said) {
                sizes.push((said, size));
            }
        }
        sizes
    }
}

/// The opening that a rug was planned for.
fn wanted(rug: &Rug) -> Opening {
    Opening { span: rug.fields.span_nm, width: rug.fields.width_nm, nails: rug.fields.nails }
}

fn opening(f: &FrameFields) -> Opening {
    Opening { span: f.span_nm, width: f.width_nm, nails: f.nails }
}

/// A meeting's number among those ahead, from 1; nothing of one that is over or called off.
pub fn number(meetings: &[Meeting], id: MeetingId) -> Option<u32> {
    meetings.iter().zip(1..).find(|(meeting, _)| meeting.id == id).map(|(_, number)| number)
}

/// The longest length that a rod is enough for, and with it for every shorter one.
fn kind_of(lengths: &[Length], rod: Length) -> Option<usize> {
    lengths.iter().rposition(|length| *length <= rod)
}

/// Time at the frame that is still to be spent: winding on, weaving, taking off. Strips are cut and joined before, and fringe
/// and backing come after, without the frame.
fn at_the_frame(known: &RugPlan, sure: bool) -> Minutes {
    let progress = &known.status.progress;
    let weaving = if sure { progress.weave_left.p90 } else { progress.weave_left.expected };
    let around = progress.steps_left(&known.plan);
    let around = around.iter().filter(|step| matches!(step.kind, StepKind::WindOn | StepKind::TakeOff));
    around.map(|step| step.minutes).sum::<Minutes>() + weaving
}

/// Meetings of the usual length that the work takes, with the hours at home between them.
fn meetings_for(work: Minutes, rug: &Rug, meetings: &[Meeting]) -> u32 {
    if meetings.is_empty() {
        return 1;
    }
    let usual = meetings.iter().map(|meeting| meeting.minutes).sum::<i64>() as f64 / meetings.len() as f64;
    let home = rug.fields.home_minutes.max(0) as f64;
    ((work.get() + home) / (usual + home)).ceil().max(1.0) as u32
}
