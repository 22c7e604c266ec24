//! Drawings of rows: the rows that lock the ends, a crossing, the turn at the rod, a new length, rows counted and bands along the rug.
use super::stretch::{ROOM, Stretch, Warp, at_side, reach, rod};
use super::{Drawings, HIGH, POINT, WIDE, arc, arrow, figure, outlined, words};
use crate::drawing::figure::{Anchor, Figure, outline};
use crate::planning::WovenFrom;
use crate::planning::locking::stepping::{BeginAt, RowSteps, row};
use crate::planning::pattern::{AtRod, Face};
use crate::planning::reading::{RowNumber, rows_of_bands};

/// So many strands are seen beside each other.
const STRANDS: u32 = 9;
/// Of a drawing that is looked at from a metre away: strands, and how high the row that locks and the turn are.
const AFAR: u32 = 7;
const AFAR_HIGH: [f64; 2] = [40.0, 30.0];

impl Drawings<'_> {
    /// Rows by their numbers, counted from 0 as they are woven, with what is known of each.
    pub(super) fn rows(&self, woven: impl IntoIterator<Item = u32>) -> Vec<(u32, RowSteps)> {
        let of = |woven| Some((woven, row(&self.plan.pattern, &self.plan.warp.locking, woven, self.begin)?));
        woven.into_iter().filter_map(of).collect()
    }

    /// A row that locks an end, counted from 0 as it is woven: its first units from the rod where it begins, over and under through the
    /// loops at their nails.
    pub fn locking(&self, woven: u32) -> Figure {
        let Some((woven, steps)) = self.rows([woven]).pop() else { return figure(String::new()) };
        let mut drawn = figure(Self::locking_told(&steps));
        let (most, high) = if self.afar { (AFAR, AFAR_HIGH[0]) } else { (STRANDS, HIGH) };
        drawn.high = high;
        let (points, letters) = (self.points(), self.points() * POINT);
        let right = !steps.to_right;
        let shown = at_side(&steps, right, most);
        let pitch = 7.0;
        let wide = f64::from(shown[1] - shown[0] + 1) * pitch;
        let left = if right { WIDE - 8.0 - wide } else { 8.0 };
        let beyond = steps.nails_beyond;
        let doubled = self.plan.warp.way.doubled;
        let reach = reach(pitch, doubled);
        let (from, to) = if beyond {
            (letters + reach + 1.4, high - letters - 1.5)
        } else {
            (letters + 1.5, high - letters - reach - 1.4)
        };
        let base = if beyond { from + 9.0 } else { to - 9.0 };
        let stretch = Stretch { shown, left, pitch, base, step: 8.0, lean: 2.0, weft: 3.4 };
        let loops = steps.nails.clone();
        let warp = Warp { from, to, loops: &loops, beyond, lifted: 0.0, doubled };
        let edge = if right { WIDE - 3.0 } else { 3.0 };
        drawn.shapes.push(rod(edge, [0.0, high]));
        let rows = [(woven, steps)];
        stretch.draw(self, &rows, warp, &mut drawn);
        let [(_, steps)] = rows;
        let numbers = if beyond { high - 0.4 } else { letters * 0.8 };
        for strand in (shown[0]..=shown[1]).filter(|strand| !self.afar || strand % 2 == 1) {
            drawn.word([stretch.strand(strand), numbers], Anchor::Middle, strand.to_string(), points);
        }
        let below = if beyond { from - reach - 1.0 } else { to + reach + letters * 0.75 + 0.8 };
        for held in stretch.loops(&steps.nails) {
            drawn.word(
                [stretch.after(held.after), below],
                Anchor::Middle,
                held.nail.number.to_string(),
                points,
            );
        }
        // Each crossing that goes through a loop has a ring; one of them is named.
        let gaps: Vec<f64> = stretch
            .loops(&steps.nails)
            .filter(|held| steps.crossings.iter().any(|crossing| crossing.through.contains(held)))
            .map(|held| stretch.after(held.after))
            .collect();
        for gap in &gaps {
            drawn.shapes.push(outlined(arc([*gap, base], 3.0, 0.0, 1.0)));
        }
        let named = if right { gaps.first() } else { gaps.last() };
        if let Some(gap) = named {
            let (x, anchor) = if right { (1.0, Anchor::Start) } else { (WIDE - 1.0, Anchor::End) };
            let out = if right { -1.0 } else { 1.0 };
            let at = (base - 5.0).max(letters * 2.1);
            words(&mut drawn, [x, at - letters * 1.25], anchor, &["through", "the loop"], points);
            let from = if right { left - 1.5 } else { stretch.right() + 1.5 };
            if (from - gap).abs() > 4.5 {
                drawn.mark(arrow([from + out * 2.0, at + 2.0], [gap + out * 3.0, base - 0.6]), 0.4, false);
            }
        }
        drawn
    }

    fn locking_told(steps: &RowSteps) -> String {
        let row = if steps.nails_beyond { "last row" } else { "row next to the nails" };
        let side = if steps.to_right { "left" } else { "right" };
        let through = steps.crossings.iter().filter(|crossing| !crossing.through.is_empty()).count();
        let open = if steps.open.is_empty() {
            String::new()
        } else {
            format!(" {} loops stay open.", steps.open.len())
        };
        format!(
            "From the front: the {row} begins at the {side} rod. One strand goes over each unit while the other goes under it, and \
             between units they cross; {through} of the crossings go through the loop of a nail, each marked with a ring.{open}"
        )
    }

    /// Three units of a row near by: which strand is over and which under, and how they change.
    pub fn crossing(&self) -> Figure {
        let Some((woven, steps)) = self.rows([0]).pop() else { return figure(String::new()) };
        let names = steps.colours.map(|id| self.named(id));
        let front = steps.crossings.first().map_or(0, |crossing| crossing.front);
        let [over, under] = if names[0] == names[1] {
            [
                ["the first strand", "the second strand"][front],
                ["the first strand", "the second strand"][1 - front],
            ]
        } else {
            [names[front].as_str(), names[1 - front].as_str()]
        };
        let mut drawn = figure(format!(
            "From the front: {over} goes over the first unit and {under} under it; between the units the two change, so that {under} \
             goes over the next."
        ));
        let right = !steps.to_right;
        let units: Vec<_> = steps.crossings.iter().take(3).map(|crossing| crossing.strands).collect();
        let bounds = units.iter().fold([u32::MAX, 0], |[a, b], unit| [a.min(unit[0]), b.max(unit[1])]);
        if units.is_empty() {
            return drawn;
        }
        let pitch = (74.0 / f64::from(bounds[1] - bounds[0] + 1)).min(12.0);
        let wide = f64::from(bounds[1] - bounds[0] + 1) * pitch;
        let left = (WIDE - wide) / 2.0;
        let stretch = Stretch { shown: bounds, left, pitch, base: 17.0, step: 0.0, lean: 4.0, weft: 6.4 };
        let warp = Warp { from: 0.5, to: 33.5, loops: &[], beyond: false, lifted: 0.0, doubled: false };
        stretch.draw(self, &[(woven, steps)], warp, &mut drawn);
        let side = if right { "right" } else { "left" };
        let points = self.points();
        words(
            &mut drawn,
            [WIDE / 2.0, 37.5],
            Anchor::Middle,
            &[
                &format!("{side} unit: {over} over, {under} under;"),
                "then the two change, at each unit again",
            ],
            points,
        );
        drawn
    }

    /// The turn round the rod from the first row to the second, near by.
    pub fn rod_turn(&self) -> Figure {
        let trade = self.plan.pattern.at_rod == AtRod::Trade;
        let told = if trade {
            "From the front: both strands go round the rod. The one that was in front goes out in front of it and back behind it, the other \
             out behind it and back in front: so the one that was behind begins the next row in front."
        } else {
            "From the front: both strands go round the rod and cross once more before the first unit, so that the one that was in front \
             begins the next row in front."
        };
        let mut drawn = figure(told.into());
        let lines = if trade { ["they trade", "places"] } else { ["they keep", "their places"] };
        if self.afar {
            drawn.high = AFAR_HIGH[1];
        }
        self.turning(&mut drawn, if self.afar { 4 } else { 6 }, 8.0, false, &lines);
        drawn
    }

    /// The second row over the first, from where it begins.
    pub fn second_row(&self) -> Figure {
        let mut drawn = figure(
            "From the front: the second row lies on the first, coming back from the rod. It takes the same strands together, so that its \
             crossings lie over the first row’s."
                .into(),
        );
        self.turning(&mut drawn, STRANDS, 6.4, true, &["row 2", "row 1"]);
        drawn
    }

    /// The first two rows at the rod between them, with their nails or without, and words beside.
    fn turning(&self, drawn: &mut Figure, most: u32, pitch: f64, nails: bool, beside: &[&str; 2]) {
        let rows = self.rows([0, 1]);
        let [(_, first), _] = rows.as_slice() else { return };
        let right = first.to_right;
        let shown = at_side(first, right, most);
        let wide = f64::from(shown[1] - shown[0] + 1) * pitch;
        // The rod and the words stand where the row turns.
        let (room, high) = (ROOM * 2.2 + 2.0, drawn.high);
        let said = if self.afar { 29.0 } else { 18.0 };
        let left = if right { (WIDE - said - room - wide).max(1.0) } else { said + room };
        let doubled = self.plan.warp.way.doubled;
        let below = reach(pitch, doubled) + self.points() * POINT + 0.4;
        let (step, to) = (11.0, if nails { high - below } else { high - 1.0 });
        let base = if nails { to - 7.0 } else { f64::midpoint(high, step) };
        let stretch = Stretch { shown, left, pitch, base, step, lean: 2.1, weft: 3.8 };
        let loops: &[_] = if nails { &first.nails } else { &[] };
        let warp = Warp { from: 1.0, to, loops, beyond: false, lifted: 0.0, doubled };
        stretch.draw(self, &rows, warp, drawn);
        let at_rod = first.then.unwrap_or(self.plan.pattern.at_rod);
        stretch.turn(self, (0, first), at_rod, [1.0, high - 1.0], drawn);
        let points = self.points();
        for held in stretch.loops(loops) {
            drawn.word(
                [stretch.after(held.after), high - 0.2],
                Anchor::Middle,
                held.nail.number.to_string(),
                points,
            );
        }
        let x = if right { stretch.right() + room } else { left - room };
        let anchor = if right { Anchor::Start } else { Anchor::End };
        if nails {
            for (place, says) in [(1, beside[0]), (0, beside[1])] {
                drawn.word([x, stretch.row(place) + 1.0], anchor, says, points);
            }
        } else {
            words(drawn, [x, base - step / 2.0], anchor, beside, points);
        }
    }

    /// A length of weft joined to the next behind a unit.
    pub fn new_length(&self) -> Figure {
        let mut drawn = figure(
            "From the front: the old strip ends and the new one begins behind a unit of the warp, so that the join is not seen.".into(),
        );
        let Some(last) = self.plan.pattern.rows().checked_sub(1) else { return drawn };
        let rows = self.rows([1.min(last), 2.min(last)]);
        let Some((_, steps)) = rows.last().cloned() else { return drawn };
        let shown = at_side(&steps, !steps.to_right, 8);
        let pitch = (66.0 / f64::from(shown[1] - shown[0] + 1)).min(8.5);
        let left = 2.0;
        let stretch = Stretch { shown, left, pitch, base: 30.0, step: 12.0, lean: 2.4, weft: 4.6 };
        let warp = Warp { from: 1.0, to: HIGH - 1.0, loops: &[], beyond: false, lifted: 0.0, doubled: false };
        stretch.draw(self, &rows, warp, &mut drawn);
        let units: Vec<[u32; 2]> =
            steps.crossings.iter().map(|c| c.strands).filter(|unit| stretch.shows(*unit)).collect();
        if let Some([first, last]) = units.get(1.min(units.len().saturating_sub(1))) {
            let (from, to) = (stretch.after(first - 1), stretch.after(*last));
            let y = stretch.row(1);
            // Where it lies hidden.
            let (a, b, top, bottom) = (from + 0.6, to - 0.6, y - 4.6, y + 4.6);
            drawn.shapes.push(outlined(vec![[a, top], [b, top], [b, bottom], [a, bottom], [a, top]]));
            let end = stretch.right() + 2.0;
            words(&mut drawn, [end, 9.0], Anchor::Start, &["the join,", "behind"], self.points());
            drawn.mark(arrow([end - 0.5, 9.5], [to - 1.0, y - 4.6]), 0.4, false);
        }
        drawn
    }

    /// Rows beside a rule, as many as there are on its length.
    pub fn counted(&self, rows_per: f64, over: &str) -> Figure {
        let rows = rows_per.round().clamp(1.0, 40.0) as u32;
        let mut drawn = figure(format!("{rows} rows pushed down, counted beside a rule of {over}."));
        let step = 36.0 / f64::from(rows);
        let pattern = &self.plan.pattern;
        for at in 0..rows {
            let y = 40.0 - f64::from(at + 1) * step;
            for unit in 0..6 {
                let lit = pattern.strand(at.min(pattern.rows().saturating_sub(1)), unit, Face::Front) == 0;
                let x = 16.0 + f64::from(unit) * 50.0 / 6.0;
                drawn.areas.push((
                    [x + 0.2, y + step * 0.1, 50.0 / 6.0 - 0.4, step * 0.8],
                    if lit { 205 } else { 110 },
                ));
            }
        }
        drawn.rule(
            vec![[72.0, 4.0, 72.0, 40.0], [70.0, 4.0, 74.0, 4.0], [70.0, 40.0, 74.0, 40.0]],
            0.5,
            false,
        );
        drawn.word([76.0, 23.0], Anchor::Start, over, self.points());
        drawn.word([14.0, 23.0], Anchor::End, rows.to_string(), self.points());
        drawn
    }

    /// The rug along the frame with a line at each change, numbered, and what is woven from which end.
    pub fn changes(&self, turned: bool) -> Figure {
        let pattern = &self.plan.pattern;
        let both = pattern.from != WovenFrom::OneEnd;
        let told = match (turned, both) {
            (true, false) => "The rug on the frame: woven on in the same direction after it is turned round.",
            (true, true) => "The rug on the frame: woven from both ends to where the halves meet.",
            (false, _) => "The rug on the frame with the row at which each band begins.",
        };
        let mut drawn = figure(told.into());
        let rows = f64::from(pattern.rows().max(1));
        let y = |row: u32| 42.0 - 40.0 * f64::from(row) / rows;
        drawn.rule(outline([24.0, 2.0, 34.0, 40.0]).to_vec(), 0.6, false);
        let points = self.points();
        if turned {
            // Woven from one end it is turned where the arm no longer reaches: about the middle.
            let half = if both { y(pattern.first_half()) } else { 22.0 };
            drawn.rule(vec![[22.0, half, 60.0, half]], 0.5, true);
            drawn.rule(arrow([18.0, 40.0], [18.0, half + 2.0]), 0.5, false);
            if both {
                drawn.rule(arrow([18.0, 4.0], [18.0, half - 2.0]), 0.5, false);
                let row = RowNumber::after(pattern, pattern.first_half());
                drawn.word([62.0, half + 1.0], Anchor::Start, format!("after {row}"), points);
            } else {
                drawn.rule(arrow([18.0, half - 2.0], [18.0, 4.0]), 0.5, false);
            }
            return drawn;
        }
        let (stretches, mut last) = (rows_of_bands(pattern), f64::INFINITY);
        for (i, band) in pattern.bands.iter().enumerate().filter(|(_, band)| band.rows() > 0) {
            let (top, bottom) = (y(band.to_row), y(band.from_row));
            let [first, other] = band.colours.map(|id| crate::drawing::figure::grey(self.hex(id)));
            // Both strands' greys beside each other, and a line where the band begins.
            drawn.areas.push(([24.4, top, 16.6, bottom - top], first));
            drawn.areas.push(([41.0, top, 16.6, bottom - top], other));
            drawn.mark(vec![[22.0, bottom, 60.0, bottom]], 0.4, false);
            let Some(first) = stretches[i].first() else { continue };
            let at = if first.from_far_end { top + 3.0 } else { bottom - 0.6 };
            // Labels that would lie on each other are left out.
            if last - at > 4.0 {
                let row = RowNumber { number: first.first, from_far_end: first.from_far_end };
                drawn.word([62.0, at], Anchor::Start, row.short(), points);
                last = at;
            }
        }
        drawn
    }

    /// Whether the first row begins at the right.
    pub(super) fn mirrored(&self) -> bool {
        self.begin == BeginAt::Right
    }
}
