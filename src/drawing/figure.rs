//! A figure in lines, areas and words, in millimetres from its upper left corner: for a page as SVG, and for paper, where `pdf`
//! draws the same.
use super::rug_face::escape;
use crate::planning::colour::Hex;
use std::fmt::Write;

/// Millimetres in a point (ISO 32000-1, 8.3.2.3: 72 points an inch).
const POINT: f64 = 25.4 / 72.0;

/// Where a word stands by its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// It begins there.
    Start,
    /// It is around it.
    Middle,
    /// It ends there.
    End,
}

/// A word of a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// Its place, across and down to its baseline.
    pub at: [f64; 2],
    /// How it stands there.
    pub anchor: Anchor,
    /// What it says.
    pub says: String,
    /// The size of its type in points.
    pub points: f64,
}

/// Lines of one weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    /// Each from one point to another.
    pub lines: Vec<[f64; 4]>,
    /// How thick.
    pub weight: f64,
    /// Whether they are dashed.
    pub dashed: bool,
}

/// What a shape is, so that the order of over and under can be read off a figure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A strand of the warp, counted from 1 at the weaver's left; of a loop the left one.
    Warp(u32),
    /// A weft strand at a unit of the warp: its row, counted from 0 as it is woven, the unit, counted from 0 at the weaver's left, the
    /// strand, 0 or 1, and whether it lies in front.
    Weft(u32, u32, usize, bool),
    /// A weft strand on its way round the rod, and whether it lies in front of that.
    Turn(usize, bool),
    /// The strand, 0 or 1, that goes down in front between two units that show the other, where the two turn once more: its row and the
    /// unit after it, as above.
    More(u32, u32, usize),
    /// The rod.
    Rod,
    /// A nail by its number.
    Nail(u32),
    /// A strip that crosses no other.
    Other,
}

/// A shape that covers what was drawn before it.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A strip of cloth with its edges, along a way; the second of two has a dashed line, so that it is known without colours.
    Strip {
        /// What it is.
        part: Part,
        /// From point to point.
        way: Vec<[f64; 2]>,
        /// How wide.
        wide: f64,
        /// Its colour; on paper the grey that is as light.
        hex: Hex,
        /// Whether it has the dashed line.
        second: bool,
    },
    /// A black disc: a nail.
    Disc {
        /// What it is.
        part: Part,
        /// Its middle.
        at: [f64; 2],
        /// Its radius.
        radius: f64,
    },
}

/// The line along the middle of the second of two strips: how thick, and whether it is light, on a dark strip.
pub const MIDDLE: f64 = 0.35;
/// How far a strip's edge reaches beyond it.
pub const EDGE: f64 = 0.25;

/// Whether a strip of a colour is so dark that the line along it is light.
pub fn is_dark(hex: Hex) -> bool {
    hex.lab().parts()[0] < 55.0
}

/// The grey that is as light as a colour, from 0 for black to 255.
pub fn grey(hex: Hex) -> u8 {
    // CIE 1976 lightness runs from 0 to 100.
    (hex.lab().parts()[0].clamp(0.0, 100.0) * 2.55).round() as u8
}

/// A figure; what comes later lies above.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Figure {
    /// How wide it is.
    pub wide: f64,
    /// How high it is.
    pub high: f64,
    /// What it shows, for those who listen.
    pub told: String,
    /// Its lines.
    pub lines: Vec<Lines>,
    /// Areas above the lines: left, top, width, height, and how light, from 0 for black to 255.
    pub areas: Vec<([f64; 4], u8)>,
    /// Shapes above lines and areas, each above those before it.
    pub shapes: Vec<Shape>,
    /// Lines above the shapes: arrows, rings.
    pub marks: Vec<Lines>,
    /// Its words, above all else.
    pub words: Vec<Word>,
}

/// The four sides of a rectangle.
pub fn outline([x, y, w, h]: [f64; 4]) -> [[f64; 4]; 4] {
    [[x, y, x + w, y], [x + w, y, x + w, y + h], [x + w, y + h, x, y + h], [x, y + h, x, y]]
}

impl Figure {
    /// Draws lines.
    pub fn rule(&mut self, lines: Vec<[f64; 4]>, weight: f64, dashed: bool) {
        self.lines.push(Lines { lines, weight, dashed });
    }

