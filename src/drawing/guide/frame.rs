//! Drawings of what is done at the frame before and after the weaving: winding on, the rods, the way off the nails.
use super::stretch::{Stretch, WARP, Warp, at_side, reach};
use super::{Drawings, HIGH, POINT, WIDE, arrow, figure};
use crate::drawing::figure::{Anchor, Figure, Part, Shape, outline};
use crate::units::Length;

impl Drawings<'_> {
    /// The first nails of the winding, as the strip goes round them.
    pub fn winding(&self) -> Figure {
        let turns: Vec<_> = self.plan.warp.way.turns.iter().take(7).collect();
        let names: Vec<String> = turns.iter().map(|turn| turn.nail.to_string()).collect();
        let mut drawn = figure(format!(
            "The strip is tied at {}, and goes on in this order, round the outside of each nail: {}.",
            names.first().map_or("", String::as_str),
            names.get(1..).unwrap_or_default().join(", ")
        ));
        let first = turns.iter().map(|turn| turn.at.mm()).fold(f64::INFINITY, f64::min);
        let last = turns.iter().map(|turn| turn.at.mm()).fold(f64::NEG_INFINITY, f64::max);
        let at = |at: Length| 10.0 + (at.mm() - first) / (last - first).max(1.0) * 60.0;
        let row = |far: bool| if far { 10.0 } else { 33.0 };
        let radius = 2.0;
        let mut way = Vec::new();
        for (i, turn) in turns.iter().enumerate() {
            let [x, y] = [at(turn.at), row(turn.nail.far)];
            let out = if turn.nail.far { -radius } else { radius };
            if i == 0 {
                way.push([x, y]);
                continue;
            }
            // In on the side where it comes from, round the outside, out on the other.
            let came = turns[i - 1].at.mm() - turn.at.mm();
            let goes = turns.get(i + 1).map_or(-came, |next| next.at.mm() - turn.at.mm());
            let side = if came > 0.0 || (came == 0.0 && goes < 0.0) { radius } else { -radius };
            way.extend([
                [x + side, y],
                [x + side * 0.7, y + out * 0.7],
                [x, y + out],
                [x - side * 0.7, y + out * 0.7],
                [x - side, y],
            ]);
        }
        drawn.shapes.push(Shape::Strip { part: Part::Other, way, wide: 1.6, hex: WARP, second: false });
        for turn in &turns {
            let [x, y] = [at(turn.at), row(turn.nail.far)];
            drawn.shapes.push(Shape::Disc { part: Part::Nail(turn.nail.number), at: [x, y], radius: 1.0 });
            let below = if turn.nail.far { -4.2 } else { 4.2 + self.points() * POINT * 0.75 };
            drawn.word([x, y + below], Anchor::Middle, turn.nail.number.to_string(), self.points());
        }
        drawn.word([88.0, 11.0], Anchor::End, "far", self.points());
        drawn.word([88.0, 34.0], Anchor::End, "near", self.points());
        if let Some(turn) = turns.first() {
            let (far, x) = (turn.nail.far, at(turn.at));
            drawn.word([x, if far { 3.0 } else { 42.5 }], Anchor::Middle, "tied", self.points());
        }
        drawn
    }

    /// The frame in its proportions, with both rods and where they are tied.
    pub fn rods(&self, ties: u32, every: &str) -> Figure {
        let mut drawn = figure(format!(
            "A rod down each side of the frame, tied at both ends and {ties} times between, every {every} or closer."
        ));
        let high = 40.0;
        let wide = (high * self.plan.width.ratio(self.plan.length)).clamp(14.0, 46.0);
        let left = 8.0;
        drawn.rule(outline([left, 2.0, wide, high]).to_vec(), 0.8, false);
        // A nail for each of the first and last few would be too many to see: a dot for each tenth of the row.
        let dots = (0..=10).map(|k| left + 4.0 + (wide - 8.0) * f64::from(k) / 10.0);
        for x in dots {
            for y in [4.5, high - 0.5] {
                drawn.shapes.push(Shape::Disc { part: Part::Other, at: [x, y], radius: 0.35 });
            }
        }
        for x in [left + 2.0, left + wide - 2.0] {
            drawn.rule(vec![[x, 0.5, x, 43.5]], 1.4, false);
            for tie in 0..=ties + 1 {
                let y = 4.0 + 36.0 * f64::from(tie) / f64::from(ties + 1);
                drawn.rule(
                    vec![[x - 2.0, y - 0.8, x + 2.0, y + 0.8], [x - 2.0, y + 0.8, x + 2.0, y - 0.8]],
                    0.3,
                    false,
                );
            }
        }
        let x = left + wide + 6.0;
        drawn.word([x, 20.0], Anchor::Start, format!("tie every {every}"), self.points());
        drawn.word([x, 25.0], Anchor::Start, "or closer", self.points());
        drawn
    }

    /// The first loops lifted off their nails, held by the row that goes through them.
    pub fn off_the_nails(&self) -> Figure {
        let ends = [&self.plan.warp.locking.near, &self.plan.warp.locking.far].map(|end| end.loops.len());
        let mut drawn = figure(format!(
            "Loop by loop, {} near and {} far, is lifted off its nail; the row that goes through it holds it.",
            ends[0], ends[1]
        ));
        let rows = self.rows([0, 1]);
        let Some((_, steps)) = rows.first().cloned() else { return drawn };
        let right = self.mirrored();
        let shown = at_side(&steps, right, 9);
        let pitch = 7.6;
        let wide = f64::from(shown[1] - shown[0] + 1) * pitch;
        let left = if right { WIDE - 4.0 - wide } else { 4.0 };
        let nails = HIGH - 6.5;
        let doubled = self.plan.warp.way.doubled;
        let lifted = reach(pitch, doubled) + 6.0;
        let stretch =
            Stretch { shown, left, pitch, base: nails - lifted - 8.0, step: 8.0, lean: 1.8, weft: 3.6 };
        // As many rows as there is room for above the loops.
        let rows: Vec<_> =
            (0..).zip(rows).filter(|(place, _)| stretch.row(*place) > 4.0).map(|(_, row)| row).collect();
        let warp = Warp { from: 0.5, to: nails, loops: &steps.nails, beyond: false, lifted, doubled };
        stretch.draw(self, &rows, warp, &mut drawn);
        for held in stretch.loops(&steps.nails) {
            let x = stretch.after(held.after);
            drawn.word([x, HIGH - 0.3], Anchor::Middle, held.nail.number.to_string(), self.points());
            drawn.mark(arrow([x, nails - 2.0], [x, nails - 6.5]), 0.3, false);
        }
        drawn
    }
}
