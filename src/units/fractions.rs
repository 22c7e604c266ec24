//! Fractions of an inch or an ounce as signs: ¾, or ³⁄₁₆ where there is none. Where they stand in a text is found here; how a page or
//! a paper sets them is theirs.
use std::ops::Range;

/// A fraction's sign: numerator, denominator. Unicode has these in Latin-1 Supplement and Number Forms.
const SIGNS: [(&str, &str, char); 7] = [
    ("1", "2", '½'),
    ("1", "4", '¼'),
    ("3", "4", '¾'),
    ("1", "8", '⅛'),
    ("3", "8", '⅜'),
    ("5", "8", '⅝'),
    ("7", "8", '⅞'),
];

/// Every fraction in a text: where it stands, and its sign.
pub(crate) fn fractions(text: &str) -> Vec<(Range<usize>, String)> {
    let bytes = text.as_bytes();
    let (mut found, mut at) = (Vec::new(), 0);
    while at < bytes.len() {
        if !bytes[at].is_ascii_digit() {
            at += 1;
            continue;
        }
        let end = digits(bytes, at);
        let fraction = fraction(text, at, end);
        let after = fraction.as_ref().map_or(end, |(after, _)| *after);
        found.extend(fraction.map(|(after, sign)| (at..after, sign)));
        at = after;
    }
    found
}

/// Where a number that begins at `at` ends, its decimals among it.
pub(crate) fn digits(bytes: &[u8], at: usize) -> usize {
    let mut end = at;
    while end < bytes.len()
        && (bytes[end].is_ascii_digit()
            || (matches!(bytes[end], b'.' | b',') && bytes.get(end + 1).is_some_and(u8::is_ascii_digit)))
    {
        end += 1;
    }
    end
}

/// The fraction whose numerator stands from `at` to `end`: where it ends, and its sign. Of halves to sixty-fourths alone: `2/3` may be
/// anything.
pub(crate) fn fraction(text: &str, at: usize, end: usize) -> Option<(usize, String)> {
    let bytes = text.as_bytes();
    let lower = digits(bytes, end + 1);
    if bytes.get(end) != Some(&b'/') || lower == end + 1 {
        return None;
    }
    let (above, below) = (&text[at..end], &text[end + 1..lower]);
    let apart = |byte: Option<&u8>| {
        byte.is_none_or(|byte| !(byte.is_ascii_alphanumeric() || matches!(byte, b'/' | b'-' | b':' | b'.')))
    };
    let before = at.checked_sub(1).and_then(|before| bytes.get(before));
    let after_dot = bytes.get(lower) == Some(&b'.');
    if !apart(before) || !(apart(bytes.get(lower)) || after_dot) {
        return None;
    }
    let (over, under): (u32, u32) = (above.parse().ok()?, below.parse().ok()?);
    if !matches!(under, 2 | 4 | 8 | 16 | 32 | 64) || over == 0 || over >= under {
        return None;
    }
    let known = SIGNS.iter().find(|(over, under, _)| *over == above && *under == below);
    let sign = known.map_or_else(|| composed(above, below), |(.., sign)| sign.to_string());
    Some((lower, sign))
}

/// A fraction that has no sign of its own, of raised and lowered figures about the fraction slash (U+2044).
fn composed(above: &str, below: &str) -> String {
    const RAISED: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    const LOWERED: [char; 10] = ['₀', '₁', '₂', '₃', '₄', '₅', '₆', '₇', '₈', '₉'];
    let of = |signs: [char; 10], digits: &str| -> String {
        digits.bytes().filter_map(|digit| signs.get(usize::from(digit.wrapping_sub(b'0')))).collect()
    };
    format!("{}⁄{}", of(RAISED, above), of(LOWERED, below))
}
