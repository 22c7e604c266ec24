//! Lengths and weights as people write them, built up from parts whose exact size is known, and what must be refused.
use super::contact::{read_length, read_mass, shown_length, shown_mass, within};
use proptest::prelude::*;

/// A unit: ways to write it, and its size as a fraction of a nanometre or a milligram.
/// Source: NIST SP 811 (2008) appendix B.8; international yard and pound, 1959: 1 in = 25.4 mm, 1 lb = 0.453 592 37 kg.
type Unit = (&'static [&'static str], i128, i128);
const INCH: Unit = (&["in", "inch", "inches", "\"", "″", "”", "IN", "In.", "''"], 25_400_000, 1);
const FOOT: Unit = (&["ft", "foot", "feet", "'", "′", "’", "FT.", "Ft"], 304_800_000, 1);
const YARD: Unit = (&["yd", "yds", "yard", "yards", "yd.", "YD"], 914_400_000, 1);
const MILLIMETRE: Unit =
    (&["mm", "millimetre", "millimetres", "millimeter", "millimeters", "MM"], 1_000_000, 1);
const CENTIMETRE: Unit =
    (&["cm", "centimetre", "centimetres", "centimeter", "centimeters", "cm."], 10_000_000, 1);
const METRE: Unit = (&["m", "metre", "metres", "meter", "meters", "M"], 1_000_000_000, 1);
const OUNCE: Unit = (&["oz", "ounce", "ounces", "oz.", "OZ"], 45_359_237, 1600);
const POUND: Unit = (&["lb", "lbs", "pound", "pounds", "lb.", "LBS"], 45_359_237, 100);
const MILLIGRAM: Unit = (&["mg", "milligram", "milligrams"], 1, 1);
const GRAM: Unit = (&["g", "gram", "grams", "G"], 1_000, 1);
const KILOGRAM: Unit = (&["kg", "kilo", "kilos", "kilogram", "kilograms", "KG"], 1_000_000, 1);

const IMPERIAL_LENGTHS: [Unit; 3] = [YARD, FOOT, INCH];
const METRIC_LENGTHS: [Unit; 3] = [METRE, CENTIMETRE, MILLIMETRE];
const IMPERIAL_MASSES: [Unit; 2] = [POUND, OUNCE];
const METRIC_MASSES: [Unit; 3] = [KILOGRAM, GRAM, MILLIGRAM];

/// The nearest whole number, halves to the even one.
fn nearest(num: i128, den: i128) -> i128 {
    let twice = 2 * num + den;
    let (up, exact_half) = (twice.div_euclid(2 * den), twice % (2 * den) == 0);
    if exact_half && up % 2 != 0 { up - 1 } else { up }
}

/// A number as it may be written, and its exact value as a fraction.
fn any_number() -> impl Strategy<Value = (String, i128, i128)> {
    let vulgar = prop::sample::select(vec![
        ('½', 1, 2),
        ('¼', 1, 4),
        ('¾', 3, 4),
        ('⅓', 1, 3),
        ('⅔', 2, 3),
        ('⅛', 1, 8),
        ('⅜', 3, 8),
        ('⅝', 5, 8),
        ('⅞', 7, 8),
        ('⅕', 1, 5),
        ('⅖', 2, 5),
        ('⅗', 3, 5),
        ('⅘', 4, 5),
        ('⅙', 1, 6),
        ('⅚', 5, 6),
        ('⅐', 1, 7),
        ('⅑', 1, 9),
        ('⅒', 1, 10),
    ]);
    let slash = prop::sample::select(vec!["/", "⁄", "∕", " / "]);
    let between = prop::sample::select(vec![" ", "-", "  ", "\u{a0}"]);
    (0_i128..400, 0_i128..10_000, 1_i128..65, 0_i128..200, 0_u8..6, vulgar, slash, between).prop_map(
        |(whole, decimals, den, above, how, (sign, v_num, v_den), slash, between)| match how {
            0 => (whole.to_string(), whole, 1),
            1 => (format!("{whole}.{decimals:04}"), whole * 10_000 + decimals, 10_000),
            // A decimal comma, but never before just three digits.
            2 => (format!("{whole},{decimals:04}"), whole * 10_000 + decimals, 10_000),
            3 => (format!("{above}{slash}{den}"), above, den),
            4 => (format!("{whole}{between}{above}{slash}{den}"), whole * den + above, den),
            _ => (format!("{whole}{sign}"), whole * v_den + v_num, v_den),
        },
    )
}

