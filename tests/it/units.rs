//! Reading and writing lengths and weights.
use proptest::prelude::*;
use thrumhall::units::{Areal, Length, Mass, RangeError, UnitError, Units};

use crate::support::named::assert_names;
use Units::{Inches, Metric};

fn nm(text: &str) -> i64 {
    Length::parse(text, Inches).unwrap_or_else(|e| panic!("{e}")).nm()
}

fn mg(text: &str) -> i64 {
    Mass::parse(text, Inches).unwrap_or_else(|e| panic!("{e}")).mg()
}

/// Source: NIST SP 811 (2008) appendix B.8; NIST Handbook 44 appendix C; international yard and pound, 1959 (from
/// memory, recomputed).
#[test]
fn published_factors() {
    assert_eq!(nm("1 in"), 25_400_000);
    assert_eq!(nm("1 yd"), 914_400_000);
    assert_eq!(nm("36 in"), nm("0.9144 m"));
    assert_eq!(nm("12 ft"), nm("3.6576 m"));
    assert_eq!(nm("1/64 in"), 396_875);
    assert_eq!(mg("16 oz"), mg("1 lb"));
    assert_eq!(mg("1 lb"), 453_592, "453 592.37 mg");
    assert_eq!(mg("100 lb"), 45_359_237);
    assert_eq!(mg("1600 oz"), 45_359_237);
    assert_eq!(mg("1 oz"), 28_350, "28 349.523 125 mg");
    assert_eq!(Length::inches(1.0).nm(), 25_400_000);
    assert_eq!(Mass::from_pounds(1.0).mg(), 453_592);
    // SP 811 prints 3.390 575 E-02 kg/m² for 1 oz/yd².
    assert!((Areal::from_oz_yd2(1.0).gsm() - 33.905_747_474_882_3).abs() < 1e-9);
    for (oz, gsm) in [(4.0, 135.6230), (8.0, 271.2460), (14.5, 491.6333)] {
        assert!((Areal::from_oz_yd2(oz).gsm() - gsm).abs() < 1e-4);
    }
    for (gsm, oz) in [(120.0, 3.53922), (150.0, 4.42403), (300.0, 8.84806)] {
        assert!((Areal::from_gsm(gsm).oz_yd2() - oz).abs() < 1e-5);
    }
}

/// Source: ISO 3801:1977, ASTM D3776 (from memory): mass over area; five 100 cm² specimens; a sheet of 81 × 96 in.
#[test]
fn areal_mass_is_mass_over_area() {
    let ten_cm = Length::from_nm(100_000_000);
    let gsm = |grams| Areal::measured(Mass::from_grams(grams), ten_cm, ten_cm).unwrap().gsm();
    assert!((gsm(1.30) - 130.0).abs() < 1e-9);
    assert!((gsm(1.50) - 150.0).abs() < 1e-9);
    let mean = [1.21, 1.19, 1.20, 1.22, 1.18].map(gsm).iter().sum::<f64>() / 5.0;
    assert!((mean - 120.0).abs() < 1e-9);
    let sheet = Areal::measured(Mass::from_grams(602.0), Length::inches(81.0), Length::inches(96.0)).unwrap();
    assert!((sheet.gsm() - 120.0).abs() < 0.1);
    assert_eq!(Areal::measured(Mass::ZERO, ten_cm, ten_cm), None);
    assert_eq!(Areal::measured(Mass::from_grams(1.0), Length::ZERO, ten_cm), None);
}

#[test]
fn a_side_or_a_mass_of_nothing_has_no_areal_mass() {
    let (mass, side) = (Mass::from_grams(100.0), Length::millimetres(500.0));
    assert!(Areal::measured(mass, side, side).is_some());
    for (mass, length, width) in [
        (Mass::ZERO, side, side),
        (mass, Length::ZERO, side),
        (mass, side, Length::ZERO),
        (mass, side, -side),
    ] {
        assert_eq!(Areal::measured(mass, length, width), None);
    }
    // Gauze: half a gram to the metre of strip.
    let strip = Areal::from_gsm(25.0).strip_length(Mass::from_grams(3.0), Length::millimetres(20.0));
    assert_eq!(strip, Some(Length::millimetres(6_000.0)));
    assert_eq!(Areal::from_gsm(25.0).strip_length(mass, Length::ZERO), None);
    let shown = thrumhall::units::Quantity::Ratio(0.123_45).show(Inches);
    assert_eq!(shown, "0.123");
}

