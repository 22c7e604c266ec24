//! What a message names, whatever its words: values, one after the other.

/// Whether a text names these values, in this order. A value stands by itself: `144 in` and `-4 in` don't name `4 in`.
pub fn names(text: &str, values: &[&str]) -> bool {
    let mut rest = 0;
    values.iter().all(|value| match find(text, value, rest) {
        Some(end) => {
            rest = end;
            true
        }
        None => false,
    })
}

/// Where the first such value ends that begins at this place or later.
fn find(text: &str, value: &str, from: usize) -> Option<usize> {
    let whole = |at: usize| {
        let (before, after) = (text[..at].chars().next_back(), &text[at + value.len()..]);
        let mut after = after.chars();
        let (next, then) = (after.next(), after.next());
        // A point or comma ends a sentence, unless a digit follows: then it is a number's.
        let goes_on = matches!(next, Some('.' | ',' | '/')) && then.is_some_and(|c| c.is_ascii_digit());
        !before.is_some_and(|c| c.is_alphanumeric() || "-−.,/".contains(c))
            && !next.is_some_and(char::is_alphanumeric)
            && !goes_on
    };
    text[from..]
        .match_indices(value)
        .map(|(at, _)| from + at)
        .find(|at| whole(*at))
        .map(|at| at + value.len())
}

/// Asserts that a text names these values, in this order.
#[track_caller]
pub fn assert_names(text: &str, values: &[&str]) {
    assert!(names(text, values), "{values:?}, in this order, aren't named by “{text}”");
}

#[test]
fn a_value_is_named_where_it_stands_by_itself_and_in_its_turn() {
    let told = "63360 in is too much: from 4 in to 144 in. Or 1,250 g, -2 or 0.5, no more than 3/4 in.";
    for values in [&["63360 in", "4 in", "144 in"][..], &["144 in", "1,250 g"], &["-2", "0.5"], &["3/4 in"]] {
        assert!(names(told, values), "{values:?}");
    }
    for values in [&["60 in"][..], &["4 in", "63360 in"], &["4 in", "4 in", "4 in"], &["250 g"], &["1"]] {
        assert!(!names(told, values), "{values:?}");
    }
    for value in ["2", "5", "0", "3", "4 i"] {
        assert!(!names(told, &[value]), "{value}");
    }
}
