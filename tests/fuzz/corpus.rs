//! Inputs as lines of text: what is no plain text is written with a backslash, as `\n` or `\xff`.

/// The input that a line stands for.
pub fn read(line: &str) -> Vec<u8> {
    let mut out = Vec::new();
    let mut rest = line.as_bytes();
    while let [first, after @ ..] = rest {
        let (byte, length) = match (first, after) {
            (b'\\', [b'n', ..]) => (b'\n', 2),
            (b'\\', [b'r', ..]) => (b'\r', 2),
            (b'\\', [b't', ..]) => (b'\t', 2),
            (b'\\', [b'\\', ..]) => (b'\\', 2),
            (b'\\', [b'x', high, low, ..]) => {
                let digit = |byte: &u8| char::from(*byte).to_digit(16).unwrap_or(0) as u8;
                (digit(high) * 16 + digit(low), 4)
            }
            _ => (*first, 1),
        };
        out.push(byte);
        rest = &rest[length..];
    }
    out
}

/// The line that stands for an input.
pub fn written(input: &[u8]) -> String {
    let mut out = String::new();
    for chunk in input.utf8_chunks() {
        for c in chunk.valid().chars() {
            match c {
                '\n' => out.push_str("\\n"),
                '\r' => out.push_str("\\r"),
                '\t' => out.push_str("\\t"),
                '\\' => out.push_str("\\\\"),
                c if unseen(c) => {
                    let mut bytes = [0; 4];
                    out.extend(c.encode_utf8(&mut bytes).bytes().map(byte));
                }
                c => out.push(c),
            }
        }
        out.extend(chunk.invalid().iter().copied().map(byte));
    }
    out
}

/// Whether a character isn't seen in a line, or ends it.
fn unseen(c: char) -> bool {
    let blanks = ['\u{2000}'..='\u{200f}', '\u{2028}'..='\u{202f}', '\u{2060}'..='\u{206f}'];
    c.is_control() || matches!(c, '\u{a0}' | '\u{feff}') || blanks.iter().any(|range| range.contains(&c))
}

fn byte(byte: u8) -> String {
    format!("\\x{byte:02x}")
}
