//! The warp's way drawn from nail to nail, as SVG text, black on white. The way itself is `path`'s.
use crate::planning::pattern::Face;
use crate::planning::warp::nail_rows::Places;
use crate::planning::warp::path::WarpPath;
use crate::planning::warp::winding::{Nail, Turn};
use crate::units::Length;
use std::fmt::Write;

/// One drawing.
#[derive(Debug, Clone, Copy)]
pub struct PathPicture<'a> {
    /// The way of the strip.
    pub path: &'a WarpPath,
    /// All nails of the frame, those that stay empty too.
    pub places: &'a Places,
    /// Between the rows.
    pub span: Length,
    /// Seen from the front or from behind.
    pub face: Face,
    /// A name that no other drawing on the page has; letters, digits and `-` are kept.
    pub id: &'a str,
}

/// The drawing's width in units; the rows are drawn nearer together than they are on a long frame.
const WIDE: f64 = 1000.0;
const HIGHEST: f64 = 1100.0;
const MARGIN: f64 = 70.0;

impl PathPicture<'_> {
    /// The drawing as one `<svg>` element with a title and a description: presentation attributes only, no style, no
    /// script. The near row is at the bottom, as on the frame; nails that stay empty are crossed out; strands are
    /// numbered in the order of winding.
    pub fn svg(&self) -> String {
        let id: String = self.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let sheet = Canvas::of(self);
        let (wide, high) = (WIDE + 2.0 * MARGIN, sheet.high + 2.0 * MARGIN);
        let mut out = String::new();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0} {high:.0}" role="img" aria-labelledby="{id}-t {id}-d"><title id="{id}-t">{}</title><desc id="{id}-d">{}</desc><rect width="{wide:.0}" height="{high:.0}" fill="#ffffff"/>"##,
            match self.face {
                Face::Front => "The way of the warp, from the front",
                Face::Back => "The way of the warp, from behind",
            },
            self.description(),
        );
        let thick = sheet.nail * if self.path.doubled { 1.0 } else { 0.6 };
        let way = self.way(&sheet);
        let _ = write!(
            out,
            r##"<path d="{way}" fill="none" stroke="#000000" stroke-width="{thick:.1}" stroke-linejoin="round"/>"##
        );
        if self.path.doubled {
            // Two strips side by side: a light line down the middle of the dark one.
            let _ = write!(
                out,
                r##"<path d="{way}" fill="none" stroke="#ffffff" stroke-width="{:.1}" stroke-linejoin="round"/>"##,
                thick * 0.35
            );
        }
        self.nails(&sheet, &mut out);
        self.numbers(&sheet, &mut out);
        out.push_str("</svg>");
        out
    }

    fn description(&self) -> String {
        let (first, last) = match &self.path.turns[..] {
            [first, .., last] => (first.nail, last.nail),
            _ => return String::new(),
        };
        let double = if self.path.doubled { ", two strips together" } else { "" };
        let wraps = match self.path.extra_wraps {
            0 => String::new(),
            1 => ", once more round each nail".to_owned(),
            more => format!(", {more} times more round each nail"),
        };
        format!(
            "{} strands{double}{wraps}: tied at {first}, wound from row to row, tied at {last}.",
            self.path.strands()
        )
    }

    /// The strip round the outside of each nail, tied at both ends.
    fn way(&self, sheet: &Canvas) -> String {
        let mut way = String::new();
        let last = self.path.turns.len().saturating_sub(1);
        for (i, turn) in self.path.turns.iter().enumerate() {
            let (x, y) = sheet.place(turn);
            let r = sheet.nail;
            // Seen from behind, the strip comes from the right.
            let aside = if self.face == Face::Front { r } else { -r };
            let sweep = u8::from((self.face == Face::Front) == turn.nail.far);
            let _ = match i {
                0 => write!(way, "M{:.1} {y:.1}", x + aside),
                _ if i == last => write!(way, "L{:.1} {y:.1}", x - aside),
                _ => {
                    write!(way, "L{:.1} {y:.1}A{r:.1} {r:.1} 0 0 {sweep} {:.1} {y:.1}", x - aside, x + aside)
                }
            };
        }
        way
    }

    fn nails(&self, sheet: &Canvas, out: &mut String) {
        let step =
            [1, 5, 10, 20, 50].into_iter().find(|step| sheet.pitch * f64::from(*step) > 34.0).unwrap_or(100);
        for (far, row) in [(false, &self.places.near), (true, &self.places.far)] {
            for (i, &at) in row.iter().enumerate() {
                let nail = Nail { far, number: i as u32 + 1 };
                let (x, y) = sheet.place(&Turn { nail, at });
                let r = sheet.nail * 0.7;
                let cross = r.max(7.0);
                if self.path.turns.iter().any(|turn| turn.nail == nail) {
                    let _ = write!(
                        out,
                        r##"<circle cx="{x:.1}" cy="{y:.1}" r="{r:.1}" fill="#ffffff" stroke="#000000" stroke-width="2"/>"##
                    );
                } else {
                    let _ = write!(
                        out,
                        r##"<path d="M{:.1} {:.1}l{d:.1} {d:.1}m0 -{d:.1}l-{d:.1} {d:.1}" stroke="#000000" stroke-width="2"/>"##,
                        x - cross,
                        y - cross,
                        d = 2.0 * cross
                    );
                }
                if nail.number == 1 || nail.number.is_multiple_of(step) {
                    let below = if far { -22.0 } else { 40.0 };
                    text(out, x, y + below, 20.0, "middle", &nail.number.to_string());
                }
            }
        }
    }

    /// Strand numbers half way up, the first few and then every tenth, and where the strip is tied.
    fn numbers(&self, sheet: &Canvas, out: &mut String) {
        let strands = self.path.turns.len().saturating_sub(1);
        let every = [1_u16, 2, 5, 10, 20, 50, 100]
            .into_iter()
            .find(|&k| sheet.pitch / 2.0 * f64::from(k) > 60.0)
            .unwrap_or(200);
        for (i, pair) in self.path.turns.windows(2).enumerate() {
            let number = i + 1;
            if number != 1 && number != strands && !number.is_multiple_of(usize::from(every)) {
                continue;
            }
            let ((x0, y0), (x1, y1)) = (sheet.place(&pair[0]), sheet.place(&pair[1]));
            // The first and the last stand apart from their neighbours, so that they don't cover one another.
            let part = 0.5 + if number == 1 || number == strands { 0.06 } else { 0.0 };
            let (x, y) = (x0 + (x1 - x0) * part, y0 + (y1 - y0) * part);
            let size = 22.0;
            let half = size * 0.36 * number.to_string().len() as f64;
            let _ = write!(
                out,
                r##"<rect x="{:.1}" y="{:.1}" width="{:.1}" height="{:.1}" fill="#ffffff"/>"##,
                x - half,
                y - size * 0.6,
                2.0 * half,
                size * 1.1
            );
            text(out, x, y + size * 0.3, size, "middle", &number.to_string());
        }
        for (turn, word) in [(self.path.turns.first(), "tie: begin"), (self.path.turns.last(), "tie: end")] {
            let Some(turn) = turn else { continue };
            let (x, y) = sheet.place(turn);
            let at_left = x < MARGIN + WIDE / 2.0;
            let (anchor, x) = if at_left { ("start", x - 20.0) } else { ("end", x + 20.0) };
            text(out, x.max(4.0), y + if turn.nail.far { -46.0 } else { 64.0 }, 22.0, anchor, word);
        }
    }
}

