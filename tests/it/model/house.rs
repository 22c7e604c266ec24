//! What the invented workroom is made of: names, tags, sizes, zones, and how lengths are written.

/// Names to choose from. The second is the first as somebody else may type it at the door.
pub const NAMES: [&str; 8] = [
    "Ada Marsh",
    "ada  marsh",
    "Bo Quill",
    "Cass Tarn",
    "Dov Elder",
    "=Ebb, \"the\" Reed",
    "Fen <b>Wick</b>",
    "Gil Orchard",
];

/// A name as the door knows it.
pub fn folded(name: &str) -> String {
    name.to_lowercase().split(' ').filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" ")
}

pub const PASSPHRASES: [&str; 3] = ["four words of wool", "a shed by the salt pans", "tide tables and twine"];

/// A tag by its place here, which is the order in which lists have them.
pub type Tag = usize;
pub const TAGS: [&str; 8] = ["a-9", "A-10", "B 2", "b 11", "K-1", "K-2", "K-010", "k-200"];

/// A size by its place here.
pub type Size = usize;
/// Span and width in eighths of an inch, and nails per end.
pub const SIZES: [(i64, i64, i64); 5] = [
    (33 * 8, 18 * 8, 33),
    (44 * 8, 24 * 8, 43),
    (33 * 8 + 4, 18 * 8, 33),
    (34 * 8 + 2, 18 * 8, 33),
    (33 * 8, 18 * 8, 31),
];
/// Lengths of rods in eighths of an inch.
pub const RODS: [i64; 4] = [36 * 8, 36 * 8 + 4, 47 * 8, 48 * 8];

pub const CONDITIONS: [&str; 3] = ["sound", "worn", "broken"];
pub const STATES: [&str; 4] = ["planned", "weaving", "finished", "given up"];

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fit {
    AsPlanned,
    Larger,
    Smaller,
}

impl Fit {
    pub fn words(self) -> &'static str {
        ["as planned", "larger than planned", "smaller than planned"][self as usize]
    }
}

/// How a frame serves a rug: half an inch is no difference.
pub fn fit(frame: Size, rug: Size) -> Fit {
    let (a, b) = (SIZES[frame], SIZES[rug]);
    let apart = |a: i64, b: i64| (a - b).abs() <= 4;
    if apart(a.0, b.0) && apart(a.1, b.1) && a.2 == b.2 {
        Fit::AsPlanned
    } else if a.0 + 4 >= b.0 && a.1 + 4 >= b.1 && a.2 >= b.2 {
        Fit::Larger
    } else {
        Fit::Smaller
    }
}

/// The shortest rod for a span: it stands out an inch and a half at both ends.
pub fn least_rod(size: Size) -> i64 {
    SIZES[size].0 + 3 * 8
}

/// Eighths of an inch as the trade writes them.
pub fn inches(eighths: i64) -> String {
    let (whole, mut top, mut under) = (eighths / 8, eighths % 8, 8);
    while top > 0 && top % 2 == 0 {
        (top, under) = (top / 2, under / 2);
    }
    match (whole, top) {
        (whole, 0) => format!("{whole} in"),
        (0, top) => format!("{top}/{under} in"),
        (whole, top) => format!("{whole} {top}/{under} in"),
    }
}

pub fn rod_size(length: i64) -> String {
    format!("{} × 1/8 in", inches(length))
}

/// A workroom's place, and the moments on its own clock at which a run may begin: hours at which UTC has another day, and
/// before a change of the clocks.
pub struct Home {
    pub zone: &'static str,
    pub starts: &'static [&'static str],
}

pub const AUCKLAND: Home = Home {
    zone: "Pacific/Auckland",
    starts: &["2026-09-25T08:30", "2026-09-26T22:10", "2027-04-02T09:00", "2026-12-31T07:45"],
};
pub const LOS_ANGELES: Home = Home {
    zone: "America/Los_Angeles",
    starts: &["2026-10-30T17:40", "2026-10-31T23:30", "2027-03-12T18:20", "2026-12-31T19:00"],
};
pub const BERLIN: Home = Home {
    zone: "Europe/Berlin",
    starts: &["2026-10-24T23:40", "2026-10-23T00:20", "2027-03-26T00:50", "2027-01-01T00:15"],
};
pub const UTC: Home =
    Home { zone: "UTC", starts: &["2026-10-07T12:00", "2026-12-31T23:30", "2028-02-28T23:00"] };
