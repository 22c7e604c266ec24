//! Text for paper: breaking, shortening, right-to-left words; hatches and labels.
use proptest::prelude::*;
use thrumhall::pdf::{Hatch, Weight, shortened, spread, width, wrap};
use thrumhall::units::isolated;

#[test]
fn letters_name_colours_beyond_the_alphabet() {
    let letters = [0, 1, 25, 26, 27, 51, 52].map(Hatch::letter);
    assert_eq!(letters, ["A", "B", "Z", "AA", "AB", "AZ", "BA"]);
}

#[test]
fn somebodys_own_words_are_kept_apart_only_where_they_run_leftwards() {
    assert_eq!(isolated("Tide"), "Tide");
    assert_eq!(isolated("שרה"), "\u{2068}שרה\u{2069}");
}

#[test]
fn type_is_as_wide_as_its_font_says() {
    // Source: the hmtx table of the font, read with another library (fontTools): digits are 1171 of 2048 units wide.
    let em = 25.4 / 72.0 * 10.0;
    assert!((width("0", 10.0, Weight::Regular) - 1171.0 / 2048.0 * em).abs() < 1e-6);
    assert!((width("0000", 20.0, Weight::Regular) - 8.0 * 1171.0 / 2048.0 * em).abs() < 1e-6);
    // What none of our fonts has takes the room of one replacement character, not none.
    assert!(width("\u{12000}", 10.0, Weight::Regular) > 1.0);
}

/// A number never stands on one line and its unit on the next.
#[test]
fn quantities_stay_on_one_line() {
    let text = "Weave to 12 5/8 in (row 48), 1 h 20 min; take 2 lb 3 1/2 oz of navy, 54.6 yd of strip 1 1/2 in wide, bundle 17.";
    let whole =
        ["12 5/8 in", "(row 48),", "1 h 20 min;", "2 lb 3 1/2 oz", "54.6 yd", "1 1/2 in", "bundle 17."];
    for most in 24..120 {
        let lines = wrap(text, 9.5, Weight::Regular, f64::from(most));
        for quantity in whole {
            assert!(lines.iter().any(|line| line.contains(quantity)), "{quantity} is broken: {lines:?}");
        }
        assert_eq!(lines.join(" "), text);
    }
    // Where it alone is longer than a line it is broken after all.
    assert_eq!(wrap("12 5/8 in", 9.5, Weight::Regular, 8.0).concat().replace(' ', ""), "125/8in");
}

proptest! {
    #[test]
    fn nothing_is_lost_by_breaking_and_nothing_is_too_long(
        words in proptest::collection::vec("[a-zäöß ]{1,40}|[אבגדה]{1,12}|[0-9/½]{1,8}", 1..20),
        most in 12.0_f64..120.0,
    ) {
        let text = words.join(" ");
        let lines = wrap(&text, 9.5, Weight::Regular, most);
        let squeezed = |text: &str| text.chars().filter(|c| !c.is_whitespace()).collect::<String>();
        prop_assert_eq!(squeezed(&lines.concat()), squeezed(&text));
        for line in &lines {
            let wide = width(line, 9.5, Weight::Regular);
            prop_assert!(wide <= most + 0.3, "{line:?} is {wide} mm wide, {most} are the most");
        }
    }

    #[test]
    fn what_is_shortened_fits(text in "\\PC{0,60}", most in 8.0_f64..80.0) {
        let short = shortened(&text, 9.0, Weight::Bold, most);
        prop_assert!(width(&short, 9.0, Weight::Bold) <= most.max(width("…", 9.0, Weight::Bold)) + 0.3);
    }

    #[test]
    fn labels_that_are_spread_keep_their_order_and_their_distance(
        mut wanted in proptest::collection::vec(0.0_f64..100.0, 0..24),
    ) {
        wanted.sort_by(f64::total_cmp);
        let at = spread(&wanted, 4.0, 0.0, 100.0);
        prop_assert_eq!(at.len(), wanted.len());
        for pair in at.windows(2) {
            prop_assert!(pair[1] - pair[0] >= 4.0 - 1e-9, "{at:?}");
        }
        prop_assert!(at.first().is_none_or(|first| *first >= -1e-9), "{at:?}");
        prop_assert!(at.last().is_none_or(|last| *last <= 96.0 + 1e-9), "{at:?}");
    }
}