fn text(out: &mut String, x: f64, y: f64, size: f64, anchor: &str, words: &str) {
    let _ = write!(
        out,
        r##"<text x="{x:.1}" y="{y:.1}" font-size="{size:.0}" text-anchor="{anchor}" font-family="sans-serif" fill="#000000">{words}</text>"##
    );
}

/// Where things lie on the drawing.
struct Canvas {
    from: f64,
    scale: f64,
    high: f64,
    pitch: f64,
    nail: f64,
    mirrored: bool,
}

impl Canvas {
    fn of(picture: &PathPicture) -> Self {
        let all = || picture.places.near.iter().chain(&picture.places.far).map(|at| at.mm());
        let (from, to) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
        let scale = WIDE / (to - from).max(1.0);
        let nails = picture.places.near.len().max(picture.places.far.len()).max(2);
        let pitch = WIDE / (nails - 1) as f64;
        Self {
            from,
            scale,
            high: (picture.span.mm() * scale).clamp(300.0, HIGHEST),
            pitch,
            nail: (pitch * 0.16).clamp(1.0, 9.0),
            mirrored: picture.face == Face::Back,
        }
    }

    fn place(&self, turn: &Turn) -> (f64, f64) {
        let along = (turn.at.mm() - self.from) * self.scale;
        let x = MARGIN + if self.mirrored { WIDE - along } else { along };
        (x, MARGIN + if turn.nail.far { 0.0 } else { self.high })
    }
}
