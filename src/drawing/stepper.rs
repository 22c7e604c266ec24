//! One row drawn from the front, crossing by crossing, as SVG text: what lies behind the warp is drawn before it, what lies in front
//! after it. What crosses where is `planning::locking::stepping`'s.
use super::rug_face::{Swatch, escape};
use crate::planning::locking::stepping::{Crossing, RowSteps};
use std::fmt::Write;

/// One drawing of a row.
#[derive(Debug, Clone, Copy)]
pub struct RowPicture<'a> {
    /// The row.
    pub row: &'a RowSteps,
    /// The two weft strands' colours, the first strand's first.
    pub strands: [&'a Swatch; 2],
    /// The row that it lies on, with its strands' colours; nothing under the first.
    pub below: Option<(&'a RowSteps, [&'a Swatch; 2])>,
    /// Crossings that are made.
    pub made: usize,
    /// Strands of the warp that are shown beside each other.
    pub wide: u32,
    /// Whether all of the row is in the drawing, so that a script can go on; else only what is shown.
    pub whole: bool,
    /// A name that no other drawing on the page has; letters, digits and `-` are kept.
    pub id: &'a str,
}

const PITCH: f64 = 30.0;
const STRAND: f64 = 15.0;
/// Room beside the warp for the rod and what goes round it.
const MARGIN: f64 = 52.0;
/// From the outermost strand to the rod's middle, and to the middle of what goes round it.
const ROD: f64 = 22.0;
const ROUND: f64 = 36.0;
const HIGH: f64 = 250.0;
/// Where the row lies, and how far its strands rise and fall.
const ROW: f64 = 140.0;
const LEAN: f64 = 9.0;
const WEFT: f64 = 17.0;

