//! How figures are set on pages, in one place for all of them: a fraction is one sign (¾, or ³⁄₁₆ where there is none), and a
//! quantity keeps its number, its fraction and its unit on one line. What forms hold and what programs read is as it was
//! written; papers set their fractions in `pdf/layout/figures.rs`.

use crate::units::fractions::{digits, fraction};

/// Words after a number that stay on its line.
const UNITS: [&str; 19] = [
    "in", "ft", "yd", "oz", "lb", "g", "kg", "mm", "cm", "m", "h", "min", "am", "pm", "kB", "MB", "%",
    "rows", "row",
];
/// Elements whose text is kept as it is: it is typed into, or no text.
const AS_IT_IS: [&str; 5] = ["textarea", "script", "style", "title", "option"];
const TOGETHER: char = '\u{a0}';
const CLOSE: char = '\u{202f}';

/// A page with its figures set.
pub(super) fn set(html: &str) -> String {
    let mut out = String::with_capacity(html.len() + html.len() / 64);
    let mut rest = html;
    while let Some(at) = rest.find('<') {
        text(&rest[..at], &mut out);
        rest = &rest[at..];
        let end = rest.find('>').map_or(rest.len(), |end| end + 1);
        let (tag, after) = rest.split_at(end);
        out.push_str(tag);
        rest = after;
        let name = tag[1..].split(|c: char| !c.is_ascii_alphanumeric()).next().unwrap_or_default();
        if let Some(name) = AS_IT_IS.iter().find(|kept| kept.eq_ignore_ascii_case(name)) {
            let close = rest.find(&format!("</{name}")).unwrap_or(rest.len());
            out.push_str(&rest[..close]);
            rest = &rest[close..];
        }
    }
    text(rest, &mut out);
    out
}

/// Sets the figures of a text without elements.
fn text(text: &str, out: &mut String) {
    let bytes = text.as_bytes();
    // Most texts have no figure in them. ½ and its like begin with this byte in UTF-8.
    if !bytes.iter().any(|byte| byte.is_ascii_digit() || *byte == 0xc2) {
        out.push_str(text);
        return;
    }
    let mut done = 0;
    let mut at = 0;
    while at < bytes.len() {
        match bytes[at] {
            b'0'..=b'9' => {
                let end = digits(bytes, at);
                let fraction = fraction(text, at, end);
                if let Some((after, sign)) = fraction {
                    let before = text[done..at].strip_suffix([' ', TOGETHER]);
                    // `3 1/2` is one number; so is `3 3/16`, a little apart.
                    let whole = before.filter(|before| before.ends_with(|c: char| c.is_ascii_digit()));
                    out.push_str(whole.unwrap_or(&text[done..at]));
                    if whole.is_some() && sign.chars().count() > 1 {
                        out.push(CLOSE);
                    }
                    out.push_str(&sign);
                    (done, at) = (after, after);
                } else {
                    at = end;
                }
                at = joined(text, at, &mut done, out);
            }
            0xc2 if matches!(bytes.get(at + 1), Some(0xbc..=0xbe)) => {
                at = joined(text, at + 2, &mut done, out);
            }
            _ => at += 1,
        }
    }
    out.push_str(&text[done..]);
}

/// Keeps what follows a number at `at` on its line, where that is a unit, or a further number of the same quantity; gives where to
/// go on.
fn joined(text: &str, at: usize, done: &mut usize, out: &mut String) -> usize {
    let Some(after) = text[at..].strip_prefix(' ') else { return at };
    let word = after.split(|c: char| !(c.is_alphabetic() || c == '%')).next().unwrap_or_default();
    let begins_fraction = after.as_bytes().first().is_some_and(u8::is_ascii_digit) && {
        let from = at + 1;
        let end = digits(text.as_bytes(), from);
        fraction(text, from, end).is_some()
    };
    if begins_fraction {
        // The fraction itself takes the space away.
        return at + 1;
    }
    if !UNITS.contains(&word) {
        return at;
    }
    out.push_str(&text[*done..at]);
    out.push(TOGETHER);
    out.push_str(word);
    let mut end = at + 1 + word.len();
    *done = end;
    // Pounds and ounces, hours and minutes.
    let more = text[end..]
        .strip_prefix(' ')
        .is_some_and(|rest| rest.as_bytes().first().is_some_and(u8::is_ascii_digit));
    if more && matches!(word, "lb" | "h" | "ft") {
        out.push(TOGETHER);
        end += 1;
        *done = end;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::set;

    #[test]
    fn quantities_are_one_piece() {
        for (written, is) in [
            ("3 1/2 in", "3½\u{a0}in"),
            ("about 3/4 to 1 in each", "about ¾ to 1\u{a0}in each"),
            ("2 lb 3 1/2 oz", "2\u{a0}lb\u{a0}3½\u{a0}oz"),
            ("1 3/16 in, 5/32 in.", "1\u{202f}³⁄₁₆\u{a0}in, ⁵⁄₃₂\u{a0}in."),
            ("6 h 5 min", "6\u{a0}h\u{a0}5\u{a0}min"),
            ("13 in × 33 1/8 in", "13\u{a0}in × 33⅛\u{a0}in"),
            ("12.5 cm (4.25 g)", "12.5\u{a0}cm (4.25\u{a0}g)"),
            ("1½ in is usual", "1½\u{a0}in is usual"),
            ("take 1/2.", "take ½."),
            ("40 rows", "40\u{a0}rows"),
            // No quantities.
            ("5 inches and 3 graces", "5 inches and 3 graces"),
            ("on 1/2/2026 or 2026-1/2", "on 1/2/2026 or 2026-1/2"),
            ("9 of 10, 2/3, 4/4, 10/8", "9 of 10, 2/3, 4/4, 10/8"),
            ("B 3 at row 3", "B 3 at row 3"),
        ] {
            assert_eq!(set(written), is, "{written}");
        }
    }

    #[test]
    fn what_is_typed_or_no_text_stays_as_it_is() {
        let page = "<title>3 1/2 in</title><p title=\"3 1/2 in\">3 1/2 in</p><input value=\"1 1/2 in\"><textarea>1/2 oz\n</textarea>\
            <option>1/2 in</option><svg><text>1/2 in</text></svg><script>1/2 in < 3 in</script><p>Zwölf 1/4 ß</p>";
        let is = "<title>3 1/2 in</title><p title=\"3 1/2 in\">3½\u{a0}in</p><input value=\"1 1/2 in\"><textarea>1/2 oz\n</textarea>\
            <option>1/2 in</option><svg><text>½\u{a0}in</text></svg><script>1/2 in < 3 in</script><p>Zwölf ¼ ß</p>";
        assert_eq!(set(page), is);
        assert_eq!(set("no end <p"), "no end <p");
    }
}
