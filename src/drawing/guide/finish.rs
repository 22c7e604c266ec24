//! Drawings of what is done off the frame: ends, panels, backing, washing.
use super::stretch::{Stretch, WARP, Warp, at_side};
use super::{Drawings, HIGH, WIDE, arc, arrow, figure, words};
use crate::drawing::figure::{Anchor, Figure, Part, Shape, grey, outline};
use crate::planning::colour::Hex;

impl Drawings<'_> {
    /// A tail run along the edge, or fringe strips in the loops.
    pub fn ends(&self, fringe: u32) -> Figure {
        let told = if fringe > 0 {
            format!(
                "{fringe} strips, each knotted through a loop at an end, so that both its halves hang from it."
            )
        } else {
            "From the front: a tail drawn in along the edge, through the rows, with a hook.".into()
        };
        let mut drawn = figure(told);
        let Some(last) = self.plan.pattern.rows().checked_sub(1) else { return drawn };
        let rows = self.rows((0..4).map(|at| at.min(last)));
        let Some((_, steps)) = rows.first().cloned() else { return drawn };
        let right = self.mirrored();
        let shown = at_side(&steps, right, 9);
        let pitch = 6.4;
        let wide = f64::from(shown[1] - shown[0] + 1) * pitch;
        let left = if right { WIDE - 4.0 - wide } else { 4.0 };
        let doubled = self.plan.warp.way.doubled;
        let tail = self.hex(steps.colours[0]);
        if fringe > 0 {
            let stretch = Stretch { shown, left, pitch, base: 14.0, step: 6.0, lean: 1.4, weft: 2.8 };
            let warp = Warp { from: 0.5, to: 21.0, loops: &steps.nails, beyond: false, lifted: 0.0, doubled };
            stretch.draw(self, &rows[..2.min(rows.len())], warp, &mut drawn);
            drawn.shapes.retain(|shape| !matches!(shape, Shape::Disc { .. }));
            for held in stretch.loops(&steps.nails) {
                let x = stretch.after(held.after);
                let strip =
                    |way| Shape::Strip { part: Part::Other, way, wide: 1.3, hex: tail, second: false };
                drawn.shapes.push(strip(vec![[x - 0.8, 25.5], [x - 1.4, HIGH - 1.0]]));
                drawn.shapes.push(strip(vec![[x + 0.8, 25.5], [x + 1.4, HIGH - 1.0]]));
                // The knot, over the loop.
                drawn.shapes.push(strip(vec![[x - 1.9, 24.6], [x + 1.9, 24.6]]));
            }
            return drawn;
        }
        let stretch = Stretch { shown, left, pitch, base: 34.0, step: 8.5, lean: 1.8, weft: 3.6 };
        let (top, bottom) = (0.5, HIGH - 0.5);
        let warp = Warp { from: top, to: bottom, loops: &[], beyond: false, lifted: 0.0, doubled: false };
        stretch.draw(self, &rows, warp, &mut drawn);
        // Behind what lies in front, before the warp: it comes after the strands and before the rows' front.
        let x = if right { stretch.after(shown[1]) - pitch } else { stretch.after(shown[0]) };
        let strip = Shape::Strip {
            part: Part::Other,
            way: vec![[x, HIGH - 0.5], [x, 4.0]],
            wide: 2.0,
            hex: tail,
            second: false,
        };
        let front = drawn
            .shapes
            .iter()
            .position(|shape| matches!(shape, Shape::Strip { part: Part::Weft(.., true), .. }));
        drawn.shapes.insert(front.unwrap_or(drawn.shapes.len()), strip);
        let (at, anchor) =
            if right { (left - 3.0, Anchor::End) } else { (stretch.right() + 3.0, Anchor::Start) };
        words(&mut drawn, [at, 18.0], anchor, &["the tail, drawn", "in by a hook"], self.points());
        let side = if right { WIDE - 1.5 } else { 1.5 };
        drawn.mark(arrow([side, 40.0], [side, 6.0]), 0.5, false);
        drawn
    }

    /// Two panels edge to edge, with their rows' turns and a strip sewn over both edges.
    pub fn panels(&self) -> Figure {
        let mut drawn = figure(
            "Two rugs edge to edge: a strip goes over both edges and through the turns of their rows, from turn to turn.".into(),
        );
        let pattern = &self.plan.pattern;
        let rows = pattern.rows().min(6);
        let step = 40.0 / f64::from(rows.max(1));
        let seam = WIDE / 2.0;
        for side in [-1.0, 1.0] {
            for row in 0..rows {
                let band = pattern.bands.iter().find(|band| (band.from_row..band.to_row).contains(&row));
                let hex = band.map_or(WARP, |band| self.hex(band.colours[(row % 2) as usize]));
                let y = HIGH - 2.0 - step * (f64::from(row) + 0.5);
                // A row comes to the edge and turns: the outermost of it is round.
                let (r, edge) = (step * 0.26, seam + side * (step * 0.3 + 1.2));
                let turn = if side < 0.0 { (-0.25, 0.25) } else { (0.75, 0.25) };
                let far = seam + side * 40.0;
                let mut way = vec![[far, y - r]];
                way.extend(arc([edge, y], r, turn.0, turn.1));
                way.push([far, y + r]);
                drawn.shapes.push(Shape::Strip {
                    part: Part::Other,
                    way,
                    wide: step * 0.34,
                    hex,
                    second: false,
                });
            }
        }
        for row in 0..rows.saturating_sub(1) {
            let y = HIGH - 2.0 - step * (f64::from(row) + 0.5);
            let way = vec![[seam - step * 0.5 - 1.0, y], [seam + step * 0.5 + 1.0, y - step]];
            drawn.shapes.push(Shape::Strip {
                part: Part::Other,
                way,
                wide: 1.4,
                hex: Hex::rgb(0xff_ffff),
                second: false,
            });
        }
        drawn
    }

    /// A backing inside the rug's edge, with the proportions of this rug.
    pub fn backing(&self) -> Figure {
        let mut drawn =
            figure("The backing lies inside the rug’s edge, with small stitches all round.".into());
        let high = 40.0;
        let wide = (high * self.plan.width.ratio(self.plan.length)).clamp(10.0, 84.0);
        let left = (WIDE - wide) / 2.0;
        drawn.rule(outline([left, 2.0, wide, high]).to_vec(), 0.8, false);
        drawn.rule(outline([left + 2.5, 4.5, wide - 5.0, high - 5.0]).to_vec(), 0.5, true);
        drawn
    }

    /// The rug over a line, in its proportions and its bands.
    pub fn washing(&self) -> Figure {
        let mut drawn = figure("The washed rug hangs over a line in the shade.".into());
        let (plan, high) = (self.plan, 32.0);
        let wide = (high * 2.0 * plan.width.ratio(plan.length)).clamp(14.0, 70.0);
        let left = (WIDE - wide) / 2.0;
        // Half of it hangs on this side.
        let rows = f64::from(plan.pattern.rows().max(1)) / 2.0;
        for band in &plan.pattern.bands {
            let [from, to] = [band.from_row, band.to_row].map(|row| (f64::from(row) / rows).min(1.0) * high);
            if to > from {
                drawn.areas.push(([left, 40.0 - to, wide, to - from], grey(self.hex(band.colours[0]))));
            }
        }
        drawn.mark(vec![[2.0, 8.0, 88.0, 8.0]], 0.8, false);
        drawn.mark(outline([left, 8.0, wide, high]).to_vec(), 0.4, false);
        drawn
    }
}