#[test]
fn every_common_way_of_writing_a_length_is_read() {
    let half = 38_100_000;
    for text in
        ["1 1/2 in", "1½ in", "1 ½\"", "1.5in", "1.5 IN.", "1,5 in", "3/2 in", "1-1/2″", "1 1⁄2”", "1.50"]
    {
        assert_eq!(nm(text), half, "{text}");
    }
    for text in [
        "33 in",
        "33\"",
        "33",
        "2 ft 9 in",
        "2' 9\"",
        "2' 9",
        "2'-9\"",
        "2'9",
        "2 ft - 9",
        "2′9″",
        "2 feet 9 inches",
        "\u{a0}33\u{202f}in ",
    ] {
        assert_eq!(nm(text), 838_200_000, "{text}");
    }
    for text in ["84 cm", "840 mm", "0.84 m", "84", ".84m", "0,84 m"] {
        assert_eq!(Length::parse(text, Metric).map(Length::nm), Ok(840_000_000), "{text}");
    }
    assert_eq!(nm("-1 in"), -25_400_000);
    assert_eq!(nm("−1 in"), -25_400_000);
    assert_eq!(nm("1,006,000 mm"), 1_006_000_000_000);
    assert_eq!(nm("1/3 in"), 8_466_667);
}

#[test]
fn every_common_way_of_writing_a_weight_is_read() {
    for text in [
        "2 lb 3.5 oz",
        "2lb 3½oz",
        "2 lbs., 3.5 oz",
        "2lb3.5oz",
        "2 LB 3 1/2 oz.",
        "35.5oz",
        "2 pounds 3.5 ounces",
    ] {
        assert_eq!(mg(text), 1_006_408, "{text}");
    }
    assert_eq!(mg("2.22 lb"), 1_006_975);
    for text in ["1006 g", "1.006 kg", "1,006,000 mg", "1006grams", "1 kg 6 g"] {
        assert_eq!(mg(text), 1_006_000, "{text}");
    }
    assert_eq!(mg("1,5 kg"), 1_500_000);
    assert_eq!(mg("1,006,000.5 mg"), 1_006_000, "halves go to the even milligram");
}

#[test]
fn a_comma_before_three_digits_is_asked_about() {
    let asked = Mass::parse("1,006 kg", Metric).unwrap_err();
    assert_eq!(
        asked.to_string(),
        "“1,006 kg” can be read in two ways. Is it 1.006 kg or 1006 kg? Write the weight without the comma."
    );
    assert!(matches!(Length::parse("33,125 in", Inches), Err(UnitError::CommaUnclear { .. })));
    assert!(matches!(Mass::parse("2 lb 1,006 oz", Inches), Err(UnitError::CommaUnclear { .. })));
}

#[test]
fn a_weight_without_a_unit_is_asked_about() {
    for text in ["2", "2.5", "2 lb 3", "35 1/2"] {
        let said = Mass::parse(text, Inches).unwrap_err();
        assert!(matches!(said, UnitError::NeedsUnit { .. }), "{text}: {said}");
    }
    assert_eq!(
        Mass::parse("2", Metric).unwrap_err().to_string(),
        "“2” needs a unit. Write the weight like 1006 g, 1.006 kg or 2 lb 3.5 oz."
    );
}

