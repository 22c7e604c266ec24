//! Cloth in plain numbers: bundles with a ledger in whole milligrams each, and the sums of where it all went.
use jiff::Timestamp;

/// A weight by its place here: as it is typed, and what it is in milligrams.
///
/// Source: the pound of 0.45359237 kg (international yard and pound agreement, 1959), from memory; an ounce is its 16th part.
pub const WEIGHTS: [(&str, i64); 9] = [
    ("2 lb 3.5 oz", 1_006_408),
    ("500 g", 500_000),
    ("8 oz", 226_796),
    ("0.25 kg", 250_000),
    ("1 lb", 453_592),
    ("1 1/2 lb", 680_389),
    ("120.5 g", 120_500),
    ("3 oz", 85_049),
    ("0.5 lb", 226_796),
];
/// Baskets, as they are shown again: as they were typed.
pub const BASKETS: [(&str, i64); 4] = [("", 0), ("100 g", 100_000), ("8 oz", 226_796), ("3 oz", 85_049)];
pub const SOURCES: [&str; 3] = ["", "hotel", "neighbours"];
/// What is chosen, its name, how it looks and what it counts as.
pub const COLOURS: [(&str, &str, &str, &str); 3] = [
    ("navy", "Navy", "#22305a", "blue"),
    ("cream", "Cream", "#f1e7cf", "white"),
    ("rust", "Rust", "#b2552a", "orange"),
];
pub const KINDS: [&str; 2] = ["percale", "flannel"];
pub const STATES: [&str; 3] = ["arrived", "washing", "ready"];

/// A weight read off the scale: as typed, the whole, and the basket by its place.
#[derive(Clone, Debug)]
pub struct Weighing {
    pub typed: String,
    pub gross: i64,
    pub basket: usize,
}

impl Weighing {
    pub fn net(&self) -> i64 {
        self.gross - BASKETS[self.basket].1
    }
}

pub struct Entry {
    pub at: Timestamp,
    pub why: &'static str,
    pub change: i64,
    pub weighing: Option<Weighing>,
    /// The number of the entry that it reverses, counted from 0.
    pub reverses: Option<usize>,
    /// Of a cut: the bundle on its other side.
    pub other: Option<usize>,
}

pub struct Bundle {
    pub id: String,
    pub tag: usize,
    pub kind: &'static str,
    pub colour: usize,
    pub source: &'static str,
    pub state: &'static str,
    /// What it was cut from.
    pub from: Option<usize>,
    pub entries: Vec<Entry>,
}

impl Bundle {
    pub fn balance(&self) -> i64 {
        self.entries.iter().map(|entry| entry.change).sum()
    }

    pub fn reversed(&self, entry: usize) -> bool {
        self.entries.iter().any(|later| later.reverses == Some(entry))
    }

    /// The entries for these reasons that nobody reversed.
    fn standing<'a>(&'a self, reasons: &'a [&str]) -> impl Iterator<Item = &'a Entry> {
        let all = self.entries.iter().enumerate().filter(|(n, _)| !self.reversed(*n));
        all.map(|(_, entry)| entry).filter(|entry| reasons.contains(&entry.why))
    }

    /// What cutting it up showed, once it is at its end and nothing else was taken of it: strips, and what was thrown away.
    fn cut_up(&self) -> Option<[f64; 2]> {
        if self.from.is_some() || self.balance() != 0 || self.standing(&["pulled"]).next().is_some() {
            return None;
        }
        let sum = |why: &str| -self.standing(&[why]).map(|entry| entry.change).sum::<i64>() as f64;
        Some([sum("cut"), sum("scrap")]).filter(|[strips, _]| *strips > 0.0)
    }

