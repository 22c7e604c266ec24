//! What is fed, each with its inputs that are kept and the words that its inputs are made of.
mod lengths;
mod requests;
mod solve;
mod tables;

/// Reads an input, and panics where the program is at fault.
pub type Reads = Box<dyn FnMut(&[u8])>;

/// Something that reads inputs.
pub struct Target {
    /// What it is called on the command line, and its file in `corpus/`.
    pub name: &'static str,
    /// Kept inputs, one a line.
    pub corpus: &'static str,
    /// Words that are put into inputs.
    pub words: &'static [&'static str],
    /// Makes what reads an input.
    pub make: fn() -> Reads,
}

/// All there are.
pub const ALL: [Target; 4] = [
    Target {
        name: "lengths",
        corpus: include_str!("../corpus/lengths.txt"),
        words: &[
            "in", "ft", "yd", "mm", "cm", "m", "oz", "lb", "g", "kg", "1/2", "½", "⅞", "′", "″", "−", "⁄",
            ",", ".", " ",
        ],
        make: || Box::new(lengths::read),
    },
    Target {
        name: "tables",
        corpus: include_str!("../corpus/tables.txt"),
        words: &["\"", "\"\"", ",", ";", "\t", "\n", "\r\n", "'=", "=1+1", "\u{feff}", "kind", "weight"],
        make: || Box::new(tables::read),
    },
    Target {
        name: "solve",
        corpus: include_str!("../corpus/solve.txt"),
        words: &[
            "null",
            "true",
            "[]",
            "{}",
            "[",
            "]",
            "{",
            "}",
            ":",
            ",",
            "\"id\"",
            "\"count\"",
            "\"length_mm\"",
            "\"grams\"",
            "\"lab\"",
            "\"meetings\"",
            "1e400",
            "-",
        ],
        make: || Box::new(solve::target()),
    },
    Target {
        name: "requests",
        corpus: include_str!("../corpus/requests.txt"),
        words: &[
            "&",
            "=",
            "+",
            "%20",
            "%0a",
            "%00",
            "%F0%9F%A7%B6",
            "{rug}",
            "{frame}",
            "{bundle}",
            "{weaver}",
            "instructor",
            "weaver",
            "GET ",
            "POST ",
            "key=",
            "revision=1",
            "0",
            "yes",
            "in",
            "?",
            "/",
        ],
        make: || Box::new(requests::target()),
    },
];
