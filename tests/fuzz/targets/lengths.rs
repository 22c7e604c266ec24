//! Typed lengths and weights: whatever is read is shown so that it reads back as the same; whatever isn't is refused with a reason.
use thrumhall::units::{Length, Mass, UnitError, Units};

/// As much of a message as a line of a page takes.
const LONGEST_MESSAGE: usize = 400;

pub fn read(input: &[u8]) {
    let text = String::from_utf8_lossy(input);
    for units in [Units::Inches, Units::Metric] {
        match Length::parse(&text, units) {
            Ok(length) => {
                assert!(length <= Length::LARGEST && length.nm() >= -Length::LARGEST.nm(), "{length:?}");
                let shown = length.exact(units);
                assert_eq!(Length::parse(&shown, units), Ok(length), "{shown:?}");
                // The rounded text is read, too, and is near; unless it is rounded to more than can be kept.
                let rounded = length.show(units);
                match Length::parse(&rounded, units) {
                    Ok(near) => {
                        let off = (near.nm() - length.nm()).abs();
                        assert!(
                            off <= length.nm().abs() / 50 + 1_000_000,
                            "{rounded:?}: {off} nm off {shown:?}"
                        );
                    }
                    Err(error) => {
                        assert!(length.nm().abs() > Length::LARGEST.nm() / 2, "{rounded:?}: {error}");
                    }
                }
            }
            Err(error) => refused(&error),
        }
        match Mass::parse(&text, units) {
            Ok(mass) => {
                assert!(mass <= Mass::LARGEST && mass.mg() >= -Mass::LARGEST.mg(), "{mass:?}");
                let shown = mass.exact(units);
                assert_eq!(Mass::parse(&shown, units), Ok(mass), "{shown:?}");
                let rounded = mass.show(units);
                match Mass::parse(&rounded, units) {
                    Ok(near) => {
                        let off = (near.mg() - mass.mg()).abs();
                        assert!(off <= mass.mg().abs() / 50 + 15_000, "{rounded:?}: {off} mg off {shown:?}");
                    }
                    Err(error) => assert!(mass.mg().abs() > Mass::LARGEST.mg() / 2, "{rounded:?}: {error}"),
                }
            }
            Err(error) => refused(&error),
        }
    }
    // Blanks around it change nothing.
    let padded = format!(" \t{text}\u{a0}");
    if let Ok(length) = Length::parse(&text, Units::Metric) {
        assert!(
            matches!(Length::parse(&padded, Units::Metric), Ok(same) if same == length)
                || text.chars().count() > 77
        );
    }
}

fn refused(error: &UnitError) {
    let told = error.to_string();
    assert!(!told.is_empty() && told.chars().count() < LONGEST_MESSAGE, "{told}");
    assert!(!told.chars().any(char::is_control), "{told:?}");
}
