//! One row, crossing by crossing, as its weaver sees it: which strand is in front, which strands of the warp it takes, through which
//! loops it goes, what happens at the rod. The cells of the face are `pattern`'s; the drawing is in `drawing`.
use super::row_units::RowUnits;
use super::{Locking, Loop};
use crate::planning::frame::{Frame, FrameSizes};
use crate::planning::pattern::{AtRod, Band, ColourId, Face, Pattern, Twining, WovenFrom};
use crate::planning::reading::RowNumber;
use crate::planning::warp::nail_rows::NailRows;
use crate::planning::warp::winding::{Middle, Winding};
use crate::units::{Length, Units};
use std::fmt::Write;

/// Where the weaving of a rug, or of its second half, begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BeginAt {
    /// At the rod to the weaver's left.
    #[default]
    Left,
    /// At the rod to the weaver's right.
    Right,
}

/// One crossing: the two weft strands change, and pass the next unit of the warp.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Crossing {
    /// The unit, counted from 0 at the weaver's left.
    pub unit: u32,
    /// Its first and last strand, counted from 1 at the weaver's left.
    pub strands: [u32; 2],
    /// The weft strand, 0 or 1, that lies in front of it.
    pub front: usize,
    /// The colours of the strands, the one in front first.
    pub colours: [ColourId; 2],
    /// Whether the strand in front was in front of the unit before, too: then the two turn once more.
    pub turned_more: bool,
    /// The loops between whose legs the strands change before it, where the row is next to their nails.
    pub through: Vec<Loop>,
}

/// One row as it is woven.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each says one thing of the row, and none rules out another"
)]
pub struct RowSteps {
    /// Its number.
    pub number: RowNumber,
    /// Whether it is woven to the weaver's right.
    pub to_right: bool,
    /// Its crossings in the order they are made.
    pub crossings: Vec<Crossing>,
    /// Its units, from the weaver's left.
    pub units: Vec<[u32; 2]>,
    /// What the strands do at the rod after it, by what the next row shows; nothing after the last row, and before the frame is turned.
    pub then: Option<AtRod>,
    /// Whether the frame is turned for it: its left was the right before.
    pub turned: bool,
    /// The loops of the end that is near, by the strands to the left of the gap between their legs, counted from the weaver's left.
    pub nails: Vec<Loop>,
    /// Whether those nails lie beyond the row, not before it.
    pub nails_beyond: bool,
    /// Of these, the loops that the row should lock and leaves open: both legs lie in one unit, which is to be split there.
    pub open: Vec<Loop>,
    /// Strands of the whole warp.
    pub strands: u32,
    /// Whether it takes the strands otherwise than the row before.
    pub shifted: bool,
    /// The colours of the row before, where it was woven in others.
    pub before: Option<[ColourId; 2]>,
    /// Its own colours.
    pub colours: [ColourId; 2],
}

/// So many rows from an end its nails are still seen.
const NEAR: u32 = 3;

