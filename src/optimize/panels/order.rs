//! In which order panels are sewn together: two parts at a time, each seam straight from edge to edge of what it joins, but for
//! a pinwheel's last, which goes round a corner.
use super::{Arrangement, Panel};
use crate::units::Length;

/// A seam, as it is sewn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seam {
    /// The panels on one side, counted from 1: sewn together already.
    pub one: Vec<usize>,
    /// The panels on the other.
    pub other: Vec<usize>,
    /// How long it is.
    pub length: Length,
    /// How it runs.
    pub runs: Runs,
}

/// How a seam runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Runs {
    /// Across the rug.
    Across,
    /// Along the rug.
    Along,
    /// Along and then across, round a corner: what closes a pinwheel.
    Corner,
}

/// The seams in the order in which they are sewn: short ones within a part before the long one that joins the part to the rest.
/// `None` where some panels are neither parted by a straight seam nor a pinwheel: no layout found here is like that.
pub fn seams(arrangement: &Arrangement) -> Option<Vec<Seam>> {
    let all: Vec<(usize, &Panel)> = (1..).zip(&arrangement.panels).collect();
    let mut found = Vec::new();
    parted(&all, &mut found)?;
    Some(found)
}

/// Parts these panels by a straight line again and again; what is parted first is sewn last.
#[allow(clippy::many_single_char_names, reason = "the parts are called as in `pinwheel`")]
fn parted(panels: &[(usize, &Panel)], found: &mut Vec<Seam>) -> Option<()> {
    if panels.len() < 2 {
        return Some(());
    }
    for across in [true, false] {
        let from = |panel: &Panel| if across { panel.top } else { panel.left };
        let to = |panel: &Panel| if across { panel.top + panel.length } else { panel.left + panel.width };
        let mut lines: Vec<Length> = panels.iter().map(|(_, panel)| from(panel)).collect();
        lines.sort_unstable();
        lines.dedup();
        for line in lines.into_iter().skip(1) {
            let (one, other): (Vec<_>, Vec<_>) =
                panels.iter().copied().partition(|(_, panel)| to(panel) <= line);
            if one.is_empty() || other.iter().any(|(_, panel)| from(panel) < line) {
                continue;
            }
            parted(&one, found)?;
            parted(&other, found)?;
            let sides = |panel: &Panel| {
                if across {
                    (panel.left, panel.left + panel.width)
                } else {
                    (panel.top, panel.top + panel.length)
                }
            };
            let begins = one.iter().map(|(_, panel)| sides(panel).0).min()?;
            let ends = one.iter().map(|(_, panel)| sides(panel).1).max()?;
            let runs = if across { Runs::Across } else { Runs::Along };
            found.push(Seam { one: numbers(&one), other: numbers(&other), length: ends - begins, runs });
            return Some(());
        }
    }
    let parts = pinwheel(panels)?;
    for part in &parts {
        parted(part, found)?;
    }
    let [a, b, c, d, e] = &parts;
    let side = |part: &[(usize, &Panel)]| {
        let from = |of: fn(&Panel) -> Length| part.iter().map(|(_, panel)| of(panel)).min();
        let to = |of: fn(&Panel) -> Length| part.iter().map(|(_, panel)| of(panel)).max();
        let across = to(|panel| panel.left + panel.width)? - from(|panel| panel.left)?;
        let along = to(|panel| panel.top + panel.length)? - from(|panel| panel.top)?;
        Some((across, along))
    };
    let mut sewn = numbers(a);
    let mut seam = |part: &[(usize, &Panel)], length, runs| {
        found.push(Seam { one: sewn.clone(), other: numbers(part), length, runs });
        sewn.extend(numbers(part));
    };
    // The rest of the first part's edge stays open until the last goes round the corner that it makes.
    seam(e, side(e)?.0, Runs::Across);
    seam(b, side(b)?.1, Runs::Along);
    seam(c, side(c)?.0, Runs::Across);
    seam(d, side(d)?.0 + side(d)?.1, Runs::Corner);
    Some(())
}

fn numbers(part: &[(usize, &Panel)]) -> Vec<usize> {
    part.iter().map(|(number, _)| *number).collect()
}

type Part<'a> = Vec<(usize, &'a Panel)>;

/// The parts A to E of a pinwheel, either way round, where these panels are one; see `pinwheel` beside.
fn pinwheel<'a>(panels: &[(usize, &'a Panel)]) -> Option<[Part<'a>; 5]> {
    let lines = |of: fn(&Panel) -> Length| {
        let mut lines: Vec<Length> = panels.iter().map(|(_, panel)| of(panel)).collect();
        lines.sort_unstable();
        lines.dedup();
        lines
    };
    let (xs, ys) = (lines(|panel| panel.left), lines(|panel| panel.top));
    let pairs = |of: &[Length]| {
        let pairs =
            of.iter().enumerate().flat_map(|(at, one)| of[at + 1..].iter().map(|other| (*one, *other)));
        pairs.collect::<Vec<_>>()
    };
    let (across, along) = (pairs(&xs), pairs(&ys));
    let frames =
        across.iter().flat_map(|x| along.iter().flat_map(|y| [false, true].map(|way| (*x, *y, way))));
    frames.into_iter().find_map(|frame| parts_of(panels, frame))
}

/// The panels in the five parts that these lines make, where each lies in one and none is empty.
fn parts_of<'a>(
    panels: &[(usize, &'a Panel)],
    ((x1, x2), (y1, y2), mirrored): ((Length, Length), (Length, Length), bool),
) -> Option<[Part<'a>; 5]> {
    let mut parts: [Part<'a>; 5] = std::array::from_fn(|_| Vec::new());
    for &(number, panel) in panels {
        let (left, right) = (panel.left, panel.left + panel.width);
        let (top, bottom) = (panel.top, panel.top + panel.length);
        // Whether it keeps to the side of each line that the part is on, seen in the mirror for the other way round.
        let (before_2, beyond_2) =
            if mirrored { (left >= x1, right <= x1) } else { (right <= x2, left >= x2) };
        let (before_1, beyond_1) =
            if mirrored { (left >= x2, right <= x2) } else { (right <= x1, left >= x1) };
        let part = if before_2 && bottom <= y1 {
            0
        } else if beyond_2 && bottom <= y2 {
            1
        } else if beyond_1 && top >= y2 {
            2
        } else if before_1 && top >= y1 {
            3
        } else if before_2 && beyond_1 && top >= y1 && bottom <= y2 {
            4
        } else {
            return None;
        };
        parts[part].push((number, panel));
    }
    parts.iter().all(|part| !part.is_empty()).then_some(parts)
}
