//! A stretch of a rug as it is seen from the front while it is woven: strands of the warp, round their nails where these are near, rows of
//! weft over and under them, the rod and how the strands go round it.
use super::{Drawings, arc, curve};
use crate::drawing::figure::{Figure, Part, Shape};
use crate::planning::colour::Hex;
use crate::planning::locking::Loop;
use crate::planning::locking::stepping::{Crossing, RowSteps};
use crate::planning::pattern::AtRod;

/// How the warp looks in a drawing.
pub(super) const WARP: Hex = Hex::rgb(0xf1_ebdf);
const ROD: Hex = Hex::rgb(0x77_736b);
/// A strand's width in pitches.
const STRAND: f64 = 0.46;

/// Where it lies in its drawing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stretch {
    /// The first and the last strand that is shown, counted from 1 at the weaver's left.
    pub(super) shown: [u32; 2],
    /// The left edge of the first.
    pub(super) left: f64,
    /// From strand to strand.
    pub(super) pitch: f64,
    /// Down to the lowest row's middle, and from row to row.
    pub(super) base: f64,
    pub(super) step: f64,
    /// How far a weft strand rises and falls at a unit, and how wide it is.
    pub(super) lean: f64,
    pub(super) weft: f64,
}

/// How the warp ends in a drawing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Warp<'a> {
    /// From here to there, down the drawing; at nails to their middles.
    pub(super) from: f64,
    pub(super) to: f64,
    /// Loops at the near nails, or at those beyond the row.
    pub(super) loops: &'a [Loop],
    pub(super) beyond: bool,
    /// How far the loops are off the nails.
    pub(super) lifted: f64,
    /// Whether each leg is two strands.
    pub(super) doubled: bool,
}

/// How far loops reach beyond the middles of their nails.
pub(super) fn reach(pitch: f64, doubled: bool) -> f64 {
    pitch * (if doubled { 1.5 } else { 0.5 } + STRAND / 2.0) + 0.3
}

/// The strands of the units at one side of a row, no more than so many: the first and the last, counted from the left.
pub(super) fn at_side(steps: &RowSteps, right: bool, most: u32) -> [u32; 2] {
    let mut units = steps.units.clone();
    if right {
        units.reverse();
    }
    let mut shown = units.first().copied().unwrap_or([1, 1]);
    for [first, last] in units {
        let wider = [shown[0].min(first), shown[1].max(last)];
        if wider[1] - wider[0] < most {
            shown = wider;
        }
    }
    shown
}

impl Stretch {
    /// Where so many strands from the left end.
    pub(super) fn after(&self, strands: u32) -> f64 {
        self.left + (f64::from(strands) - f64::from(self.shown[0] - 1)) * self.pitch
    }

    /// The middle of a strand.
    pub(super) fn strand(&self, strand: u32) -> f64 {
        self.after(strand) - self.pitch / 2.0
    }

    /// How wide all of it is.
    pub(super) fn right(&self) -> f64 {
        self.after(self.shown[1])
    }

    /// The middle of a row, counted from 0 at the lowest.
    pub(super) fn row(&self, place: u32) -> f64 {
        self.base - self.step * f64::from(place)
    }

    pub(super) fn shows(&self, [first, last]: [u32; 2]) -> bool {
        first >= self.shown[0] && last <= self.shown[1]
    }