#[test]
fn what_cannot_be_read_is_named_with_a_way_out() {
    let said = |text: &str| Length::parse(text, Inches).unwrap_err().to_string();
    assert_eq!(said("  "), "No length is given. Write it like 33 in, 1 1/2 in, 2 ft 9 in or 84 cm.");
    assert_eq!(
        said("33 furlongs"),
        "“33 furlongs” can't be read as a length: the unit “furlongs” isn't one of in, ft, yd, mm, cm, m. \
         Write it like 33 in, 1 1/2 in, 2 ft 9 in or 84 cm."
    );
    let long = said(&"9".repeat(10_000));
    assert!(long.len() < 250 && long.contains('…'), "{long}");
    for text in [
        "NaN",
        "inf",
        "-",
        "1e3 in",
        "1e3",
        "٣ in",
        "३३ in",
        "33 in 2 ft",
        "1.5 ft 2 in",
        "2 ft 50 cm",
        "1/0 in",
        "1..5 in",
        "1.5 1/2 in",
        "5. in",
        "5, in",
        "1,00,000 mm",
        "1,2,3 in",
        "12 - 3 in",
        "33 in; drop table",
        "\u{202e}33 in",
        "0x21 in",
        "+33 in",
        "33 in in",
        "1/2/3 in",
        "2 fl oz",
    ] {
        assert!(
            matches!(Length::parse(text, Inches), Err(UnitError::Unreadable { .. })),
            "{text}: {:?}",
            Length::parse(text, Inches)
        );
    }
    for text in ["99999999999999 in", "1001 km", "1000001 m", "9999999999999 yd"] {
        assert!(Length::parse(text, Inches).is_err(), "{text}");
    }
    assert!(matches!(Length::parse("1000001 m", Metric), Err(UnitError::TooLarge { .. })));
    assert!(
        matches!(Mass::parse("2 fl oz", Inches), Err(UnitError::Unreadable { .. })),
        "never the fluid ounce"
    );
    assert!(said("33\u{7}\nin").contains('\u{fffd}'), "control characters don't reach a page");
}

#[test]
fn a_value_out_of_range_is_told_the_range_in_the_persons_units() {
    let within = |text, units| {
        Length::parse(text, units).unwrap().within(Length::inches(6.0), Length::inches(120.0), units)
    };
    assert_eq!(within("33 in", Inches), Ok(Length::inches(33.0)));
    assert!(matches!(within("0 in", Inches), Err(RangeError::Zero { .. })));
    let [value, min, max] = ["-3 in", "6 in", "120 in"].map(String::from);
    assert_eq!(within("-3 in", Inches), Err(RangeError::Negative { value, min, max }));
    let [value, min, max] = ["160934.4 cm", "15.24 cm", "304.8 cm"].map(String::from);
    let beyond = RangeError::Outside { value, min, max };
    assert_names(&beyond.to_string(), &["160934.4 cm", "15.24 cm", "304.8 cm"]);
    assert_eq!(within("1760 yd", Metric), Err(beyond));
}

#[test]
fn people_read_round_figures() {
    let length = |text, units| Length::parse(text, Inches).unwrap().show(units);
    assert_eq!(length("1.5 in", Inches), "1 1/2 in");
    assert_eq!(length("33 in", Metric), "83.8 cm");
    assert_eq!(length("84 cm", Inches), "33 1/8 in");
    assert_eq!(length("0.1 in", Metric), "2.5 mm");
    assert_eq!(length("-0.75 in", Inches), "−3/4 in");
    assert_eq!(Length::parse("2178 in", Inches).unwrap().show_long(Inches), "60.5 yd");
    assert_eq!(Length::parse("2178 in", Inches).unwrap().show_long(Metric), "55.3 m");
    assert_eq!(Length::parse("30 in", Inches).unwrap().show_long(Inches), "30 in");
    // Nails of 9/16 in pitch from 12 in on: an eighth would put the second 1/16 in beside its place.
    let fine = |text, units| Length::parse(text, Inches).unwrap().show_fine(units);
    let pitch = ["12 in", "12 9/16 in", "13 1/8 in", "13 11/16 in"];
    assert_eq!(pitch.map(|place| fine(place, Inches)), pitch);
    assert_eq!(fine("17.535 in", Inches), "17 17/32 in");
    assert_eq!(
        ["12 in", "12 9/16 in", "0.1 mm"].map(|place| fine(place, Metric)),
        ["305 mm", "319 mm", "0 mm"]
    );
    assert_eq!(fine("10.3 mm", Metric), "10.5 mm");
    let mass = |text, units| Mass::parse(text, Inches).unwrap().show(units);
    assert_eq!(mass("2 lb 3.5 oz", Inches), "2 lb 3 1/2 oz");
    assert_eq!(mass("2 lb 3.5 oz", Metric), "1006 g");
    assert_eq!(mass("15.9 oz", Inches), "1 lb");
    assert_eq!(mass("2 lb 0.5 oz", Inches), "2 lb 1/2 oz");
    assert_eq!(mass("0.2 oz", Inches), "0.2 oz");
    assert_eq!(mass("12.345 kg", Metric), "12.35 kg");
    assert_eq!(mass("-3.14 g", Metric), "−3.1 g");
}