/// A row of a rug, counted from 0 as it is woven; nothing beyond the last.
///
/// Each crossing changes the two strands, so that the strand in front alternates from the first unit on; which one begins is the
/// pattern's, and by a chart which one is in front of each unit. Begun at the other rod, a row is woven the other way and shows the same.
pub fn row(pattern: &Pattern, locking: &Locking, woven: u32, begin: BeginAt) -> Option<RowSteps> {
    let seen = Seen::of(pattern, woven)?;
    let own = pattern.row_units(seen.row);
    let count = own.units();
    let to_right = (seen.within % 2 == 0) == (begin == BeginAt::Left);
    let (loops, nails_beyond) = seen.loops(pattern, locking);
    let locks = (seen.within == 0 && !nails_beyond) || (nails_beyond && woven + 1 == pattern.rows());
    let band = pattern.bands.iter().find(|band| (band.from_row..band.to_row).contains(&seen.row))?;
    let units: Vec<[u32; 2]> = (0..count).map(|unit| seen.strands(own, unit)).collect();
    let order: Vec<u32> = if to_right { (0..count).collect() } else { (0..count).rev().collect() };
    let fronts: Vec<usize> = order.iter().map(|&unit| seen.front(pattern, unit)).collect();
    let crossing = |(i, &unit): (usize, &u32)| {
        let front = fronts[i];
        let turned_more = i > 0 && fronts[i - 1] == front;
        let [first, last] = units[unit as usize];
        // Strands to the left of where the two change before this unit.
        let change = if to_right { first - 1 } else { last };
        let through =
            loops.iter().filter(|held| locks && i > 0 && held.after == change).copied().collect::<Vec<_>>();
        let colours = [front, 1 - front].map(|strand| band.colours[strand]);
        Crossing { unit, strands: [first, last], front, colours, turned_more, through }
    };
    let crossings: Vec<Crossing> = order.iter().enumerate().map(crossing).collect();
    let gone_through = |held: &&Loop| crossings.iter().any(|crossing| crossing.through.contains(held));
    let open = loops.iter().filter(|held| locks && !gone_through(held)).copied().collect();
    let then = Seen::of(pattern, woven + 1).filter(|next| next.turned == seen.turned).map(|next| {
        let at = if to_right { pattern.row_units(next.row).units().saturating_sub(1) } else { 0 };
        let same = crossings.last().is_some_and(|last| last.front == next.front(pattern, at));
        if same { AtRod::Keep } else { AtRod::Trade }
    });
    let before = woven.checked_sub(1).and_then(|woven| Seen::of(pattern, woven));
    let colours_of =
        |row: u32| pattern.bands.iter().find(|b| (b.from_row..b.to_row).contains(&row)).map(|b| b.colours);
    Some(RowSteps {
        number: RowNumber::after(pattern, woven + 1),
        to_right,
        crossings,
        units,
        then,
        turned: seen.turned,
        open,
        nails: loops,
        nails_beyond,
        strands: own.strands,
        shifted: before.as_ref().is_some_and(|before| pattern.row_units(before.row) != own),
        before: before.and_then(|before| colours_of(before.row)).filter(|colours| *colours != band.colours),
        colours: band.colours,
    })
}

/// A row as it lies before its weaver.
struct Seen {
    /// Counted from 0 at the start of the rug.
    row: u32,
    /// Counted from 0 at the end it is woven from.
    within: u32,
    turned: bool,
    strands: u32,
}

impl Seen {
    fn of(pattern: &Pattern, woven: u32) -> Option<Self> {
        let (rows, half) = (pattern.rows(), pattern.first_half());
        let strands = pattern.near.strands;
        let turned = woven >= half;
        let (row, within) =
            if turned { (rows.checked_sub(woven - half + 1)?, woven - half) } else { (woven, woven) };
        (woven < rows).then_some(Self { row, within, turned, strands })
    }

    /// A unit's strands by the weaver's counting.
    fn strands(&self, own: RowUnits, unit: u32) -> [u32; 2] {
        if self.turned {
            let strands = own.strands_of(own.units() - 1 - unit);
            [self.strands - strands.end + 1, self.strands - strands.start]
        } else {
            let strands = own.strands_of(unit);
            [strands.start + 1, strands.end]
        }
    }

    fn front(&self, pattern: &Pattern, unit: u32) -> usize {
        let last = pattern.row_units(self.row).units().saturating_sub(1);
        pattern.strand(self.row, if self.turned { last - unit } else { unit }, Face::Front)
    }

    /// The loops of the end that is near, from the weaver's left, and whether they lie beyond the row.
    fn loops(&self, pattern: &Pattern, locking: &Locking) -> (Vec<Loop>, bool) {
        let left = pattern.rows() - self.row - 1;
        if self.turned {
            let turned = |held: &Loop| Loop { nail: held.nail, after: self.strands - held.after };
            let loops = locking.far.loops.iter().rev().map(turned).collect();
            return (if self.within < NEAR { loops } else { Vec::new() }, false);
        }
        if self.within < NEAR {
            return (locking.near.loops.clone(), false);
        }
        let far = pattern.from == WovenFrom::OneEnd && left < NEAR;
        (if far { locking.far.loops.clone() } else { Vec::new() }, far)
    }
}

