//! Drawings of what is made ready: strips, a join, the ball.
use super::stretch::WARP;
use super::{Drawings, along, arrow, curve, figure, outlined, words};
use crate::drawing::figure::{Anchor, Figure, Part, Shape, outline};
use crate::units::{Length, Units};
use std::f64::consts::TAU;

/// From the fold to the end, and how far the snip goes in from the fold, in inches: ¾ to 1 in, ¼ to ½ in. Common practice, no source.
const FOLDED: f64 = 1.0;
const SNIPPED: f64 = 0.25;

impl Drawings<'_> {
    /// A sheet with the cuts of strips, as many as are that wide on it.
    pub fn strips(&self, strip: Length, length: Length, says: &[String; 2]) -> Figure {
        let mut drawn = figure(format!(
            "A sheet cut along its length into strips {} wide and {} long.",
            says[0], says[1]
        ));
        let (w, h) = (68.0, 32.0);
        drawn.rule(outline([2.0, 2.0, w, h]).to_vec(), 0.5, false);
        // As wide against the strip's length as it is, but to be seen.
        let apart = (w * strip.ratio(length)).clamp(2.5, h / 2.0);
        let cuts = (1..).map(|k| f64::from(k) * apart).take_while(|y| *y < h - 0.5);
        drawn.rule(cuts.map(|y| [2.0, 2.0 + y, 2.0 + w, 2.0 + y]).collect(), 0.25, true);
        drawn.word([2.0, 40.0], Anchor::Start, format!("{} long", says[1]), self.points());
        words(&mut drawn, [72.0, 5.0 + apart / 2.0], Anchor::Start, &[&says[0], "wide"], self.points());
        drawn
    }

    /// Two strips of this rug's width laid over each other, with the slit through both, and the new one's other end on its way through.
    pub fn join(&self, units: Units) -> Figure {
        let strip = self.plan.warp.strip_width;
        let [folded, snipped] = [FOLDED, SNIPPED].map(Length::inches);
        let said = [strip.show(units), folded.show(units), (snipped * 2).show(units)];
        let mut drawn = figure(format!(
            "Two strips {} wide laid over each other by twice {}, the slit {} long through both, and the new strip’s other end drawn \
             through it.",
            said[0], said[1], said[2]
        ));
        // To scale, the strip as wide as there is room.
        let scale = (11.0 / strip.mm()).min(0.5);
        let (wide, over, slit) = (strip.mm() * scale, folded.mm() * scale, snipped.mm() * scale);
        let (x, y) = (40.0, 15.0);
        let other = self.hex(self.plan.pattern.colours().first().copied().unwrap_or_default());
        let strip = |way, hex, second| Shape::Strip { part: Part::Other, way, wide, hex, second };
        drawn.shapes.push(strip(vec![[2.0, y], [x + over, y]], WARP, false));
        drawn.shapes.push(strip(vec![[x - over, y + 1.2], [78.0, y + 1.2]], other, false));
        drawn.mark(vec![[x, y - wide / 2.0 - 1.5, x, y + wide / 2.0 + 2.5]], 0.3, true);
        // The slit, which was cut in from the fold.
        drawn.shapes.push(outlined(vec![[x - slit, y + 0.6], [x + slit, y + 0.6]]));
        let way = curve([[78.0, y + 1.2], [96.0, y + 1.2], [70.0, 34.0], [x + 12.0, 31.0]], 0.0, 1.0);
        drawn.mark(along(&way), 0.4, false);
        drawn.mark(arrow([x + 12.0, 31.0], [x + 0.5, y + wide / 2.0 - 1.5]), 0.4, false);
        let points = self.points();
        drawn.word([x, 5.0], Anchor::Middle, "fold here, slit through both", points);
        drawn.word([2.0, y + wide / 2.0 + 4.5], Anchor::Start, "old", points);
        drawn.word([60.0, y + wide / 2.0 + 5.5], Anchor::Start, "new", points);
        drawn.word(
            [2.0, 41.5],
            Anchor::Start,
            "the new strip’s other end goes through the slit, up from below",
            points,
        );
        drawn
    }

    /// A ball, with a turn for each few strips.
    pub fn ball(&self, says: &str) -> Figure {
        let strips = self.plan.warp.strips;
        let mut drawn = figure(format!("A ball of {strips} strips joined, {says}."));
        let turns = f64::from(strips.clamp(3, 9));
        let spiral: Vec<[f64; 2]> = (0..=160)
            .map(|k| {
                let part = f64::from(k) / 160.0;
                let angle = TAU * turns * part;
                [24.0 + 18.0 * part * angle.cos(), 22.0 + 18.0 * part * angle.sin()]
            })
            .collect();
        drawn.rule(along(&spiral), 0.5, false);
        drawn.rule(vec![[42.0, 22.0, 86.0, 34.0]], 0.5, false);
        words(&mut drawn, [50.0, 13.0], Anchor::Start, &[says, &format!("{strips} strips")], self.points());
        drawn
    }
}