/// Whole larger units down to any number of the smallest named one: text and exact value.
fn any_text(units: &'static [Unit]) -> impl Strategy<Value = (String, i128)> {
    let parts = prop::collection::vec((0_usize..units.len(), 0_i128..40), 0..units.len());
    let space = prop::sample::select(vec!["", " ", "  ", "\u{202f}"]);
    let comma = prop::sample::select(vec!["", " ", ", "]);
    (parts, any_number(), 0_usize..units.len(), any::<u8>(), space, comma, any::<bool>()).prop_map(
        move |(mut larger, (text, num, den), last, name, space, comma, negative)| {
            larger.retain(|(at, _)| *at < last);
            larger.sort_unstable();
            larger.dedup_by_key(|(at, _)| *at);
            let named = |at: usize| units[at].0[usize::from(name) % units[at].0.len()];
            let (mut said, mut total) = (String::new(), 0);
            for (at, whole) in larger {
                said.push_str(&format!("{whole}{space}{}{comma}", named(at)));
                total += nearest(whole * units[at].1, units[at].2);
            }
            said.push_str(&format!("{text}{space}{}", named(last)));
            total += nearest(num * units[last].1, den * units[last].2);
            if negative { (format!("-{said}"), -total) } else { (said, total) }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn any_way_of_writing_a_length_is_read_exactly(
        (inches, nm) in any_text(&IMPERIAL_LENGTHS), (metric, metric_nm) in any_text(&METRIC_LENGTHS), in_metric: bool,
    ) {
        prop_assert_eq!(read_length(&inches, in_metric).map(i128::from), Ok(nm), "{}", inches);
        prop_assert_eq!(read_length(&metric, in_metric).map(i128::from), Ok(metric_nm), "{}", metric);
    }

    #[test]
    fn any_way_of_writing_a_weight_is_read_exactly(
        (ounces, mg) in any_text(&IMPERIAL_MASSES), (grams, metric_mg) in any_text(&METRIC_MASSES), in_metric: bool,
    ) {
        prop_assert_eq!(read_mass(&ounces, in_metric).map(i128::from), Ok(mg), "{}", ounces);
        prop_assert_eq!(read_mass(&grams, in_metric).map(i128::from), Ok(metric_mg), "{}", grams);
    }

    /// A bare number is in the person's own unit, and a weight never is.
    #[test]
    fn a_bare_number_is_in_the_persons_unit((text, num, den) in any_number()) {
        prop_assert_eq!(read_length(&text, false).map(i128::from), Ok(nearest(num * 25_400_000, den)), "{}", text);
        prop_assert_eq!(read_length(&text, true).map(i128::from), Ok(nearest(num * 10_000_000, den)), "{}", text);
        prop_assert!(read_mass(&text, true).is_err() && read_mass(&text, false).is_err(), "{}", text);
    }

    /// Units that don't go from larger to smaller, in one system, each but the last whole, are a slip.
    #[test]
    fn parts_that_do_not_go_down_are_refused(
        a in 1_u32..20, b in 1_u32..20, from in 0_usize..6, to in 0_usize..6, name in 0_usize..3, mass: bool,
    ) {
        let units = if mass { [POUND, OUNCE, KILOGRAM, GRAM, MILLIGRAM, OUNCE] } else { [YARD, FOOT, INCH, METRE, CENTIMETRE, MILLIMETRE] };
        let system = |at: usize| if mass { (2..5).contains(&at) } else { at >= 3 };
        let (one, two) = (units[from], units[to]);
        let down = system(from) == system(to) && one.1 * two.2 > two.1 * one.2;
        let text = format!("{a} {} {b} {}", one.0[name], two.0[name]);
        for metric in [false, true] {
            let read = if mass { read_mass(&text, metric) } else { read_length(&text, metric) };
            prop_assert_eq!(read.is_ok(), down, "{} was read as {:?}", text, read);
        }
        let fraction = format!("{a} 1/2 {} {b} {}", one.0[name], two.0[name]);
        let read = if mass { read_mass(&fraction, false) } else { read_length(&fraction, false) };
        prop_assert!(read.is_err(), "{} was read as {:?}", fraction, read);
    }

    /// What is shown to people lies within half a mark of the value.
    #[test]
    fn what_people_are_shown_is_rounded_to_the_nearest_mark(nm in 0_i64..9_000_000_000, mg in 0_i64..30_000_000, minus: bool) {
        let sign = if minus { -1 } else { 1 };
        for metric in [false, true] {
            let text = shown_length(sign * nm, metric, false);
            let read = sign * read_length(&text, metric).unwrap();
            let mark = if !metric { if nm < 304_800_000 { 25_400_000 / 16 } else { 25_400_000 / 8 } }
                else if nm < 10_000_000 { 100_000 } else { 1_000_000 };
            prop_assert!((read - nm).abs() <= mark / 2 + 1, "{} nm is shown as {}", nm, text);
            prop_assert_eq!(text.starts_with('−'), minus, "{}", text);
            let long = shown_length(nm, metric, true);
            let one = if metric { 1_000_000_000 } else { 914_400_000 };
            if nm >= one {
                prop_assert!((read_length(&long, metric).unwrap() - nm).abs() <= one / 20 + 1, "{} nm is shown as {}", nm, long);
                prop_assert!(long.ends_with(if metric { " m" } else { " yd" }), "{}", long);
            } else {
                prop_assert_eq!(long, shown_length(nm, metric, false));
            }
            let text = shown_mass(sign * mg, metric);
            let read = sign * read_mass(&text, metric).unwrap();
            let ounce = 28_350;
            let mark = if metric { if mg < 10_000 { 100 } else if mg < 10_000_000 { 1_000 } else { 10_000 } }
                else if mg < ounce { ounce / 100 } else if mg < 8 * ounce { ounce / 4 } else { ounce / 2 };
            prop_assert!((read - mg).abs() <= mark / 2 + 2, "{} mg is shown as {}", mg, text);
        }
    }
}

/// What nobody can mean one thing by is refused, whichever units the reader has.
#[test]
fn nonsense_is_refused() {
    for text in [
        "2 ft 3 ft",
        "2 in 3 in",
        "2' 3'",
        "2\" 3\"",
        "1 yd 1 yd",
        "3 cm 4 cm",
        "1 m 1 m",
        "2 in 3 ft",
        "3 ft 2 yd",
        "5 mm 2 cm",
        "2 ft 3 cm",
        "1 m 2 in",
        "2 ft 3.5 ft",
        "2 yd 3 ft 4 ft",
        "1 ft 2 in 3 in",
        "2 ft 3 yd",
        "1/2 ft 3 in",
        "1.5 ft 3 in",
        "1 1/2 ft 1 in",
        "½ ft 3 in",
        "1.0 ½ in 3",
        "--1 in",
        "-1 ft -2 in",
        "1 ft -2 in",
        "1 - in",
        "in",
        "ft 3",
        "'",
        "\"",
        "3/ in",
        "/3 in",
        "1//2 in",
        "1/2/3 in",
        "1 1 1/2 in",
        "1 1 in",
        "1.5.5 in",
        "1,5,5 in",
        ",,5 in",
        "1.5,5 in",
        "1,000,00 in",
        "1,5 1/2 in",
        "1.5 1/2 in",
        "1.5½ in",
        "½½ in",
        "1½½ in",
        "½1 in",
        "1 in.. ",
        "1 inn",
        "1 i",
        "1 km",
        "1 mile",
        "1 lb",
        "2 oz",
        "3 g",
        "1e2 in",
        "0x10 in",
        "1_000 in",
        "1 000 000 in x",
        "١ in",
        "Ⅻ in",
        "１ in",
        "two in",
        "+1 in",
        "~1 in",
        "1±1 in",
        "1/0 in",
        "0/0 in",
        "1/1234567 in",
        "5. in",
        "5, in",
        "5 in,",
        "5 in, ",
        "5 in, 3",
        "1,234 in",
        "12,345 in",
        "1,234 ft 2 in",
        "0,125 in",
    ] {
        for metric in [false, true] {
            assert!(
                read_length(text, metric).is_err(),
                "“{text}” was read as {:?} nm",
                read_length(text, metric)
            );
        }
    }
    for text in [
        "2 lb 3 lb",
        "3 oz 2 oz",
        "2 oz 1 lb",
        "1 lb 3 kg",
        "1 kg 2 oz",
        "1 kg 2 kg",
        "5 g 1 kg",
        "1 lb 2",
        "1.5 lb 2 oz",
        "½ lb 2 oz",
        "2 ft",
        "1 in",
        "3",
        "3.5",
        "½",
        "1 stone",
        "1 ton",
        "1 fl oz",
        "1 lb -2 oz",
        "1,006 kg",
        "2,125 lb",
        "2 lb 1,006 oz",
    ] {
        for metric in [false, true] {
            assert!(
                read_mass(text, metric).is_err(),
                "“{text}” was read as {:?} mg",
                read_mass(text, metric)
            );
        }
    }
    for (text, nm) in [
        ("1,234,567 mm", 1_234_567_000_000),
        ("1,234.5 in", 31_356_300_000),
        ("999,999.999 mm", 999_999_999_000),
    ] {
        let read = read_length(text, false);
        assert_eq!(read.clone().unwrap_or(0), nm, "{text}: {read:?}");
    }
}

/// The largest that is read, and one more: on both sides of zero.
#[test]
fn the_largest_that_is_read() {
    assert_eq!(read_length("1000000 m", true), Ok(1_000_000_000_000_000));
    assert_eq!(read_length("-1000000 m", true), Ok(-1_000_000_000_000_000));
    assert!(
        read_length("1000000.000000001 m", true).is_err()
            && read_length("-1000000.000000001 m", true).is_err()
    );
    assert_eq!(read_mass("1000000 kg", true), Ok(1_000_000_000_000));
    assert!(read_mass("1000000.000001 kg", true).is_err());
    assert_eq!(read_length("0000000000001 in", false), Ok(25_400_000), "thirteen digits");
    assert!(read_length("00000000000001 in", false).is_err(), "fourteen");
    assert_eq!(read_length("1/999999 in", false), Ok(25));
    let spaces = |n: usize| format!("1{}in", " ".repeat(n));
    assert_eq!(read_length(&spaces(77), false), Ok(25_400_000), "80 characters");
    assert!(read_length(&spaces(78), false).is_err(), "81");
}

/// Both ends of a range are in it, and one more isn't; nothing and less are told apart.
#[test]
fn a_range_has_both_its_ends() {
    let told = |nm: i64| within(nm, 10, 20);
    assert_eq!([9, 10, 15, 20, 21, 0, -1].map(told), ["outside", "", "", "", "outside", "zero", "negative"]);
    assert_eq!(within(0, -5, 5), "");
}

/// By hand, what the marks of a tape and of a kitchen scale show.
#[test]
fn marks_by_hand() {
    let inch = 25_400_000;
    for (nm, inches, metric) in [
        (0, "0 in", "0.0 mm"),
        (inch / 32 - 1, "0 in", "0.8 mm"),
        (inch / 32, "1/16 in", "0.8 mm"),
        (3 * inch / 16, "3/16 in", "4.8 mm"),
        (inch / 2, "1/2 in", "1.3 cm"),
        (9_949_999, "3/8 in", "9.9 mm"),
        (12 * inch - 1, "12 in", "30.5 cm"),
        (12 * inch + inch / 8, "12 1/8 in", "30.8 cm"),
        (11 * inch + 15 * inch / 16, "11 15/16 in", "30.3 cm"),
        (13 * inch + inch / 16, "13 1/8 in", "33.2 cm"),
    ] {
        assert_eq!(
            (shown_length(nm, false, false).as_str(), shown_length(nm, true, false).as_str()),
            (inches, metric),
            "{nm}"
        );
    }
    for (mg, ounces, grams) in [
        (0, "0 oz", "0 g"),
        (2_835, "0.1 oz", "2.8 g"),
        (28_350, "1 oz", "28 g"),
        (9_949, "0.35 oz", "9.9 g"),
        (9_950, "0.35 oz", "10 g"),
        (10_499, "0.37 oz", "10 g"),
        (10_500, "0.37 oz", "11 g"),
        (212_621, "7 1/2 oz", "213 g"),
        (219_709, "7 3/4 oz", "220 g"),
        (233_884, "8 1/2 oz", "234 g"),
        (453_592, "1 lb", "454 g"),
        (453_592 + 14_175, "1 lb 1/2 oz", "468 g"),
        (907_185 + 99_223, "2 lb 3 1/2 oz", "1006 g"),
        (9_999_499, "22 lb 1/2 oz", "9999 g"),
        (10_000_000, "22 lb 1/2 oz", "10.00 kg"),
    ] {
        assert_eq!((shown_mass(mg, false).as_str(), shown_mass(mg, true).as_str()), (ounces, grams), "{mg}");
    }
}