impl Crossing {
    /// Its strands in words: `strands 7 and 8`, `strand 1`, `strands 3 to 5`.
    pub fn taken(&self) -> String {
        match self.strands {
            [first, last] if first == last => format!("strand {first}"),
            [first, last] if first + 1 == last => format!("strands {first} and {last}"),
            [first, last] => format!("strands {first} to {last}"),
        }
    }

    /// What is done, in words, with the names of the two weft strands' colours, the first strand's first.
    pub fn text(&self, names: [&str; 2], first: bool) -> String {
        let (taken, them) = (self.taken(), if self.strands[0] == self.strands[1] { "it" } else { "them" });
        let [front, back] = if names[0] == names[1] {
            let strand = |which: usize| if which == 0 { "the first strand" } else { "the other strand" };
            [strand(self.front).to_owned(), strand(1 - self.front).to_owned()]
        } else {
            [names[self.front].to_owned(), names[1 - self.front].to_owned()]
        };
        let mut text = if first {
            format!("{front} goes in front of {taken}, {back} behind {them}.")
        } else if self.turned_more {
            format!("turn the two once more: {front} stays in front, over {taken}, and {back} behind {them}.")
        } else {
            format!("{back} goes down behind {taken}, {front} comes up in front of {them}.")
        };
        if let Some(held) = self.through.first() {
            // Writing to a string can't fail.
            let row = if held.nail.far { "far" } else { "near" };
            let _ = write!(
                text,
                " Between strands {} and {} lies {row} nail {}: this crossing goes through its loop.",
                held.after,
                held.after + 1,
                held.nail.number
            );
        }
        let mut letters = text.chars();
        letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
    }
}

/// Where a weaver is who sees this in her last crossing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LastCrossing {
    /// The colour in front.
    pub colour: ColourId,
    /// Of the unit, counted from 1 at her left.
    pub unit: u32,
    /// Whether she weaves to her right.
    pub to_right: bool,
}

/// The row, counted from 0 as it is woven, and the crossings made in it, where the last crossing looks like that: of all rows the
/// one that is least away from the row that she is thought to be in, and within ten rows of it.
pub fn place(
    pattern: &Pattern,
    locking: &Locking,
    thought: u32,
    begin: BeginAt,
    last: LastCrossing,
) -> Option<(u32, u32)> {
    let rows = thought.saturating_sub(10)..(thought + 11).min(pattern.rows());
    let mut near: Vec<u32> = rows.collect();
    near.sort_by_key(|row| (row.abs_diff(thought), *row));
    near.into_iter().find_map(|woven| {
        let steps = row(pattern, locking, woven, begin)?;
        let fits = |crossing: &Crossing| crossing.unit + 1 == last.unit && crossing.colours[0] == last.colour;
        let at = steps.crossings.iter().position(fits)?;
        (steps.to_right == last.to_right).then_some((woven, at as u32 + 1))
    })
}

/// Eight rows in two colours on a plain winding of so many nails an end, to try the crossings on without a planned rug; nothing for
/// nails that no frame has.
pub fn small_piece(nails: u32, unit_size: u32, at_rod: AtRod) -> Option<(Pattern, Locking)> {
    let width = Length::inches(f64::from(nails.max(2) - 1).max(4.0));
    let sizes = FrameSizes { span: Length::inches(20.0), width, nails, pitch: None, nail_diameter: None };
    let frame = Frame::new(sizes, Units::Inches).ok()?;
    let places = NailRows::Facing.places(&frame, Units::Inches).ok()?;
    let locking = Locking::of(&Winding::default().path(&places, &Middle::Whole).ok()?, unit_size);
    let (near, far) = (locking.near.row(), locking.far.row());
    let twining =
        Twining { strip: Length::inches(1.5), units: near.units(), at_rod, from: WovenFrom::OneEnd };
    let pattern = Pattern::new(&[Band::plain(Length::inches(2.0), [0, 1])], 4.0, twining).over(near, far);
    Some((pattern, locking))
}