impl RowPicture<'_> {
    /// The drawing as one `<svg>` element with a title and a description: presentation attributes only, no style, no script. What
    /// belongs to a crossing is marked `data-at` with its number from 1; `data-only` shows at that number alone. The middle of what
    /// is to be seen then is `data-middle` of its front strand's group.
    pub fn svg(&self) -> String {
        let id: String = self.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let all = 2.0 * MARGIN + f64::from(self.row.strands) * PITCH;
        let wide = (f64::from(self.wide) * PITCH).min(all);
        let from = self.from(wide, all);
        let mut out = String::new();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="{from:.0} 0 {wide:.0} {HIGH:.0}" role="img" aria-labelledby="{id}-t {id}-d" data-all="{all:.0}"><title id="{id}-t">{} of {} crossings</title><desc id="{id}-d">{}</desc><rect width="{all:.0}" height="{HIGH:.0}" fill="#fbf9f4"/>"##,
            self.made,
            self.row.crossings.len(),
            escape(&self.description()),
        );
        let shown = |left: f64, right: f64| self.whole || (right >= from && left <= from + wide);
        let units: Vec<(usize, &Crossing, [f64; 2])> = (self.row.crossings.iter().enumerate())
            .map(|(i, crossing)| (i, crossing, ends(self.row, crossing)))
            .filter(|(i, _, [a, b])| shown(a.min(*b), a.max(*b)) && (self.whole || *i < self.made))
            .collect();
        let turn = self.turn();
        turn.iter().filter(|half| !half.over).for_each(|half| half.draw(&mut out));
        Self::rods(all, &mut out);
        for (i, crossing, [enters, leaves]) in &units {
            let strand = 1 - crossing.front;
            self.group("behind", *i + 1, crossing.unit, strand, None, &mut out);
            weft(self.strands[strand], strand, [*enters, ROW + LEAN], [*leaves, ROW - LEAN], &mut out);
            out.push_str("</g>");
        }
        self.warp(&shown, &mut out);
        if let Some((below, strands)) = self.below {
            Self::woven(below, strands, &shown, &mut out);
        }
        for (i, crossing, [enters, leaves]) in &units {
            self.group(
                "front",
                *i + 1,
                crossing.unit,
                crossing.front,
                Some((enters + leaves) / 2.0),
                &mut out,
            );
            weft(
                self.strands[crossing.front],
                crossing.front,
                [*enters, ROW - LEAN],
                [*leaves, ROW + LEAN],
                &mut out,
            );
            out.push_str("</g>");
            if crossing.turned_more {
                self.turn_more(*i + 1, crossing, *enters, &mut out);
            }
        }
        turn.iter().filter(|half| half.over).for_each(|half| half.draw(&mut out));
        if self.whole || self.made == 0 {
            self.ready(&mut out);
        }
        self.ends_and_rings(&units, &mut out);
        out.push_str("</svg>");
        out
    }

    /// The turn more between two units that show the same strand: it comes up again behind the other, which goes down in front.
    fn turn_more(&self, at: usize, crossing: &Crossing, x: f64, out: &mut String) {
        let other = 1 - crossing.front;
        self.group("turn-more", at, crossing.unit, other, None, out);
        let aside = if self.row.to_right { 4.0 } else { -4.0 };
        weft(self.strands[other], other, [x - aside, ROW - LEAN], [x + aside, ROW + LEAN], out);
        out.push_str("</g>");
    }

    /// The row before, as it lies pushed down, paler.
    fn woven(row: &RowSteps, strands: [&Swatch; 2], shown: &dyn Fn(f64, f64) -> bool, out: &mut String) {
        out.push_str(r#"<g data-part="below" opacity="0.6">"#);
        for crossing in &row.crossings {
            let [enters, leaves] = ends(row, crossing);
            if shown(enters.min(leaves), enters.max(leaves)) {
                let y = ROW + 2.0 * WEFT;
                weft(strands[crossing.front], crossing.front, [enters, y - LEAN], [leaves, y + LEAN], out);
            }
        }
        out.push_str("</g>");
    }

    /// The left end of what is seen: the last crossing in its middle, as far as the warp goes.
    fn from(&self, wide: f64, all: f64) -> f64 {
        let at = self.row.crossings.get(self.made.saturating_sub(1));
        let middle = at.map_or(0.0, |crossing| ends(self.row, crossing).iter().sum::<f64>() / 2.0);
        (middle - wide / 2.0).clamp(0.0, (all - wide).max(0.0))
    }

    fn description(&self) -> String {
        let to = if self.row.to_right { "right" } else { "left" };
        let names = self.strands.map(|swatch| swatch.name.as_str());
        match self.made.checked_sub(1).and_then(|i| Some((i, self.row.crossings.get(i)?))) {
            Some((i, crossing)) => format!("Woven to the {to}. {}", crossing.text(names, i == 0)),
            None => format!("Woven to the {to}. Both strands lie ready at the rod."),
        }
    }

    fn group(&self, part: &str, at: usize, unit: u32, strand: usize, middle: Option<f64>, out: &mut String) {
        let hidden = if at > self.made { r#" display="none""# } else { "" };
        let middle = middle.map_or_else(String::new, |x| format!(r#" data-middle="{x:.0}""#));
        let _ = write!(
            out,
            r#"<g data-part="{part}" data-at="{at}" data-unit="{unit}" data-strand="{strand}"{middle}{hidden}>"#
        );
    }

    /// Both strands round the rod from the row below, in halves: out in front of the rod and back behind it, or the other way round.
    fn turn(&self) -> Vec<Half<'_>> {
        let Some((below, strands)) = self.below.filter(|_| self.row.before.is_none()) else {
            return Vec::new();
        };
        let (Some(last), Some(first)) = (below.crossings.last(), self.row.crossings.first()) else {
            return Vec::new();
        };
        let (leaves, enters) = (ends(below, last)[1], ends(self.row, first)[0]);
        let out = if below.to_right { 1.0 } else { -1.0 };
        // Three quarters of the way to its handles is as far as a curve comes.
        let beyond = leaves + out * ROUND / 0.75;
        let low = ROW + 2.0 * WEFT;
        let half = |strand: usize, back: bool| {
            let was_front = strand == last.front;
            let from = if was_front { low + LEAN } else { low - LEAN };
            let to = if strand == first.front { ROW - LEAN } else { ROW + LEAN };
            let at = |k: u32| {
                let t = (if back { 0.5 } else { 0.0 }) + f64::from(k) / 24.0;
                let s = 1.0 - t;
                let x = s.powi(3) * leaves + 3.0 * s * t * beyond + t.powi(3) * enters;
                let y = (s.powi(3) + 3.0 * s * s * t) * from + (t.powi(3) + 3.0 * s * t * t) * to;
                format!("{x:.1} {y:.1}")
            };
            let points: Vec<String> = (0..=12).map(at).collect();
            Half {
                swatch: strands[strand],
                strand,
                over: was_front != back,
                way: format!("M{}", points.join("L")),
            }
        };
        vec![
            half(last.front, true),
            half(1 - last.front, false),
            half(last.front, false),
            half(1 - last.front, true),
        ]
    }

    /// Both strands before the first crossing, the one that goes in front of the first unit above.
    fn ready(&self, out: &mut String) {
        let Some(first) = self.row.crossings.first() else { return };
        let enters = ends(self.row, first)[0];
        let from = if self.row.to_right { enters - 30.0 } else { enters + 30.0 };
        let hidden = if self.made == 0 { "" } else { r#" display="none""# };
        let _ = write!(out, r#"<g data-only="0"{hidden}>"#);
        for strand in [1 - first.front, first.front] {
            let y = if strand == first.front { ROW - LEAN } else { ROW + LEAN };
            // Come round the rod they are there already; else they come from beside it.
            if self.below.is_none() || self.row.before.is_some() {
                weft(self.strands[strand], strand, [from, y], [enters, y], out);
            }
            let on = if self.row.to_right { 14.0 } else { -14.0 };
            weft(
                self.strands[strand],
                strand,
                [enters, y],
                [enters + on, if strand == first.front { y - 14.0 } else { y + 14.0 }],
                out,
            );
        }
        out.push_str("</g>");
    }

    fn rods(all: f64, out: &mut String) {
        for x in [MARGIN - ROD - 4.0, all - MARGIN + ROD - 4.0] {
            let _ = write!(
                out,
                r##"<rect data-part="rod" x="{x:.0}" y="0" width="8" height="{HIGH:.0}" rx="4" fill="#77736b"/>"##
            );
        }
    }

    fn at(strand: u32) -> f64 {
        MARGIN + (f64::from(strand) - 0.5) * PITCH
    }

    /// The warp's strands, joined round the nails where these are near.
    fn warp(&self, shown: &dyn Fn(f64, f64) -> bool, out: &mut String) {
        let nails = !self.row.nails.is_empty();
        let beyond = self.row.nails_beyond;
        // Where a strand ends: at its nail, or out of sight.
        let (top, bottom) = match (nails, beyond) {
            (true, false) => (0.0, ROW + 58.0),
            (true, true) => (62.0, HIGH),
            (false, _) => (0.0, HIGH),
        };
        for strand in 1..=self.row.strands {
            let x = Self::at(strand);
            if shown(x - PITCH, x + PITCH) {
                let _ = write!(
                    out,
                    r##"<rect data-part="warp" data-strand="{strand}" x="{:.1}" y="{top:.1}" width="{STRAND}" height="{:.1}" fill="#e8e0cf" stroke="#8b8172" stroke-width="1.5"/>"##,
                    x - STRAND / 2.0,
                    bottom - top
                );
                let y = if beyond { HIGH - 8.0 } else { 14.0 };
                let _ = write!(
                    out,
                    r##"<text x="{x:.1}" y="{y:.0}" font-size="11" text-anchor="middle" font-family="sans-serif" fill="#241f18">{strand}</text>"##
                );
            }
        }
        for held in &self.row.nails {
            // Of a doubled warp the outer loop lies round the inner one.
            let (left, right) = (Self::at(held.after), Self::at(held.after + 1));
            if !shown(left, right) {
                continue;
            }
            let (x, r) = (f64::midpoint(left, right), (right - left) / 2.0);
            let (y, sweep, down) = if beyond { (top, 1, -1.0) } else { (bottom, 0, 1.0) };
            let _ = write!(
                out,
                r##"<path d="M{left:.1} {y:.1}A{r:.1} {r:.1} 0 0 {sweep} {right:.1} {y:.1}" fill="none" stroke="#8b8172" stroke-width="{:.1}"/><path d="M{left:.1} {:.1}V{y:.1}A{r:.1} {r:.1} 0 0 {sweep} {right:.1} {y:.1}V{:.1}" fill="none" stroke="#e8e0cf" stroke-width="{:.1}"/><circle data-part="nail" data-nail="{}" cx="{x:.1}" cy="{:.1}" r="5" fill="#241f18"/><text x="{x:.1}" y="{:.1}" font-size="12" text-anchor="middle" font-family="sans-serif" fill="#241f18">nail {}</text>"##,
                STRAND + 1.5,
                y - down,
                y - down,
                STRAND - 1.5,
                held.nail.number,
                y + down * 1.0,
                if beyond { y - 30.0 } else { y + 40.0 },
                held.nail.number,
            );
        }
    }

    /// The loose ends after each crossing, and a ring where a loop is gone through.
    fn ends_and_rings(&self, units: &[(usize, &Crossing, [f64; 2])], out: &mut String) {
        let on = if self.row.to_right { 1.0 } else { -1.0 };
        for (i, crossing, [enters, leaves]) in units {
            let at = i + 1;
            if !self.whole && at != self.made {
                continue;
            }
            let hidden = if at == self.made { "" } else { r#" display="none""# };
            let _ = write!(out, r#"<g data-only="{at}"{hidden}>"#);
            weft(
                self.strands[1 - crossing.front],
                1 - crossing.front,
                [*leaves, ROW - LEAN],
                [leaves + on * 20.0, ROW - 20.0],
                out,
            );
            weft(
                self.strands[crossing.front],
                crossing.front,
                [*leaves, ROW + LEAN],
                [leaves + on * 20.0, ROW + 20.0],
                out,
            );
            if !crossing.through.is_empty() {
                let words = enters - on * 4.0;
                let _ = write!(
                    out,
                    r##"<circle data-part="ring" cx="{enters:.1}" cy="{ROW}" r="27" fill="none" stroke="#fbf9f4" stroke-width="7"/><circle cx="{enters:.1}" cy="{ROW}" r="27" fill="none" stroke="#a6541a" stroke-width="4"/><text x="{words:.1}" y="93" font-size="16" font-weight="600" text-anchor="middle" font-family="sans-serif" fill="#8a4312" stroke="#fbf9f4" stroke-width="6" paint-order="stroke">through the loop</text>"##,
                );
            }
            out.push_str("</g>");
        }
    }
}

/// Where the strands of a row enter a unit and where they leave it, half way between strands.
fn ends(row: &RowSteps, crossing: &Crossing) -> [f64; 2] {
    let [first, last] = crossing.strands.map(f64::from);
    let (left, right) = (MARGIN + (first - 1.0) * PITCH, MARGIN + last * PITCH);
    if row.to_right { [left, right] } else { [right, left] }
}

/// Half of a strand's way round the rod.
struct Half<'a> {
    swatch: &'a Swatch,
    strand: usize,
    /// Whether it lies in front of the rod.
    over: bool,
    way: String,
}

impl Half<'_> {
    fn draw(&self, out: &mut String) {
        let over = if self.over { "over" } else { "under" };
        let _ = write!(out, r#"<g data-part="turn-{over}" data-strand="{}" opacity="0.8">"#, self.strand);
        strip(self.swatch, self.strand, &self.way, out);
        out.push_str("</g>");
    }
}

/// A piece of a weft strand, bent from where it begins to where it ends.
fn weft(swatch: &Swatch, strand: usize, from: [f64; 2], to: [f64; 2], out: &mut String) {
    let bend = (to[0] - from[0]) * 0.4;
    let way = format!(
        "M{:.1} {:.1}C{:.1} {:.1} {:.1} {:.1} {:.1} {:.1}",
        from[0],
        from[1],
        from[0] + bend,
        from[1],
        to[0] - bend,
        to[1],
        to[0],
        to[1]
    );
    strip(swatch, strand, &way, out);
}

/// A strip along a way: its edge, its colour, and for the second strand a dashed line, so that it is known without colours.
fn strip(swatch: &Swatch, strand: usize, way: &str, out: &mut String) {
    let hex = swatch.hex;
    let _ = write!(
        out,
        r##"<path d="{way}" fill="none" stroke="#241f18" stroke-width="{:.1}"/><path d="{way}" fill="none" stroke="{hex}" stroke-width="{WEFT:.1}"/>"##,
        WEFT + 2.5
    );
    if strand == 1 {
        let line = if hex.lab().parts()[0] > 55.0 { "#241f18" } else { "#ffffff" };
        let _ = write!(
            out,
            r#"<path d="{way}" fill="none" stroke="{line}" stroke-width="2" stroke-dasharray="6 5"/>"#
        );
    }
}
