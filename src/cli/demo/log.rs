//! What the demo's weavers logged, and what their finished rugs took. Every number is invented.
use super::frames::{LARGE, SMALL};
use super::rugs::{Fate, RugInClass, Took, row, took};

/// Rugs of a term before: the class knows what they took.
#[rustfmt::skip]
pub(super) const PAST: &[(RugInClass, Took)] = &[
    (row(8, "Undertow", SMALL, (1, 0), Fate::Planned, &[(32.0, "blue", "white")]),
        took(135, 31.75, "1 lb 13 oz", (340, 64), Some(58.0))),
    (row(8, "Quay steps", LARGE, (2, 0), Fate::Planned, &[(43.0, "grey", "charcoal")]),
        took(176, 43.0, "3 lb 4 oz", (600, 105), None)),
    (row(7, "Bell buoy", SMALL, (0, 0), Fate::Planned, &[(32.0, "red", "white")]),
        took(131, 32.0, "1 lb 14.5 oz", (455, 80), Some(58.5))),
    (row(1, "Ropewalk", SMALL, (0, 0), Fate::Planned, &[(32.0, "sand", "brown")]),
        took(140, 32.0, "1 lb 12.5 oz", (425, 76), None)),
    (row(4, "Dune grass", LARGE, (0, 0), Fate::Planned, &[(43.0, "green", "sand")]),
        took(181, 42.5, "3 lb 2 oz", (690, 118), Some(101.0))),
    (row(9, "Lock gate", SMALL, (1, 0), Fate::Planned, &[(32.0, "black", "grey")]),
        took(137, 32.0, "1 lb 13 oz", (330, 60), Some(58.0))),
];

/// What was logged of a rug at an evening's end.
pub(super) struct Woven {
    pub rug: &'static str,
    /// Meetings are counted from 0.
    pub evening: usize,
    pub rows: Option<i64>,
    pub inches: Option<f64>,
    pub minutes: Option<i64>,
    /// What is left, in the order the colours come in the rug; an empty text for those that nobody weighed.
    pub left: &'static [&'static str],
}

const fn woven(
    rug: &'static str,
    evening: usize,
    (rows, inches, minutes): (i64, Option<f64>, i64),
    left: &'static [&'static str],
) -> Woven {
    Woven { rug, evening, rows: Some(rows), inches, minutes: Some(minutes), left }
}

/// The log, evening by evening.
#[rustfmt::skip]
pub(super) const LOG: &[Woven] = &[
    // White, pale blue, blue, navy. Half way through its band the navy looks short.
    woven("Low tide", 0, (0, None, 75), &["4.75 oz", "10.5 oz", "13.5 oz", "5.25 oz"]),
    woven("Low tide", 1, (38, Some(9.0), 140), &["2.75 oz", "6 oz", "11.25 oz", "5.25 oz"]),
    woven("Low tide", 2, (70, Some(16.5), 130), &["", "", "7.5 oz", "2.25 oz"]),
    woven("Low tide", 3, (81, Some(19.0), 45), &["2.75 oz", "6 oz", "6.25 oz", "0.75 oz"]),
    woven("Herring bones", 0, (0, None, 80), &[]),
    woven("Herring bones", 2, (66, Some(15.75), 210), &[]),
    woven("Marram", 1, (22, Some(5.25), 105), &["8.5 oz", "1 lb 1 oz", "", ""]),
    woven("Marram", 3, (58, Some(14.0), 180), &["6.75 oz", "11.5 oz", "1 lb 4 oz", "12 oz"]),
    woven("Breakwater", 1, (0, None, 85), &[]),
    woven("Breakwater", 2, (70, Some(16.75), 180), &[]),
    woven("Breakwater", 3, (118, Some(28.0), 150), &[]),
    woven("Wet slate", 1, (0, None, 110), &["15 oz", "2 lb", "1 lb 2 oz"]),
    woven("Wet slate", 3, (39, Some(9.5), 200), &["9.25 oz", "1 lb 10 oz", ""]),
    woven("Spring tide", 2, (35, Some(8.25), 230), &[]),
    woven("Slack water", 2, (0, None, 90), &["1 lb 2 oz", "7.5 oz", "7.5 oz"]),
    woven("Slack water", 3, (33, Some(8.0), 125), &["14.25 oz", "3.5 oz", ""]),
    woven("Night ferry", 3, (12, None, 150), &[]),
];