    /// Loops of which both legs are shown.
    pub(super) fn loops<'a>(&self, loops: &'a [Loop]) -> impl Iterator<Item = &'a Loop> {
        let [first, last] = self.shown;
        loops.iter().filter(move |held| held.after >= first && held.after < last)
    }

    /// Warp and rows, the lowest first, each with its number as it is woven, counted from 0; what lies behind the warp is drawn before it.
    pub(super) fn draw(
        &self,
        of: &Drawings<'_>,
        rows: &[(u32, RowSteps)],
        warp: Warp<'_>,
        into: &mut Figure,
    ) {
        for front in [false, true] {
            for (place, (woven, steps)) in (0..).zip(rows) {
                for crossing in steps.crossings.iter().filter(|crossing| self.shows(crossing.strands)) {
                    into.shapes.push(self.weft(of, (place, *woven), steps, crossing, front));
                    if front && crossing.turned_more {
                        into.shapes.push(self.turn_more(of, (place, *woven), steps, crossing));
                    }
                }
            }
            if !front {
                self.warp(warp, into);
            }
        }
    }

    /// A weft strand at a unit: in front it falls as it goes on, behind it rises, so that it crosses the other between the units.
    fn weft(
        &self,
        of: &Drawings<'_>,
        (place, woven): (u32, u32),
        steps: &RowSteps,
        crossing: &Crossing,
        front: bool,
    ) -> Shape {
        let y = self.row(place);
        let [left, right] = [self.after(crossing.strands[0] - 1), self.after(crossing.strands[1])];
        let [enters, leaves] = if steps.to_right { [left, right] } else { [right, left] };
        let lean = if front { self.lean } else { -self.lean };
        let bend = (leaves - enters) * 0.4;
        let ends =
            [[enters, y - lean], [enters + bend, y - lean], [leaves - bend, y + lean], [leaves, y + lean]];
        let strand = if front { crossing.front } else { 1 - crossing.front };
        Shape::Strip {
            part: Part::Weft(woven, crossing.unit, strand, front),
            way: curve(ends, 0.0, 1.0),
            wide: self.weft,
            hex: of.hex(steps.colours[strand]),
            second: strand == 1,
        }
    }

    /// The strand that goes down in front before a unit, where the two turn once more and the same one stays in front.
    fn turn_more(
        &self,
        of: &Drawings<'_>,
        (place, woven): (u32, u32),
        steps: &RowSteps,
        crossing: &Crossing,
    ) -> Shape {
        let y = self.row(place);
        let x = if steps.to_right {
            self.after(crossing.strands[0] - 1)
        } else {
            self.after(crossing.strands[1])
        };
        let aside = if steps.to_right { self.pitch * 0.12 } else { self.pitch * -0.12 };
        let strand = 1 - crossing.front;
        Shape::Strip {
            part: Part::More(woven, crossing.unit, strand),
            way: vec![[x - aside, y - self.lean], [x + aside, y + self.lean]],
            wide: self.weft,
            hex: of.hex(steps.colours[strand]),
            second: strand == 1,
        }
    }

    fn warp(&self, warp: Warp<'_>, into: &mut Figure) {
        let wide = self.pitch * STRAND;
        let strip = |part, way| Shape::Strip { part, way, wide, hex: WARP, second: false };
        // Of a doubled warp the outer loop lies round the inner one.
        let around: &[u32] = if warp.doubled { &[1, 0] } else { &[0] };
        let after = warp.loops.iter().map(|held| held.after);
        let legs = after
            .flat_map(|after| around.iter().map(move |out| [after.saturating_sub(*out), after + 1 + out]));
        let looped: Vec<[u32; 2]> = legs.filter(|legs| self.shows(*legs)).collect();
        let (end, other) = if warp.beyond { (warp.from, warp.to) } else { (warp.to, warp.from) };
        let end = if warp.beyond { end + warp.lifted } else { end - warp.lifted };
        for strand in self.shown[0]..=self.shown[1] {
            let x = self.strand(strand);
            match looped.iter().find(|legs| legs.contains(&strand)) {
                None => into.shapes.push(strip(Part::Warp(strand), vec![[x, other], [x, end]])),
                Some([left, right]) if *left == strand => {
                    let (a, b) = (x, self.strand(*right));
                    let mut way = vec![[a, other]];
                    let round = if warp.beyond { (0.5, 1.0) } else { (0.5, 0.0) };
                    way.extend(arc([f64::midpoint(a, b), end], (b - a) / 2.0, round.0, round.1));
                    way.push([b, other]);
                    into.shapes.push(strip(Part::Warp(strand), way));
                }
                Some(_) => {}
            }
        }
        for held in self.loops(warp.loops) {
            let y = if warp.beyond { warp.from } else { warp.to };
            let radius = (self.pitch * (1.0 - STRAND) / 2.0 * 0.7).min(1.2);
            into.shapes.push(Shape::Disc {
                part: Part::Nail(held.nail.number),
                at: [self.after(held.after), y],
                radius,
            });
        }
    }

    /// The rod beside the warp, at the weaver's right or left, and both strands round it from a row to the next one above: out in front of
    /// it and back behind it, or the other way round. Traded, the strand that was behind begins the next row in front.
    pub(super) fn turn(
        &self,
        of: &Drawings<'_>,
        (place, steps): (u32, &RowSteps),
        at_rod: AtRod,
        [top, bottom]: [f64; 2],
        into: &mut Figure,
    ) {
        let Some(last) = steps.crossings.last() else { return };
        let out = if steps.to_right { 1.0 } else { -1.0 };
        let edge = if steps.to_right { self.right() } else { self.after(self.shown[0] - 1) };
        let beyond = edge + out * ROOM * 1.9;
        let (low, high, lean) = (self.row(place), self.row(place + 1), self.lean);
        // In front a row's strand has fallen when it leaves, behind it has risen; and in front it enters high.
        let ends = |front: bool| {
            let leaves = if front { low + lean } else { low - lean };
            let first = front == (at_rod == AtRod::Keep);
            (leaves, if first { high - lean } else { high + lean })
        };
        let strip = |front: bool, before: bool| {
            let (leaves, enters) = ends(front);
            let strand = if front { last.front } else { 1 - last.front };
            let (from, to) = if before { (0.0, 0.5) } else { (0.5, 1.0) };
            Shape::Strip {
                part: Part::Turn(strand, front == before),
                way: curve([[edge, leaves], [beyond, leaves], [beyond, enters], [edge, enters]], from, to),
                wide: self.weft,
                hex: of.hex(steps.colours[strand]),
                second: strand == 1,
            }
        };
        into.shapes.extend([strip(true, false), strip(false, true)]);
        into.shapes.push(rod(edge + out * ROOM, [top, bottom]));
        into.shapes.extend([strip(true, true), strip(false, false)]);
    }
}

/// From the outermost strand to the rod.
pub(super) const ROOM: f64 = 6.0;

/// A rod down a drawing.
pub(super) fn rod(x: f64, [top, bottom]: [f64; 2]) -> Shape {
    Shape::Strip { part: Part::Rod, way: vec![[x, top], [x, bottom]], wide: 1.6, hex: ROD, second: false }
}
