//! What the numbers of a font's glyphs mean, and how wide the glyphs are (ISO 32000-1, 9.7 and 9.10.3).
use std::collections::HashMap;

use hayro_syntax::object::{Array, Dict, Name, Object, Stream};

pub struct Font {
    letters: HashMap<u16, String>,
    /// In thousandths of an em.
    widths: HashMap<u16, f64>,
    pub bold: bool,
}

/// A text string of the file: UTF-16 with its mark, else taken for ASCII.
pub fn told(bytes: &[u8]) -> String {
    match bytes {
        [0xfe, 0xff, rest @ ..] => utf16(rest),
        plain => String::from_utf8_lossy(plain).into_owned(),
    }
}

fn utf16(bytes: &[u8]) -> String {
    let units: Vec<u16> =
        bytes.chunks_exact(2).map(|pair| u16::from_be_bytes(pair.try_into().unwrap())).collect();
    String::from_utf16(&units).unwrap()
}

impl Font {
    pub fn read(dict: &Dict<'_>) -> Self {
        let name: Name<'_> = dict.get("BaseFont").expect("a font has a name");
        let bold = name.as_str().contains("Bold");
        let map: Stream<'_> = dict.get("ToUnicode").expect("a font says what its glyphs mean");
        let letters = letters(&String::from_utf8_lossy(&map.decoded().unwrap()));
        let below: Array<'_> = dict.get("DescendantFonts").expect("a composite font");
        let below: Dict<'_> = below.iter::<Dict<'_>>().next().unwrap();
        let widths = below.get("W").map(|array: Array<'_>| widths(&array)).unwrap_or_default();
        Self { letters, widths, bold }
    }

    pub fn letter(&self, glyph: u16) -> &str {
        self.letters.get(&glyph).map_or("\u{fffd}", String::as_str)
    }

    pub fn width(&self, glyph: u16) -> f64 {
        self.widths.get(&glyph).copied().unwrap_or(0.0)
    }
}

/// `first last width`, or `first [width width …]`.
fn widths(array: &Array<'_>) -> HashMap<u16, f64> {
    let mut found = HashMap::new();
    let mut numbers: Vec<f64> = Vec::new();
    for item in array.iter::<Object<'_>>() {
        match item {
            Object::Number(number) => numbers.push(number.as_f64()),
            Object::Array(list) => {
                let first = numbers.pop().unwrap() as u16;
                for (n, width) in list.iter::<Object<'_>>().enumerate() {
                    let Object::Number(width) = width else { panic!("a width is a number") };
                    found.insert(first + n as u16, width.as_f64());
                }
            }
            other => panic!("{other:?} among widths"),
        }
        if let [first, last, width] = numbers[..] {
            found.extend((first as u16..=last as u16).map(|glyph| (glyph, width)));
            numbers.clear();
        }
    }
    found
}

/// The lines `<glyph> <letters>` and `<first> <last> <letter>` of a map.
fn letters(map: &str) -> HashMap<u16, String> {
    let hex = |text: &str| -> Vec<u8> {
        (0..text.len() / 2).map(|n| u8::from_str_radix(&text[2 * n..2 * n + 2], 16).unwrap()).collect()
    };
    let mut found = HashMap::new();
    let mut ranges = None;
    for line in map.lines() {
        match line.trim() {
            text if text.ends_with("beginbfchar") => ranges = Some(false),
            text if text.ends_with("beginbfrange") => ranges = Some(true),
            text if text.starts_with("endbf") => ranges = None,
            text => {
                let Some(range) = ranges else { continue };
                let parts: Vec<&str> =
                    text.split(['<', '>']).map(str::trim).filter(|part| !part.is_empty()).collect();
                let glyph = |text: &str| u16::from_str_radix(text, 16).unwrap();
                match (range, parts.as_slice()) {
                    (false, [one, says]) => {
                        found.insert(glyph(one), utf16(&hex(says)));
                    }
                    (true, [first, last, says]) => {
                        let start = u16::from_str_radix(says, 16).unwrap();
                        for (n, one) in (glyph(first)..=glyph(last)).enumerate() {
                            found.insert(one, utf16(&(start + n as u16).to_be_bytes()));
                        }
                    }
                    _ => panic!("{text:?} in a map of letters"),
                }
            }
        }
    }
    found
}
