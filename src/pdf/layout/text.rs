//! Text for paper: which font draws which character, how long a line is, in which direction it runs, and where it breaks.
//! Lengths are millimetres, sizes of type points.
use std::sync::LazyLock;

use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, UnicodeBuffer};
use unicode_bidi::{BidiInfo, Level};

/// Millimetres in a point (ISO 32000-1, 8.3.2.3: 72 points an inch).
pub(in crate::pdf) const POINT: f64 = 25.4 / 72.0;

/// How heavy type is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// As running text is.
    Regular,
    /// As headings are.
    Bold,
}

/// A font, to draw with and to shape with.
pub(in crate::pdf) struct Face {
    pub(in crate::pdf) font: Font,
    shaper: rustybuzz::Face<'static>,
    per_em: f32,
}

/// Noto Sans, and `DejaVu` Sans for what it lacks, such as Hebrew and Arabic; each regular and bold.
static FACES: LazyLock<Vec<Face>> = LazyLock::new(|| {
    let files: [&'static [u8]; 4] =
        [notosans::REGULAR_TTF, dejavu::sans::regular(), notosans::BOLD_TTF, dejavu::sans::bold()];
    let face = |file: &'static [u8]| {
        let (font, shaper) = (Font::new(file.into(), 0)?, rustybuzz::Face::from_slice(file, 0)?);
        let per_em = font.units_per_em();
        Some(Face { font, shaper, per_em })
    };
    files.into_iter().filter_map(face).collect()
});

impl Weight {
    /// The faces to try, in order.
    fn faces(self) -> [usize; 2] {
        match self {
            Self::Regular => [0, 1],
            Self::Bold => [2, 3],
        }
    }
}

/// A stretch of a line that one font draws, in one direction.
#[derive(Clone)]
pub(in crate::pdf) struct Piece {
    face: usize,
    pub(in crate::pdf) text: String,
    pub(in crate::pdf) glyphs: Vec<KrillaGlyph>,
    /// In ems.
    pub(in crate::pdf) width: f64,
}

impl Piece {
    pub(in crate::pdf) fn font(&self) -> Font {
        FACES[self.face].font.clone()
    }
}

/// A line of text, shaped: its pieces stand from left to right.
#[derive(Clone)]
pub struct Line {
    pub(in crate::pdf) pieces: Vec<Piece>,
    pub(in crate::pdf) points: f64,
    /// How long it is.
    pub width: f64,
}

/// Shapes a line of text, whatever its scripts and directions; the line as a whole runs from left to right.
pub fn line(text: &str, points: f64, weight: Weight) -> Line {
    let mut pieces = Vec::new();
    if text.is_ascii() {
        split(text, false, weight, &mut pieces);
    } else {
        let bidi = BidiInfo::new(text, Some(Level::ltr()));
        for paragraph in &bidi.paragraphs {
            let (levels, runs) = bidi.visual_runs(paragraph, paragraph.range.clone());
            for run in runs {
                let leftward = levels[run.start].is_rtl();
                split(&text[run], leftward, weight, &mut pieces);
            }
        }
    }
    let width = pieces.iter().map(|piece| piece.width).sum::<f64>() * points * POINT;
    Line { pieces, points, width }
}

/// Characters that direct text and have no look of their own: the bidirectional controls and joiners' kin that stand
/// between words (Unicode Standard Annex 9, 2).
const fn is_control(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{feff}')
}

/// Splits a run of one direction where the font changes, and shapes the pieces.
fn split(text: &str, leftward: bool, weight: Weight, into: &mut Vec<Piece>) {
    let faces = weight.faces();
    let covers = |face: usize, c: char| FACES[face].shaper.glyph_index(c).is_some();
    let mut found: Vec<(usize, String)> = Vec::new();
    for c in text.chars().filter(|c| !is_control(*c)) {
        let c = if c.is_control() { ' ' } else { c };
        // A mark stays with the letter it belongs to, and a blank with the word before it, where their font has them.
        let before =
            found.last().map(|(face, _)| *face).filter(|face| covers(*face, c) && !c.is_alphanumeric());
        let face = before.or_else(|| faces.into_iter().find(|face| covers(*face, c)));
        let (face, c) = face.map_or((faces[0], char::REPLACEMENT_CHARACTER), |face| (face, c));
        match found.last_mut() {
            Some((last, text)) if *last == face => text.push(c),
            _ => found.push((face, c.to_string())),
        }
    }
    if leftward {
        found.reverse();
    }
    into.extend(found.into_iter().map(|(face, text)| shape(face, text, leftward)));
}