    /// Draws lines above the shapes.
    pub fn mark(&mut self, lines: Vec<[f64; 4]>, weight: f64, dashed: bool) {
        self.marks.push(Lines { lines, weight, dashed });
    }

    /// Writes a word.
    pub fn word(&mut self, at: [f64; 2], anchor: Anchor, says: impl Into<String>, points: f64) {
        self.words.push(Word { at, anchor, says: says.into(), points });
    }

    /// The drawing as one `<svg>` element with a description, one unit a millimetre: presentation attributes only, no style, no
    /// script. `id` must be like no other drawing's on the page.
    pub fn svg(&self, id: &str) -> String {
        let id: String = id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
        let mut out = String::new();
        // Writing to a string can't fail.
        let _ = write!(
            out,
            r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="-0.5 -0.5 {:.1} {:.1}" role="img" aria-labelledby="{id}-d"><desc id="{id}-d">{}</desc><rect x="-0.5" y="-0.5" width="{:.1}" height="{:.1}" fill="#ffffff"/>"##,
            self.wide + 1.0,
            self.high + 1.0,
            escape(&self.told),
            self.wide + 1.0,
            self.high + 1.0,
        );
        self.lines.iter().for_each(|lines| lines.svg(&mut out));
        for ([x, y, w, h], light) in &self.areas {
            let _ = write!(
                out,
                r##"<rect x="{x:.2}" y="{y:.2}" width="{w:.2}" height="{h:.2}" fill="#{light:02x}{light:02x}{light:02x}"/>"##
            );
        }
        self.shapes.iter().for_each(|shape| shape.svg(&mut out));
        self.marks.iter().for_each(|lines| lines.svg(&mut out));
        out.push_str(r##"<g font-family="sans-serif" fill="#000000">"##);
        for Word { at: [x, y], anchor, says, points } in &self.words {
            let anchor = match anchor {
                Anchor::Start => "start",
                Anchor::Middle => "middle",
                Anchor::End => "end",
            };
            let _ = write!(
                out,
                r#"<text x="{x:.2}" y="{y:.2}" font-size="{:.2}" text-anchor="{anchor}">{}</text>"#,
                points * POINT,
                escape(says),
            );
        }
        out.push_str("</g></svg>");
        out
    }
}

impl Lines {
    fn svg(&self, out: &mut String) {
        let Self { lines, weight, dashed } = self;
        let dash = if *dashed { r#" stroke-dasharray="1.6 1""# } else { "" };
        let mut way = String::new();
        // Writing to a string can't fail.
        for [x1, y1, x2, y2] in lines {
            let _ = write!(way, "M{x1:.2} {y1:.2}L{x2:.2} {y2:.2}");
        }
        let _ = write!(
            out,
            r##"<path d="{way}" fill="none" stroke="#000000" stroke-width="{weight:.2}"{dash}/>"##
        );
    }
}

impl Shape {
    fn svg(&self, out: &mut String) {
        // Writing to a string can't fail.
        match self {
            Self::Strip { way, wide, hex, second, .. } => {
                let points: Vec<String> = way.iter().map(|[x, y]| format!("{x:.2} {y:.2}")).collect();
                let way = format!("M{}", points.join("L"));
                let _ = write!(
                    out,
                    r##"<path d="{way}" fill="none" stroke="#000000" stroke-width="{:.2}" stroke-linejoin="round"/><path d="{way}" fill="none" stroke="{hex}" stroke-width="{wide:.2}" stroke-linejoin="round"/>"##,
                    wide + 2.0 * EDGE,
                );
                if *second {
                    let line = if is_dark(*hex) { "#ffffff" } else { "#000000" };
                    let _ = write!(
                        out,
                        r#"<path d="{way}" fill="none" stroke="{line}" stroke-width="{MIDDLE}" stroke-dasharray="1.6 1"/>"#
                    );
                }
            }
            Self::Disc { at: [x, y], radius, .. } => {
                let _ = write!(out, r##"<circle cx="{x:.2}" cy="{y:.2}" r="{radius:.2}" fill="#000000"/>"##);
            }
        }
    }
}
