//! Text for paper: which font draws which character, how long a line is, in which direction it runs, and where it breaks.
//! Lengths are millimetres, sizes of type points.
use krilla::text::{Font, GlyphId, KrillaGlyph};
use rustybuzz::{Direction, UnicodeBuffer};
use unicode_bidi::{BidiInfo, Level};

use super::figures;
use super::fonts::{Face, Strength, covering, own_faces};

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

impl Weight {
    const fn strength(self) -> Strength {
        match self {
            Self::Regular => Strength::Regular,
            Self::Bold => Strength::Bold,
        }
    }
}

/// A stretch of a line that one font draws, in one direction.
#[derive(Clone)]
pub(in crate::pdf) struct Piece {
    face: &'static Face,
    pub(in crate::pdf) text: String,
    pub(in crate::pdf) glyphs: Vec<KrillaGlyph>,
    /// In ems.
    pub(in crate::pdf) width: f64,
}

impl Piece {
    pub(in crate::pdf) fn font(&self) -> Font {
        self.face.font.clone()
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

impl Line {
    /// How much of it is seen: a blank that keeps its end apart from the next line is not.
    pub(in crate::pdf) fn seen(&self) -> f64 {
        match self.pieces.last() {
            Some(last) if last.text.len() > 1 && last.text.ends_with(' ') => {
                self.width - shape(last.face, " ".into(), false).width * self.points * POINT
            }
            _ => self.width,
        }
    }
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
    let mut found: Vec<(&'static Face, String)> = Vec::new();
    for (part, of_fraction) in figures::apart(text, weight.strength()) {
        match of_fraction {
            Some(face) => found.push((face, part.to_owned())),
            None => found.extend(by_face(part, weight.strength())),
        }
    }
    if leftward {
        found.reverse();
    }
    into.extend(found.into_iter().map(|(face, text)| shape(face, text, leftward)));
}

/// A text parted where the font changes.
fn by_face(text: &str, strength: Strength) -> Vec<(&'static Face, String)> {
    let mut found: Vec<(&'static Face, String)> = Vec::new();
    for c in text.chars().filter(|c| !is_control(*c)) {
        let c = if c.is_control() { ' ' } else { c };
        // A mark stays with the letter it belongs to, and a blank with the word before it, where their font has them; and a word
        // that needed a font of the system stays in that font.
        let own = || own_faces(strength).into_iter().find(|face| face.has(c));
        let before = found.last().map(|(face, _)| *face).filter(|face| face.has(c));
        let stays = before.filter(|face| !c.is_alphanumeric() || (face.of_system && own().is_none()));
        let face = stays.or_else(own).or_else(|| covering(c, strength));
        let (face, c) = match face {
            Some(face) => (face, c),
            None => (own_faces(strength)[0], char::REPLACEMENT_CHARACTER),
        };
        match found.last_mut() {
            Some((last, text)) if std::ptr::eq(*last, face) => text.push(c),
            _ => found.push((face, c.to_string())),
        }
    }
    found
}

/// The characters of a text that no font draws, each once: neither one of ours nor one of the system.
pub fn undrawn(text: &str) -> Vec<char> {
    let mut found = Vec::new();
    for c in text.chars().filter(|c| !is_control(*c) && !c.is_control()) {
        let own = own_faces(Strength::Regular).into_iter().any(|face| face.has(c));
        if !own && !found.contains(&c) && covering(c, Strength::Regular).is_none() {
            found.push(c);
        }
    }
    found
}

fn shape(face: &'static Face, text: String, leftward: bool) -> Piece {
    let Face { shaper, per_em, .. } = face;
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
    let glyphs = shaped
        .glyph_infos()
        .iter()
        .zip(shaped.glyph_positions())
        .map(|(info, at)| {
            let start = info.cluster as usize;
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
    let glyphs = if leftward { glyphs } else { figures::set(face, &text, glyphs) };
    let width = glyphs.iter().map(|glyph: &KrillaGlyph| f64::from(glyph.x_advance)).sum();
    Piece { face, text, glyphs, width }
}

/// How long a text is on one line.
pub fn width(text: &str, points: f64, weight: Weight) -> f64 {
    line(text, points, weight).width
}

/// How wide a blank is in ems: where some words are of another script it may be that script's font's.
fn blank_of(text: &str, weight: Weight) -> f64 {
    let own = own_faces(weight.strength());
    let wide = |face| shape(face, " ".into(), false).width;
    let foreign = text.chars().filter(|c| !c.is_control() && !own[0].has(*c));
    let drawn = |c: char| if own[1].has(c) { Some(own[1]) } else { covering(c, weight.strength()) };
    foreign.filter_map(drawn).filter(|face| face.has(' ')).map(wide).fold(wide(own[0]), f64::max)
}

/// Breaks a text into lines no longer than `most`: between words, and within a word only where it alone is too long.
pub fn wrap(text: &str, points: f64, weight: Weight, most: f64) -> Vec<String> {
    let mut lines = wrapped(text, points, weight, most);
    for line in &mut lines {
        line.truncate(line.trim_end_matches(' ').len());
    }
    lines
}

/// The same lines as they are drawn: where a blank stood the line before keeps it, so that somebody who listens hears two words.
pub(in crate::pdf) fn wrapped(text: &str, points: f64, weight: Weight, most: f64) -> Vec<String> {
    let blank = blank_of(text, weight) * points * POINT;
    let mut lines: Vec<String> = Vec::new();
    for paragraph in text.split('\n') {
        if let Some(last) = lines.last_mut() {
            last.push(' ');
        }
        let (mut current, mut used) = (String::new(), 0.0);
        for word in &glued(paragraph) {
            let wide = width(word, points, weight);
            // What belongs together breaks only where it alone is longer than a line.
            if wide > most && word.contains(' ') {
                for part in word.split(' ') {
                    (current, used) = placed(
                        (part, width(part, points, weight)),
                        (current, used),
                        (points, weight, blank),
                        most,
                        &mut lines,
                    );
                }
                continue;
            }
            (current, used) =
                placed((word, wide), (current, used), (points, weight, blank), most, &mut lines);
        }
        lines.push(current);
    }
    lines
}

/// Puts a word and its length on the line so far, or on the next; gives that line and how long it is.
fn placed(
    (word, wide): (&str, f64),
    (mut line, used): (String, f64),
    (points, weight, blank): (f64, Weight, f64),
    most: f64,
    lines: &mut Vec<String>,
) -> (String, f64) {
    if !line.is_empty() && used + blank + wide <= most {
        line.push(' ');
        line.push_str(word);
        return (line, used + blank + wide);
    }
    if !line.is_empty() {
        line.push(' ');
        lines.push(line);
    }
    if wide <= most { (word.to_owned(), wide) } else { broken(word, points, weight, most, lines) }
}

/// Units that stand behind their number, and words before one.
const UNITS: [&str; 13] = ["in", "ft", "yd", "mm", "cm", "m", "oz", "lb", "g", "kg", "h", "min", "%"];
const BEFORE: [&str; 5] = ["row", "rows", "band", "bundle", "frame"];

/// The words of a text as lines may break between them: a number stays with its fraction and its unit, and what is counted with
/// its number.
pub(in crate::pdf) fn glued(text: &str) -> Vec<String> {
    let bare = |word: &str| word.trim_matches(|c: char| "()[],.;:“”".contains(c)).to_owned();
    let number = |word: &str| word.chars().any(|c| c.is_ascii_digit() || "¼½¾".contains(c));
    let mut found: Vec<String> = Vec::new();
    let mut before = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let (this, ends) = (bare(word), before.ends_with([',', ';', '.', ')', ':']));
        let last = bare(&before);
        let fraction = number(&this) && this.contains('/');
        let belongs = number(&last) && (UNITS.contains(&this.as_str()) || fraction)
            // `1–24 (24)`.
            || number(&last) && word.starts_with('(') && number(&this)
            // `2 lb 3 oz`, `1 h 20 min`.
            || ["lb", "h", "ft"].contains(&last.as_str()) && number(&this)
            || BEFORE.contains(&last.to_lowercase().as_str()) && number(&this);
        match found.last_mut().filter(|_| belongs && !ends) {
            Some(piece) => {
                piece.push(' ');
                piece.push_str(word);
            }
            None => found.push(word.to_owned()),
        }
        word.clone_into(&mut before);
    }
    found
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
        let fits = |n: usize| width(&text(from..from + n), points, weight) <= most;
        let mut to = longest(chars.len() - from, fits).max(1);
        // A mark stays with its letter.
        while to > 1 && is_mark(chars[from + to]) {
            to -= 1;
        }
        lines.push(text(from..from + to));
        from += to;
    }
}

/// Whether a character belongs to the one before it: vowels, tones and signs of the scripts of India, of Thai and Lao, combining
/// marks, joiners, skin tones (Unicode 16, code charts).
const fn is_mark(c: char) -> bool {
    let of_india = matches!(c, '\u{900}'..='\u{d7f}')
        && matches!(c as u32 % 0x80, 0x00..=0x03 | 0x3c | 0x3e..=0x4d | 0x57);
    of_india
        || matches!(c,
            '\u{300}'..='\u{36f}' | '\u{200c}'..='\u{200d}' | '\u{fe00}'..='\u{fe0f}' | '\u{1f3fb}'..='\u{1f3ff}'
            | '\u{e31}' | '\u{e34}'..='\u{e3a}' | '\u{e47}'..='\u{e4e}'
            | '\u{eb1}' | '\u{eb4}'..='\u{ebc}' | '\u{ec8}'..='\u{ece}')
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