fn shape(face: usize, text: String, leftward: bool) -> Piece {
    let Face { shaper, per_em, .. } = &FACES[face];
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(&text);
    buffer.guess_segment_properties();
    buffer.set_direction(if leftward { Direction::RightToLeft } else { Direction::LeftToRight });
    let shaped = rustybuzz::shape(shaper, &[], buffer);
    let mut starts: Vec<usize> = shaped.glyph_infos().iter().map(|info| info.cluster as usize).collect();
    starts.sort_unstable();
    starts.dedup();
    let end = |start: usize| match starts.binary_search(&start) {
        Ok(at) => starts.get(at + 1).copied().unwrap_or(text.len()),
        Err(_) => text.len(),
    };
    let em = |units: i32| units as f32 / per_em;
    let mut width = 0.0;
    let glyphs = shaped
        .glyph_infos()
        .iter()
        .zip(shaped.glyph_positions())
        .map(|(info, at)| {
            let start = info.cluster as usize;
            width += f64::from(em(at.x_advance));
            KrillaGlyph::new(
                GlyphId::new(info.glyph_id),
                em(at.x_advance),
                em(at.x_offset),
                em(at.y_offset),
                em(at.y_advance),
                start..end(start),
                None,
            )
        })
        .collect();
    Piece { face, text, glyphs, width }
}

/// How long a text is on one line.
pub fn width(text: &str, points: f64, weight: Weight) -> f64 {
    line(text, points, weight).width
}

/// How wide a blank is in ems: where some words are of another script it may be that script's font's.
fn blank_of(text: &str, weight: Weight) -> f64 {
    let [own, other] = weight.faces();
    let wide = |face| shape(face, " ".into(), false).width;
    let foreign = text.chars().any(|c| !c.is_control() && FACES[own].shaper.glyph_index(c).is_none());
    if foreign { wide(own).max(wide(other)) } else { wide(own) }
}

/// Breaks a text into lines no longer than `most`: between words, and within a word only where it alone is too long.
pub fn wrap(text: &str, points: f64, weight: Weight, most: f64) -> Vec<String> {
    let blank = blank_of(text, weight) * points * POINT;
    let mut lines = Vec::new();
    for paragraph in text.split('\n') {
        let (mut current, mut used) = (String::new(), 0.0);
        for word in paragraph.split(' ').filter(|word| !word.is_empty()) {
            let wide = width(word, points, weight);
            if !current.is_empty() && used + blank + wide <= most {
                current.push(' ');
                current.push_str(word);
                used += blank + wide;
                continue;
            }
            if !current.is_empty() {
                lines.push(std::mem::take(&mut current));
            }
            (current, used) = if wide <= most {
                (word.to_owned(), wide)
            } else {
                broken(word, points, weight, most, &mut lines)
            };
        }
        lines.push(current);
    }
    lines
}

/// Breaks a word that is longer than a line; gives its last part and how long that is.
fn broken(word: &str, points: f64, weight: Weight, most: f64, lines: &mut Vec<String>) -> (String, f64) {
    let chars: Vec<char> = word.chars().collect();
    let text = |range: std::ops::Range<usize>| chars[range].iter().collect::<String>();
    let mut from = 0;
    loop {
        let rest = text(from..chars.len());
        let wide = width(&rest, points, weight);
        if wide <= most || chars.len() - from <= 1 {
            return (rest, wide);
        }
        let to = longest(chars.len() - from, |n| width(&text(from..from + n), points, weight) <= most).max(1);
        lines.push(text(from..from + to));
        from += to;
    }
}

/// The largest number under `misfits` that fits, where a smaller one fits too: longer is never narrower by more than a kern.
fn longest(mut misfits: usize, fits: impl Fn(usize) -> bool) -> usize {
    let mut known = 0;
    while misfits - known > 1 {
        let middle = usize::midpoint(known, misfits);
        if fits(middle) { known = middle } else { misfits = middle }
    }
    known
}

/// A text no longer than `most`: cut short, with an ellipsis, where it would be.
pub fn shortened(text: &str, points: f64, weight: Weight, most: f64) -> String {
    if width(text, points, weight) <= most {
        return text.to_owned();
    }
    let chars: Vec<char> = text.chars().collect();
    let cut = |kept: usize| format!("{}…", chars[..kept].iter().collect::<String>().trim_end());
    cut(longest(chars.len(), |kept| width(&cut(kept), points, weight) <= most))
}
