//! The demo's rugs, and what became of each. Every rug and every date is invented.
use super::frames::{LARGE, SMALL, Size, WIDE};
use crate::planning::WovenFrom;
use crate::planning::warp::winding::{Nail, Winding};

/// What a finished rug took.
#[derive(Clone, Copy)]
pub(super) struct Took {
    pub rows: i64,
    pub inches: f64,
    pub weft: &'static str,
    pub weaving: i64,
    pub preparing: i64,
    pub warp_yards: Option<f64>,
}

pub(super) const fn took(
    rows: i64,
    inches: f64,
    weft: &'static str,
    (weaving, preparing): (i64, i64),
    warp_yards: Option<f64>,
) -> Took {
    Took { rows, inches, weft, weaving, preparing, warp_yards }
}

/// Where a rug is by now. Meetings are counted from 0; the demo's day is meeting 4.
#[derive(Clone, Copy)]
pub(super) enum Fate {
    /// Planned, on no frame.
    Planned,
    /// On a frame since a meeting, due at another.
    Out { frame: &'static str, since: usize, due: usize },
    /// It was on a frame, and came off finished.
    Finished { frame: &'static str, since: usize, back: usize, took: Took },
    /// It was on a frame, and came off unfinished; a rod came back bent.
    GivenUp { frame: &'static str, since: usize, back: usize },
}

use Fate::{Finished, GivenUp, Out, Planned};

/// A band: its height in inches and the keys of its two colours.
type Band = (f64, &'static str, &'static str);

pub(super) struct RugInClass {
    /// Whose: the weaver's place in their list.
    pub weaver: usize,
    pub name: &'static str,
    pub size: Size,
    pub bands: &'static [Band],
    /// Rugs the weaver made before.
    pub before: i64,
    /// Minutes at home between two meetings.
    pub home: i64,
    pub fate: Fate,
    /// Whether its first and last band are headers of thinner strips.
    pub headed: bool,
    pub from: WovenFrom,
}

impl RugInClass {
    const fn headed(mut self) -> Self {
        self.headed = true;
        self
    }

    const fn from(mut self, from: WovenFrom) -> Self {
        self.from = from;
        self
    }

    /// On the frame with the bent nail, the strip passes it by.
    pub(super) fn winding(&self) -> Winding {
        let left_out = match self.fate {
            Out { frame: "S4", .. } => vec![Nail { far: false, number: 12 }],
            _ => Vec::new(),
        };
        Winding { left_out, ..Winding::default() }
    }
}

pub(super) const fn row(
    weaver: usize,
    name: &'static str,
    size: Size,
    (before, home): (i64, i64),
    fate: Fate,
    bands: &'static [Band],
) -> RugInClass {
    RugInClass { weaver, name, size, bands, before, home, fate, headed: false, from: WovenFrom::OneEnd }
}

/// The rugs, each a little shorter than its frame's span.
#[rustfmt::skip]
pub(super) const RUGS: &[RugInClass] = &[
    row(0, "Low tide", SMALL, (0, 0), Out { frame: "S1", since: 0, due: 8 }, &[
        (4.0, "white", "pale-blue"), (6.0, "pale-blue", "blue"), (12.0, "blue", "navy"),
        (6.0, "pale-blue", "blue"), (4.0, "white", "pale-blue")]),
    row(1, "Herring bones", SMALL, (1, 60), Out { frame: "S2", since: 0, due: 3 }, &[
        (8.0, "charcoal", "white"), (3.0, "grey", "white"), (10.0, "charcoal", "cream"),
        (3.0, "grey", "white"), (8.0, "charcoal", "white")]),
    row(9, "Tarred rope", SMALL, (2, 180), Finished { frame: "S6", since: 0, back: 2,
        took: took(138, 32.0, "1 lb 14 oz", (312, 62), Some(58.5)) }, &[
        (5.0, "black", "brown"), (22.0, "brown", "sand"), (5.0, "black", "brown")]),
    row(10, "Sandbar", SMALL, (1, 120), Finished { frame: "S7", since: 0, back: 3,
        took: took(134, 32.0, "1 lb 13.5 oz", (395, 70), None) }, &[
        (10.0, "sand", "cream"), (3.0, "blue", "white"), (6.0, "sand", "cream"),
        (3.0, "blue", "white"), (10.0, "sand", "cream")]),
    row(11, "Gull grey", SMALL, (0, 120), Finished { frame: "S5", since: 0, back: 3,
        took: took(142, 32.25, "1 lb 12 oz", (430, 85), Some(59.0)) }, &[
        (1.0, "grey", "grey"), (30.0, "light-grey", "white"), (1.0, "grey", "grey")]).headed(),
    row(4, "Marram", LARGE, (1, 60), Out { frame: "L1", since: 0, due: 9 }, &[
        (8.0, "dark-green", "green"), (6.0, "green", "pale-green"), (15.0, "pale-green", "sand"),
        (6.0, "green", "pale-green"), (8.0, "dark-green", "green")]),
    row(2, "Breakwater", SMALL, (0, 120), Out { frame: "S3", since: 1, due: 4 }, &[
        (6.0, "navy", "navy"), (2.0, "white", "white"), (16.0, "navy", "grey"),
        (2.0, "white", "white"), (6.0, "navy", "navy")]),
    row(5, "Wet slate", LARGE, (0, 60), Out { frame: "L2", since: 1, due: 9 }, &[
        (10.0, "charcoal", "grey"), (23.0, "grey", "light-grey"), (10.0, "charcoal", "grey")]),
    row(8, "Spring tide", WIDE, (3, 120), Out { frame: "W1", since: 1, due: 9 }, &[
        (10.0, "pale-blue", "white"), (8.0, "blue", "pale-blue"), (11.0, "navy", "blue"),
        (8.0, "blue", "pale-blue"), (10.0, "pale-blue", "white")]),
    row(12, "Chart room", LARGE, (0, 0), GivenUp { frame: "L5", since: 1, back: 3 }, &[
        (6.0, "wine", "cream"), (31.0, "cream", "sand"), (6.0, "wine", "cream")]),
    row(3, "Slack water", SMALL, (0, 0), Out { frame: "S4", since: 2, due: 9 }, &[
        (10.0, "teal", "pale-green"), (12.0, "teal", "cream"), (10.0, "teal", "pale-green")]),
    row(7, "Night ferry", LARGE, (2, 60), Out { frame: "L3", since: 2, due: 9 }, &[
        (12.0, "navy", "black"), (3.0, "yellow", "navy"), (13.0, "navy", "purple"),
        (3.0, "yellow", "navy"), (12.0, "navy", "black")]).from(WovenFrom::BothEnds),
    row(6, "Lamp in fog", SMALL, (0, 0), Out { frame: "S5", since: 3, due: 9 }, &[
        (12.0, "light-grey", "white"), (8.0, "yellow", "white"), (12.0, "light-grey", "white")]),
    row(13, "Signal flags", SMALL, (0, 0), Planned, &[
        (4.0, "red", "white"), (4.0, "navy", "white"), (4.0, "yellow", "navy"), (8.0, "white", "red"),
        (4.0, "yellow", "navy"), (4.0, "navy", "white"), (4.0, "red", "white")]),
    row(14, "Rust on the rail", SMALL, (1, 30), Planned, &[
        (6.0, "rust", "rust"), (4.0, "orange", "sand"), (12.0, "rust", "brown"),
        (4.0, "orange", "sand"), (6.0, "rust", "rust")]),
    row(15, "Oyster shell", SMALL, (0, 60), Planned, &[
        (8.0, "cream", "pink"), (16.0, "cream", "light-grey"), (8.0, "cream", "pink")]),
    row(16, "Harbour lights", LARGE, (0, 0), Planned, &[
        (9.0, "navy", "navy"), (4.0, "orange", "navy"), (4.0, "yellow", "navy"), (9.0, "navy", "navy"),
        (4.0, "yellow", "navy"), (4.0, "orange", "navy"), (9.0, "navy", "navy")]),
    row(17, "Kelp", SMALL, (0, 0), Planned, &[
        (7.0, "dark-green", "brown"), (18.0, "green", "mustard"), (7.0, "dark-green", "brown")]),
    row(9, "Net floats", SMALL, (3, 180), Planned, &[
        (5.0, "orange", "cream"), (6.0, "cream", "cream"), (10.0, "orange", "cream"),
        (6.0, "cream", "cream"), (5.0, "orange", "cream")]),
    row(10, "Sea lavender", SMALL, (2, 120), Planned, &[
        (9.0, "lilac", "white"), (14.0, "lilac", "purple"), (9.0, "lilac", "white")]),
];