#[test]
fn a_form_field_reads_back_as_typed() {
    for text in ["1 1/2 in", "33 in", "84 cm", "0.1 in", "9/16 in", "1/64 in", "83.5 cm", "-2 in"] {
        assert_eq!(Length::parse(text, Inches).unwrap().exact(Inches), text);
    }
    assert_eq!(Length::parse("1 1/3 in", Inches).unwrap().exact(Inches), "3.3866667 cm");
    assert_eq!(Length::parse("33 in", Metric).unwrap().exact(Metric), "83.82 cm");
    assert_eq!(Length::parse("1/64 in", Metric).unwrap().exact(Metric), "1/64 in");
    for text in ["2 lb 3.5 oz", "35.52 oz", "1006 g", "2 lb", "0 oz", "-3.5 oz"] {
        let again = Mass::parse(text, Inches).unwrap().exact(Inches);
        assert_eq!(again, if text == "35.52 oz" { "2 lb 3.52 oz" } else { text });
    }
    assert_eq!(Mass::parse("2 lb 3.5 oz", Metric).unwrap().exact(Metric), "2 lb 3.5 oz");
    assert_eq!(Mass::parse("1.006 kg", Metric).unwrap().exact(Metric), "1006 g");
}

#[test]
#[should_panic(expected = "leaves the range")]
fn sums_never_wrap_round() {
    let _ = Mass::from_mg(i64::MAX) + Mass::from_mg(1);
}

fn any_units() -> impl Strategy<Value = Units> {
    prop_oneof![Just(Inches), Just(Metric)]
}

proptest! {
    #[test]
    fn every_printed_length_reads_back(nm in -Length::LARGEST.nm()..=Length::LARGEST.nm(), units in any_units(), reader in any_units()) {
        for nm in [nm, nm % 10_000_000_000, nm / 25_400_000 % 400 * 396_875, nm % 1000 * 1_000_000] {
            let length = Length::from_nm(nm);
            prop_assert_eq!(Length::parse(&length.exact(units), reader), Ok(length));
        }
    }

    #[test]
    fn every_printed_mass_reads_back(mg in -Mass::LARGEST.mg()..=Mass::LARGEST.mg(), units in any_units(), reader in any_units()) {
        for mg in [mg, mg % 10_000_000, mg % 10_000 * 1000, mg % 1000 * 28_350] {
            let mass = Mass::from_mg(mg);
            prop_assert_eq!(Mass::parse(&mass.exact(units), reader), Ok(mass));
        }
    }

    #[test]
    fn shown_text_can_be_typed_back(nm in 0..10_000_000_000_i64, mg in 0..20_000_000_i64, units in any_units()) {
        let length = Length::parse(&Length::from_nm(nm).show(units), units).unwrap();
        prop_assert!((length.nm() - nm).abs() <= 25_400_000 / 16);
        let mass = Mass::parse(&Mass::from_mg(mg).show(units), units).unwrap();
        prop_assert!((mass.mg() - mg).abs() <= 28_350 / 4 + 1);
    }

    #[test]
    fn no_text_upsets_the_reader(text in "\\PC*", digits in "[0-9,./'\" ]{0,40}(in|ft|cm|lb|oz|kg|e)?") {
        for text in [text, digits] {
            for units in [Inches, Metric] {
                let _ = Length::parse(&text, units).map_err(|e| e.to_string());
                let _ = Mass::parse(&text, units).map_err(|e| e.to_string());
            }
        }
    }
}
