//! A rug's steps placed into meetings and the hours at home between them. Dates are the caller's: a slot knows only
//! its minutes.
use super::steps::{Step, StepKind};
use crate::units::Minutes;
use serde::Serialize;

/// A stretch of time in which a weaver can work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Slot {
    /// The meeting, counted from 0; hours at home belong to the meeting that they follow.
    pub meeting: usize,
    /// Whether the hours are at home, after the meeting.
    pub home: bool,
    /// How long it is.
    pub minutes: Minutes,
}

/// The slots of a course: each meeting, and where home hours are allowed, so many after each but the last.
pub fn slots(meetings: &[Minutes], home_hours: Option<Minutes>) -> Vec<Slot> {
    let mut slots = Vec::new();
    for (meeting, &minutes) in meetings.iter().enumerate() {
        slots.push(Slot { meeting, home: false, minutes });
        if let Some(minutes) = home_hours.filter(|_| meeting + 1 < meetings.len()) {
            slots.push(Slot { meeting, home: true, minutes });
        }
    }
    slots
}

/// One step in its place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Placed {
    /// Which step, by its place in the plan.
    pub step: usize,
    /// The slot in which it begins, by its place among the slots; nothing when no time is left.
    pub begins: Option<usize>,
    /// The slot in which it ends; nothing when it can't be ended in time.
    pub ends: Option<usize>,
}

/// A rug's way through the slots.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Schedule {
    /// Every step, in order.
    pub steps: Vec<Placed>,
    /// Rows woven by the end of each slot.
    pub rows_by_slot: Vec<u32>,
    /// Time that the slots lack; nothing when all is done.
    pub lacking: Minutes,
}

/// A sliver of a slot that is too short to begin something in.
const SLIVER: f64 = 1e-6;

/// The steps one after the other through the slots, each going on in the next slot where one ends.
///
/// # Examples
/// ```
/// use thrumhall::planning::schedule::{place, slots};
/// use thrumhall::planning::{Plan, RugSpec};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Minutes, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// // A small rug takes four evenings of two hours, and two aren't enough.
/// let plan = Plan::of(&RugSpec::plain(frame), Units::Inches)?;
/// let done = place(&plan.steps, &slots(&[Minutes::new(120.0); 6], None));
/// assert_eq!(done.steps.last().and_then(|step| step.ends), Some(3));
/// let short = place(&plan.steps, &slots(&[Minutes::new(120.0); 2], None));
/// assert!(short.lacking > Minutes::ZERO);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn place(steps: &[Step], slots: &[Slot]) -> Schedule {
    let mut slot = 0;
    let mut left = slots.first().map_or(0.0, |s| s.minutes.get());
    let mut rows_by_slot = vec![0; slots.len()];
    let (mut placed, mut lacking) = (Vec::with_capacity(steps.len()), 0.0);
    for (step, Step { kind, minutes, .. }) in steps.iter().enumerate() {
        let whole = minutes.get().max(0.0);
        let mut todo = whole;
        let mut begins = None;
        let mut ends = None;
        loop {
            while left <= SLIVER && slot + 1 < slots.len() {
                slot += 1;
                left = slots[slot].minutes.get();
            }
            if left <= SLIVER && todo > SLIVER || slots.is_empty() {
                lacking += todo;
                break;
            }
            begins = begins.or(Some(slot));
            let worked = todo.min(left);
            left -= worked;
            todo -= worked;
            if let StepKind::Weave { from_row, to_row, .. } = *kind {
                let share = if todo > SLIVER { 1.0 - todo / whole } else { 1.0 };
                rows_by_slot[slot] = from_row + (f64::from(to_row - from_row) * share) as u32;
            }
            if todo <= SLIVER {
                ends = Some(slot);
                break;
            }
        }
        placed.push(Placed { step, begins, ends });
    }
    // A slot without weaving keeps the rows of the one before.
    for i in 1..rows_by_slot.len() {
        rows_by_slot[i] = rows_by_slot[i].max(rows_by_slot[i - 1]);
    }
    Schedule { steps: placed, rows_by_slot, lacking: Minutes::new(lacking) }
}
