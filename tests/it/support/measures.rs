//! Lengths, weights and times as people read them, turned back into numbers: apart from the program's own reading. One inch is
//! 25.4 mm and one pound 453.59237 g exactly. Source: international yard and pound, 1959.

/// A whole number, a decimal one, `5/8`, or `½` after a whole one.
fn number(word: &str) -> f64 {
    let fractions = [('¼', 0.25), ('½', 0.5), ('¾', 0.75)];
    let last = word.chars().last().unwrap_or(' ');
    if let Some((_, part)) = fractions.iter().find(|(sign, _)| *sign == last) {
        let whole = word.trim_end_matches(last);
        return part + if whole.is_empty() { 0.0 } else { number(whole) };
    }
    match word.split_once('/') {
        Some((above, below)) => number(above) / number(below),
        None => word.parse().unwrap_or_else(|_| panic!("{word:?} is no number")),
    }
}

/// Numbers and their units, added up: `2 ft 9 in`, `15 5/8 in`.
fn sum(text: &str, units: &[(&str, f64)]) -> f64 {
    let (mut whole, mut open) = (0.0, 0.0);
    for word in text.split_whitespace() {
        match units.iter().find(|(name, _)| *name == word) {
            Some((_, one)) => {
                whole += open * one;
                open = 0.0;
            }
            None => open += number(word),
        }
    }
    assert!(open == 0.0, "{text:?} ends without a unit");
    whole
}

pub fn mm(text: &str) -> f64 {
    sum(text, &[("yd", 914.4), ("ft", 304.8), ("in", 25.4), ("m", 1000.0), ("cm", 10.0), ("mm", 1.0)])
}

pub fn grams(text: &str) -> f64 {
    sum(text, &[("lb", 453.592_37), ("oz", 453.592_37 / 16.0), ("kg", 1000.0), ("g", 1.0)])
}

pub fn minutes(text: &str) -> f64 {
    sum(text, &[("h", 60.0), ("min", 1.0)])
}

/// Asserts that a written length, weight or time is that number, as near as it is written.
#[track_caller]
pub fn shows(what: &str, text: &str, wanted: f64, read: fn(&str) -> f64, within: f64) {
    let found = read(text);
    assert!((found - wanted).abs() <= within, "{what}: {text} is {found:.2}, not {wanted:.2}");
}

/// How near long strips are written: a tenth of a yard.
pub const STRIP: f64 = 914.4 / 20.0 + 0.01;
/// How near lengths are written: an eighth of an inch at the coarsest.
pub const INCH: f64 = 25.4 / 16.0 + 0.01;
/// How near weights are written: half an ounce.
pub const OUNCE: f64 = 453.592_37 / 64.0 + 0.01;
/// How near times are written: five minutes.
pub const TIME: f64 = 2.51;

#[test]
fn what_people_write_is_read() {
    assert_eq!((mm("15 5/8 in"), mm("2 ft 9 in"), mm("1.5 yd")), (396.875, 838.2, 1371.6));
    assert!((grams("1 lb 8½ oz") - 24.5 * 453.592_37 / 16.0).abs() < 1e-9);
    assert_eq!((minutes("7 h 5 min"), grams("½ oz"), minutes("45 min")), (425.0, 453.592_37 / 32.0, 45.0));
}
