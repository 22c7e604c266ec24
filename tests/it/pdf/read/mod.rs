//! Papers read back from their files, word by word and code by code, and held against what `reckon`, the pages and the tables
//! say, and against what was typed in.
mod booklet;
mod both_ends;
mod card;
mod care;
mod class;
mod cloth;
mod evening;
mod kinds;
mod loans;
mod making;
mod reading;
mod tape;
mod template;
mod under_way;
mod wall;
mod yarn;

use crate::support::pdf::Paper;

/// Noon in Auckland on Thursday 8 October 2026, where UTC has Wednesday.
/// Source: IANA time zone database, Pacific/Auckland: 13 h ahead of UTC from 27 September 2026 on.
const AUCKLAND: (&str, &str) = ("Pacific/Auckland", "2026-10-07T22:30:00Z");
/// The evening of Tuesday 6 October 2026 in Los Angeles, where UTC has Wednesday.
/// Source: IANA time zone database, America/Los_Angeles: 7 h behind UTC until 1 November 2026.
const LOS_ANGELES: (&str, &str) = ("America/Los_Angeles", "2026-10-07T03:15:00Z");

/// The pages are numbered, each in its foot, and there only.
#[track_caller]
fn pages_are_numbered(paper: &Paper) {
    let of = paper.pages.len();
    for page in 0..of {
        let foot = paper.foot(page);
        if of == 1 {
            assert!(!foot.contains("Page "), "{foot}");
        } else {
            assert!(foot.contains(&format!(" Page {} of {of}.", page + 1)), "page {}: {foot}", page + 1);
        }
    }
}

/// Paper of the size that was asked for.
/// Source: ISO 216 (A4) and ANSI/ASME Y14.1 (Letter, ANSI A).
#[track_caller]
fn is_of_size(paper: &Paper, size: &str) {
    let (wide, high) = if size == "a4" { (210.0, 297.0) } else { (215.9, 279.4) };
    for page in &paper.pages {
        assert!((page[0] - wide).abs() < 0.01 && (page[1] - high).abs() < 0.01, "{size} is {page:?}");
    }
}