    /// The share of its weight that is counted on as strip: of strips all; else 94 % and for one bundle in ten less than 85, from
    /// memory, moved by bundles of the kind that were cut up (a normal mean with known variances); and so much less that a need
    /// in doubt by 9 % is covered as often.
    pub fn counted(&self, all: &[Self]) -> f64 {
        if self.from.is_some() {
            return 1.0;
        }
        let cut = all.iter().filter(|other| other.kind == self.kind).filter_map(Self::cut_up);
        let (mut bundles, mut shares) = (0.0, 0.0);
        for [strips, scrap] in cut {
            bundles += 1.0;
            shares += strips / (strips + scrap);
        }
        let (prior, one) = (0.035_f64.powi(-2), 0.037_f64.powi(-2));
        let share = ((0.94 * prior + shares * one) / (prior + bundles * one)).min(1.0);
        let less = (1.0 / (prior + bundles * one) + 0.037_f64.powi(2)).sqrt() / 0.035_f64.hypot(0.037);
        let low = (share - 0.09 * less).max(0.05);
        let decile = 1.281_551_565_544_6;
        let own = (share / low).ln().max(0.0) / decile;
        share * (decile * (0.09 - own.hypot(0.09))).exp()
    }

    /// What was pulled and not put back.
    pub fn out(&self) -> i64 {
        -self.standing(&["pulled", "put back"]).map(|entry| entry.change).sum::<i64>()
    }

    /// Whether some of it was used as washed.
    pub fn used(&self) -> bool {
        self.standing(&["pulled", "cut"]).next().is_some()
    }

    /// Whether its page offers to undo an entry.
    pub fn may_undo(&self, entry: usize) -> bool {
        let it = &self.entries[entry];
        it.reverses.is_none() && !self.reversed(entry) && it.change <= self.balance()
    }
}

/// What became of cloth: came in, is in rugs, lost in the wash, thrown away, counted off.
#[derive(Clone, Copy, Default, PartialEq, Eq)]
pub struct Sums(pub [i64; 5]);

impl Sums {
    /// Adds what an entry says, a reversal as what it reverses.
    pub fn add(&mut self, bundle: &Bundle, entry: &Entry) {
        let why = entry.reverses.map_or(entry.why, |n| bundle.entries[n].why);
        match why {
            "weighed in" => self.0[0] += entry.change,
            "pulled" | "put back" => self.0[1] -= entry.change,
            "wash" => self.0[2] -= entry.change,
            "scrap" => self.0[3] -= entry.change,
            "count" => self.0[4] -= entry.change,
            // What is cut moves from one bundle to another.
            _ => {}
        }
    }

    pub fn left(&self) -> i64 {
        self.0[0] - self.0[1..].iter().sum::<i64>()
    }
}

/// Milligrams as a table to take away has them, in grams.
pub fn grams(mg: i64) -> String {
    let (sign, whole, rest) = (if mg < 0 { "-" } else { "" }, mg.abs() / 1000, mg.abs() % 1000);
    let text = format!("{sign}{whole}.{rest:03}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Milligrams as the pages of a workroom in pounds show them: to half an ounce, below 8 oz to a quarter.
pub fn pounds(mg: i64) -> String {
    let sign = if mg < 0 { "−" } else { "" };
    // An ounce is a whole number of millionths of a milligram.
    let (mg, ounce) = (i128::from(mg.abs()) * 1_000_000, 28_349_523_125_i128);
    let nearest = |parts: i128| (mg * parts * 2 + ounce) / (ounce * 2);
    if mg < ounce {
        let hundredths = nearest(100);
        let text = format!("{}.{:02}", hundredths / 100, hundredths % 100);
        return format!("{sign}{} oz", text.trim_end_matches('0').trim_end_matches('.'));
    }
    let quarters = if mg < ounce * 8 { nearest(4) } else { nearest(2) * 2 };
    let (pounds, rest) = (quarters / 64, quarters % 64);
    let ounces = match (rest / 4, ["", "1/4", "1/2", "3/4"][(rest % 4) as usize]) {
        (0, "") => None,
        (0, part) => Some(format!("{part} oz")),
        (whole, "") => Some(format!("{whole} oz")),
        (whole, part) => Some(format!("{whole} {part} oz")),
    };
    match (pounds, ounces) {
        (0, ounces) => format!("{sign}{}", ounces.unwrap_or_default()),
        (pounds, None) => format!("{sign}{pounds} lb"),
        (pounds, Some(ounces)) => format!("{sign}{pounds} lb {ounces}"),
    }
}
