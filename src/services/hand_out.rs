//! Handing out: what lies on the desk when a frame or a rug is settled, the likeliest of it, and what stands in the way.
use jiff::{ToSpan as _, civil::Date};

use crate::optimize::fit::{Fit, Opening, fit};
use crate::planning::rods::least_length;
use crate::services::turns::{of_rug, order_on, turns};
use crate::services::{Error, Result};
use crate::store::frames::{Frame, FrameFields};
use crate::store::loans::{HandOut, Refused, RugInLine};
use crate::store::rods::Rod;
use crate::store::timetable::Place;
use crate::store::{FrameId, LoanId, Read, RodId, RugId, Write};
use crate::units::Length;

/// The rods of a frame in use: one down each side.
pub const RODS: i64 = 2;

/// What is settled before anything is chosen.
#[derive(Clone, Copy)]
pub enum HandOutStart {
    Frame(FrameId),
    Rug(RugId),
}

/// What lies on the desk when something is handed out: frames and rugs, the settled one alone, and the rods.
pub struct HandOutData {
    pub start: HandOutStart,
    /// The best first.
    pub frames: Vec<Frame>,
    /// The best first.
    pub rugs: Vec<RugInLine>,
    /// The shortest first.
    pub rods: Vec<Rod>,
    /// The turns of the timetables that hold.
    pub turns: Vec<Place>,
}

/// What is handed out if nobody chooses otherwise.
pub struct Likeliest {
    pub frame: Option<FrameId>,
    pub rug: Option<RugId>,
    /// `None` where no rods that are long enough are in.
    pub rod: Option<RodId>,
    pub due_on: Date,
}

/// What stands in the way of a hand-out.
pub enum InTheWay {
    /// The frame, the rug or the rods can't go.
    Refused(Refused),
    /// Others wait for the frame: whose turns it would break, in the order of their days.
    Turns(Vec<Place>),
}

/// How well a frame serves a rug.
pub fn fit_of(frame: &FrameFields, rug: &RugInLine) -> Fit {
    let has = Opening { span: frame.span_nm, width: frame.width_nm, nails: frame.nails };
    fit(has, Opening { span: rug.span_nm, width: rug.width_nm, nails: rug.nails })
}

impl HandOutData {
    /// Loads what lies there. A rug that was `chosen` stays on the desk, whatever became of it.
    pub async fn load(read: &mut Read, start: HandOutStart, chosen: Option<RugId>) -> Result<Self> {
        let turns = turns(read).await?;
        let (mut frames, mut rugs) = match start {
            HandOutStart::Frame(id) => {
                let frame = read.frame(id).await?.ok_or(Error::NotFound("frame"))?;
                let mut rugs = read.rugs_in_line().await?;
                // A rug that got a frame since it was chosen is no longer in line; it stays chosen, and is told why not.
                match chosen {
                    Some(id) if !rugs.iter().any(|rug| rug.rug_id == id) => {
                        rugs.extend(read.rug_in_line(id).await?);
                    }
                    _ => {}
                }
                (vec![frame], rugs)
            }
            HandOutStart::Rug(id) => (
                read.frames().await?.into_iter().filter(Frame::usable).collect(),
                vec![read.rug_in_line(id).await?.ok_or(Error::NotFound("rug"))?],
            ),
        };
        // Whose turn it is by the timetable comes first. Then the best: of rugs that fit alike the one that waits longest, of
        // frames the sound and then the nearest in size.
        match start {
            HandOutStart::Frame(id) => {
                rugs.sort_by_key(|rug| (order_on(&turns, id, rug.rug_id), fit_of(&frames[0].fields, rug)));
            }
            HandOutStart::Rug(id) => frames.sort_by_key(|frame| {
                let (f, rug) = (&frame.fields, &rugs[0]);
                let apart = (f.span_nm - rug.span_nm).abs() + (f.width_nm - rug.width_nm).abs();
                let fit = fit_of(f, rug);
                // Half an inch more or less is no reason to prefer one frame of the planned size.
                let apart = if fit == Fit::AsPlanned { Length::ZERO } else { apart };
                (order_on(&turns, frame.id, id), fit, f.condition, apart)
            }),
        }
        Ok(Self { start, frames, rugs, rods: read.rods().await?, turns })
    }

