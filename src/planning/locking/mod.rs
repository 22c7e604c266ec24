//! Which rows hold the loops at the nails. A row locks a loop where it passes between the loop's two legs; a row that takes both
//! legs together holds nothing there, and off the nails the weaving slides away. Which nails a strip takes is for `warp`; where a
//! row's colours show, for `pattern`.
pub mod row_units;
pub mod stepping;

use super::pattern::WovenFrom;
use super::warp::path::WarpPath;
use super::warp::winding::Nail;
use row_units::RowUnits;
use serde::Serialize;

/// A nail's loop, and where its legs part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Loop {
    /// The nail it hangs on.
    pub nail: Nail,
    /// Strands to the left of the gap between its legs. Of a doubled warp each leg is two strands, and they part in their middle:
    /// the inner of the two loops is open whenever the weft doesn't pass there.
    pub after: u32,
}

/// The loops of one end, from the left. A tied end has one leg and is no loop: its knot holds it.
pub fn loops(path: &WarpPath, far: bool) -> Vec<Loop> {
    let each = if path.doubled { 2 } else { 1 };
    let inner = path.turns.len().saturating_sub(1).max(1);
    let turns = path.turns[..inner.min(path.turns.len())].iter().enumerate().skip(1);
    turns
        .filter(|(_, turn)| turn.nail.far == far)
        .map(|(i, turn)| Loop { nail: turn.nail, after: i as u32 * each })
        .collect()
}

/// What a shift does at one end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shifted {
    /// The row.
    pub row: RowUnits,
    /// Loops that it leaves open.
    pub open: Vec<Loop>,
}

/// How one end is locked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EndLocking {
    /// Its loops, from the left.
    pub loops: Vec<Loop>,
    /// Every shift, from none.
    pub shifts: Vec<Shifted>,
    /// The one to take: it leaves the fewest loops open, and is the smallest of those.
    best: usize,
}

impl EndLocking {
    /// The locking of one end of a warp by rows whose whole units have so many strands.
    pub fn of(path: &WarpPath, size: u32, far: bool) -> Self {
        let loops = loops(path, far);
        let shifted = |shift| {
            let row = RowUnits { strands: path.strands(), size, shift };
            Shifted { row, open: loops.iter().filter(|held| !row.parts_after(held.after)).copied().collect() }
        };
        let shifts: Vec<Shifted> = (0..size.max(1)).map(shifted).collect();
        let best = (0..shifts.len()).min_by_key(|&i| shifts[i].open.len()).unwrap_or(0);
        Self { loops, shifts, best }
    }

    /// The row that locks the end, or comes nearest to it.
    pub fn row(&self) -> RowUnits {
        self.shifts[self.best].row
    }

    /// The loops that not even this row holds: in each the unit must be split, for one crossing more.
    pub fn open(&self) -> &[Loop] {
        &self.shifts[self.best].open
    }

    /// What holds the loops that the row leaves open, in words; nothing where it leaves none. Names at most `most` of them.
    pub fn remedy(&self, most: usize) -> Option<String> {
        let open = self.open();
        let named =
            |held: &Loop| format!("{} (strands {} and {})", held.nail.number, held.after, held.after + 1);
        let first = open.first()?;
        let listed = open.iter().take(most).map(named).collect::<Vec<_>>().join(", ");
        let more = match open.len().saturating_sub(most) {
            0 => String::new(),
            more => format!(" and at {more} more"),
        };
        let (row, nails) =
            (if first.nail.far { "far" } else { "near" }, if open.len() == 1 { "nail" } else { "nails" });
        Some(format!(
            "At {row} {nails} {listed}{more} a unit holds both legs of the loop: split it there, one crossing more each time, or \
             the loop slides out."
        ))
    }
}

/// How both ends of a warp are locked.
///
/// # Examples
/// ```
/// use thrumhall::planning::{Plan, RugSpec};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// // The small frame: pairs lock the near end, and the far end only when taken a strand aside.
/// let locking = Plan::of(&RugSpec::plain(frame), Units::Inches)?.warp.locking;
/// assert_eq!((locking.near.row().shift, locking.far.row().shift), (0, 1));
/// assert!(locking.near.open().is_empty() && locking.far.open().is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Locking {
    /// At the end where the weaving begins.
    pub near: EndLocking,
    /// At the other end.
    pub far: EndLocking,
}

impl Locking {
    /// The locking of a warp by rows whose whole units have so many strands.
    pub fn of(path: &WarpPath, size: u32) -> Self {
        let [near, far] = [false, true].map(|far| EndLocking::of(path, size, far));
        Self { near, far }
    }

    /// Of so many rows, those that are woven as the far end's row: the last, or the half that is woven from that end, of whole rows
    /// the smaller half. The others are woven as the near end's.
    pub(crate) fn far_rows(from: WovenFrom, rows: f64, whole: bool) -> f64 {
        match from {
            WovenFrom::OneEnd => (rows - 1.0).clamp(0.0, 1.0),
            _ if whole => (rows / 2.0).floor(),
            _ => rows / 2.0,
        }
    }

    /// Crossings more, where units are split at the loops that the rows next to the nails leave open: one for each, in the first of so many
    /// rows and in the first of those that are woven as the far end's.
    pub(crate) fn splits(&self, rows: f64, far_rows: f64) -> f64 {
        let once = |end: &EndLocking, rows: f64| end.open().len() as f64 * rows.clamp(0.0, 1.0);
        once(&self.near, rows - far_rows) + once(&self.far, far_rows)
    }

    /// What the row at an end does, in words, with what to do where it leaves loops open.
    pub fn text(&self, far: bool, from: WovenFrom) -> String {
        let end = if far { &self.far } else { &self.near };
        let turned = far && from != WovenFrom::OneEnd;
        let (row, says) = (end.row(), if far { "far" } else { "near" });
        let place = match (far, turned) {
            (false, _) => "First row, from the left",
            (true, false) => "Last row, from the left",
            (true, true) => "First row from the far end, the frame turned, from the left",
        };
        let crossings = row.units();
        let held = match end.remedy(usize::MAX) {
            None => format!("It passes through the loop of each {says} nail."),
            Some(remedy) => format!("{} of {} loops stay open. {remedy}", end.open().len(), end.loops.len()),
        };
        format!("{place}: {}; {crossings} crossings. {held}", row.text(turned))
    }

    /// Where the rows' units change, in words; nothing where both ends are locked by the same.
    pub fn change(&self, from: WovenFrom) -> Option<String> {
        let (near, far) = (self.near.row(), self.far.row());
        if near == far {
            return None;
        }
        let aside = near.shift.abs_diff(far.shift);
        let strands = if aside == 1 { "one strand".to_owned() } else { format!("{aside} strands") };
        Some(if from == WovenFrom::OneEnd {
            format!("That is {strands} aside of all other rows, and so lie its colours.")
        } else {
            format!(
                "That is {strands} aside of the rows from the start: where the halves meet, the figure steps sideways."
            )
        })
    }
}