    /// The likeliest hand-out: on the frame that is `wanted`, if it is in and the rug is what is settled.
    pub fn likeliest(&self, today: Date, wanted: Option<FrameId>) -> Likeliest {
        let frame = match self.start {
            HandOutStart::Frame(_) => self.frames.first(),
            HandOutStart::Rug(_) => {
                let mut inside = self.frames_inside();
                let wanted = inside.clone().find(|frame| Some(frame.id) == wanted);
                wanted.or_else(|| inside.next())
            }
        };
        let rug = self.rugs.first();
        let rod = frame.and_then(|frame| self.shortest(frame.fields.span_nm));
        let turn = rug.and_then(|rug| of_rug(&self.turns, rug.rug_id)).map(|turn| turn.to_day.0);
        let last = turn.or_else(|| rug.and_then(|rug| rug.last_meeting).map(|day| day.0));
        let last = last.filter(|day| *day >= today);
        Likeliest {
            frame: frame.map(|frame| frame.id),
            rug: rug.map(|rug| rug.rug_id),
            rod: rod.map(|rod| rod.id),
            due_on: last.unwrap_or_else(|| today.saturating_add(3.weeks())),
        }
    }

    /// The frames that aren't out, the best first.
    pub fn frames_inside(&self) -> impl Iterator<Item = &Frame> + Clone {
        self.frames.iter().filter(|frame| frame.loan_id.is_none())
    }

    /// The frames that would do for a rug and are out, what comes back soonest first; five are enough to know whom to ask.
    pub fn frames_away(&self, rug: &RugInLine) -> Vec<&Frame> {
        let would_do = |frame: &&Frame| frame.loan_id.is_some() && fit_of(&frame.fields, rug) != Fit::Smaller;
        let mut out: Vec<_> = self.frames.iter().filter(would_do).collect();
        out.sort_by_key(|frame| frame.due_on);
        out.truncate(5);
        out
    }

    /// The sizes of rod that there are and that one of the frames can take.
    pub fn rods_to_choose(&self) -> impl Iterator<Item = &Rod> {
        let serves = |rod: &Rod| self.frames.iter().any(|frame| too_short(rod, frame).is_none());
        self.rods.iter().filter(move |rod| rod.owned > 0 && serves(rod))
    }

    /// The shortest rods that are long enough and in.
    fn shortest(&self, span: Length) -> Option<&Rod> {
        self.rods.iter().find(|rod| rod.length_nm >= least_length(span) && rod.inside() >= RODS)
    }

    /// Whose turns a hand-out would break, in the order of their days.
    pub fn broken_by(&self, what: &HandOut) -> Vec<&Place> {
        self.turns.iter().filter(|place| place.is_broken_by(what)).collect()
    }

    /// Why what is settled can't be handed out at all just now.
    pub fn in_the_way(&self) -> Option<Refused> {
        match self.start {
            HandOutStart::Frame(_) => {
                let frame = &self.frames[0];
                match (&frame.weaver, frame.due_on) {
                    (Some(weaver), Some(due_on)) => {
                        Some(Refused::FrameOut { weaver: weaver.clone(), due_on })
                    }
                    _ => (!frame.usable()).then_some(Refused::FrameUnfit),
                }
            }
            HandOutStart::Rug(_) => {
                let rug = &self.rugs[0];
                let open = rug.state.is_open();
                let on_frame = rug.frame_tag.is_some().then_some(Refused::RugOnFrame);
                on_frame.or((!open).then_some(Refused::RugClosed))
            }
        }
    }
}

/// The least length of rod for a frame, where this rod is shorter.
pub fn too_short(rod: &Rod, frame: &Frame) -> Option<Length> {
    let least = least_length(frame.fields.span_nm);
    (rod.length_nm < least).then_some(least)
}

/// Hands out, unless something is in the way; turns that it breaks are, if it isn't `against` them on purpose. Then the change
/// is to be given up: half of it was written.
pub async fn hand_out(
    tx: &mut Write,
    id: LoanId,
    what: &HandOut,
    against: bool,
) -> Result<Result<(), InTheWay>> {
    match tx.hand_out(id, what).await {
        Ok(()) => {}
        Err(Refused::Store(error)) => return Err(error.into()),
        Err(refused) => return Ok(Err(InTheWay::Refused(refused))),
    }
    if against {
        return Ok(Ok(()));
    }
    // The frame is locked by now, so that no timetable is accepted in between: a turn that was given just before is in the way
    // as one that was there long since.
    let mut broken = turns(tx).await?;
    broken.retain(|place| place.is_broken_by(what));
    Ok(if broken.is_empty() { Ok(()) } else { Err(InTheWay::Turns(broken)) })
}
