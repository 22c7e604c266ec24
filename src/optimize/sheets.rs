//! Which sheets to cut, and how, for a wanted length: fewest joins, then least waste in the lanes, then fewest sheets opened,
//! then the least edge that is too narrow for a lane: to spare such a sliver no other sheet is opened. How one
//! sheet is cut is `cutting`'s.
use super::cutting::{Sheet, Strip, Way};
use crate::units::Length;
use std::collections::BTreeMap;
use thiserror::Error;

/// Equal sheets, such as those of one bundle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    /// One of them.
    pub sheet: Sheet,
    /// How many there are.
    pub count: u32,
}

/// What is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wish {
    /// Length of the joined strip.
    pub length: Length,
    /// Width of the strip.
    pub width: Length,
    /// What a join takes, both ends together.
    pub join: Length,
    /// Shorter pieces aren't joined in.
    pub least: Length,
    /// The ways that are welcome.
    pub ways: Vec<Way>,
}

/// A sheet to cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Opened {
    /// From which lot, counted from 0.
    pub lot: usize,
    /// The sheet as it lies for cutting.
    pub sheet: Sheet,
    /// Whether it lies turned against how it was given.
    pub turned: bool,
    /// How it is cut.
    pub way: Way,
    /// What is cut from it.
    pub strips: Vec<Strip>,
}

/// The sheets to cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// Only sheets that are cut.
    pub opened: Vec<Opened>,
    /// All strips together, before joining.
    pub total: Length,
    /// Joins.
    pub joins: u32,
    /// What the joined strip measures beyond what is wanted.
    pub spare: Length,
    /// Cloth spoilt, as a length of strip.
    pub waste: Length,
    /// Whether no other choice is better, among straight strips taken longest first and continuous ones taken largest
    /// first. False only where there were too many choices to keep.
    pub proven: bool,
}

/// Why no sheets can be chosen.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum SheetsError {
    /// The sheets don't give so much.
    #[error("The sheets give at most {:.0} mm, joins taken off, but {:.0} mm is wanted.", .gives.mm(), .wanted.mm())]
    TooLittle {
        /// The most they give.
        gives: Length,
        /// What is wanted.
        wanted: Length,
    },
    /// A size that makes no sense.
    #[error("{what}: {mm} mm is out of range: from {min_mm} to {max_mm} mm is allowed.")]
    Size {
        /// Of what.
        what: &'static str,
        /// As given.
        mm: String,
        /// The least.
        min_mm: String,
        /// The most.
        max_mm: String,
    },
    /// More sheets or none, or no way to cut them.
    #[error("{what}: {given} is out of range: from {min} to {max} is allowed.")]
    Count {
        /// Of what.
        what: &'static str,
        /// As given.
        given: usize,
        /// The fewest.
        min: usize,
        /// The most.
        max: usize,
    },
}

/// The most sheets looked at together; a class pulls fewer in a term.
pub const MOST_SHEETS: usize = 120;
const MOST_STRIPS: usize = 2_000;
/// The most choices usually kept for each number of strips.
pub const MOST_KEPT: usize = 400;

/// One way to cut one sheet.
struct Cuttable {
    turned: bool,
    way: Way,
    strips: Vec<Strip>,
    /// Length less one join for every strip.
    worth: Length,
    /// Of the lanes, and the edge too narrow for one.
    waste: Length,
    edge: Length,
}

/// A choice for the sheets so far.
#[derive(Clone)]
struct Kept {
    worth: Length,
    waste: Length,
    opened: u32,
    edge: Length,
    /// Which way each sheet so far is cut, if it is.
    picks: Vec<Option<usize>>,
}

/// The best choice: fewest joins, then least waste in the lanes, then fewest sheets opened, then least edge; of equal ones that were kept, the one with
/// the least to spare.
///
/// Exact: first the fewest strips whose longest choice suffices, then every choice with so many strips that isn't beaten
/// in worth, waste, sheets and edge by another.
///
/// # Errors
/// [`SheetsError`]: sizes out of range, or too little cloth.
pub fn choose(lots: &[Lot], wish: &Wish) -> Result<Choice, SheetsError> {
    choose_within(lots, wish, MOST_KEPT)
}

/// The same, keeping as many choices for each number of strips; with fewer than [`MOST_KEPT`] more is wasted than need be.
///
/// # Errors
/// As [`choose`].
pub fn choose_within(lots: &[Lot], wish: &Wish, most_kept: usize) -> Result<Choice, SheetsError> {
    check(lots, wish)?;
    let ways: Vec<Vec<Cuttable>> = lots.iter().map(|lot| cuttables(&lot.sheet, wish)).collect();
    let sheets: Vec<usize> =
        (lots.iter().enumerate()).flat_map(|(at, lot)| (0..lot.count).map(move |_| at)).collect();
    let need = wish.length - wish.join;
    let most = longest(&sheets, &ways);
    let enough = |strips: &usize| most[0][*strips].is_some_and(|worth| worth >= need);
    let Some(strips) = (1..most[0].len()).find(enough) else {
        let best = most[0].iter().flatten().max().copied().unwrap_or(Length::ZERO) + wish.join;
        return Err(SheetsError::TooLittle { gives: best.max(Length::ZERO), wanted: wish.length });
    };
    let (kept, proven) = weigh(&sheets, &ways, &most, (strips, need), most_kept.max(1));
    // The longest choice itself is never dropped before its end, so there is one.
    let best = kept.iter().min_by_key(|kept| (kept.waste, kept.opened, kept.edge, kept.worth));
    let picks = best.map(|kept| kept.picks.clone()).unwrap_or_default();
    let mut opened: Vec<Opened> = (picks.iter().zip(&sheets))
        .filter_map(|(pick, &lot)| {
            let cut = &ways[lot][(*pick)?];
            let sheet = if cut.turned { lots[lot].sheet.turned() } else { lots[lot].sheet.clone() };
            Some(Opened { lot, sheet, turned: cut.turned, way: cut.way, strips: cut.strips.clone() })
        })
        .collect();
    let joins = strips.saturating_sub(1) as u32;
    let measured = |opened: &[Opened]| {
        let total: Length = opened.iter().flat_map(|opened| &opened.strips).map(Strip::length).sum();
        (total, total - wish.join * i64::from(joins) - wish.length)
    };
    let mut spare = measured(&opened).1;
    for sheet in &mut opened {
        leave_whole(sheet, wish, &mut spare);
    }
    let (total, spare) = measured(&opened);
    let waste = best.map_or(Length::ZERO, |best| best.waste + best.edge);
    Ok(Choice { opened, total, joins, spare, waste, proven })
}

/// Leaves the last runs of continuous strips in the sheet where the strip is long enough without, and no cloth is spoilt by it.
fn leave_whole(opened: &mut Opened, wish: &Wish, spare: &mut Length) {
    for at in 0..opened.strips.len() {
        while let [first, .., last] = opened.strips[at].runs.as_slice() {
            let (run, shorter) = (*last, opened.strips[at].length() - last.length());
            let waste = opened.sheet.waste(wish.width, &opened.strips);
            if last.length() > *spare || shorter < wish.least.max(first.length()) {
                break;
            }
            opened.strips[at].runs.pop();
            if opened.sheet.waste(wish.width, &opened.strips) > waste {
                opened.strips[at].runs.push(run);
                break;
            }
            *spare -= run.length();
        }
    }
}

/// Every way to cut some of a sheet that no other of as many strips beats in length and waste.
fn cuttables(sheet: &Sheet, wish: &Wish) -> Vec<Cuttable> {
    let mut all: BTreeMap<usize, Vec<Cuttable>> = BTreeMap::new();
    for turned in [false, true] {
        let lying = if turned { sheet.turned() } else { sheet.clone() };
        for &way in &wish.ways {
            let mut strips = lying.cut(way, wish.width, wish.least).strips;
            strips.sort_by_key(|strip| std::cmp::Reverse(strip.length()));
            for taken in prefixes(&strips, wish.least) {
                let length: Length = taken.iter().map(Strip::length).sum();
                let worth = length - wish.join * taken.len() as i64;
                let (waste, edge) = lying.spoilt(wish.width, &taken);
                all.entry(taken.len()).or_default().push(Cuttable {
                    turned,
                    way,
                    strips: taken,
                    worth,
                    waste,
                    edge,
                });
            }
        }
    }
    let mut best = Vec::new();
    for (_, mut cuts) in all {
        cuts.sort_by_key(|cut| (cut.waste, cut.edge, std::cmp::Reverse(cut.worth)));
        let mut most = None;
        for cut in cuts {
            if most.is_none_or(|most| cut.worth > most) {
                most = Some(cut.worth);
                best.push(cut);
            }
        }
    }
    best
}

/// The first strip, the first two … and, where a strip has several runs, also with only some of the last one's.
fn prefixes(strips: &[Strip], least: Length) -> Vec<Vec<Strip>> {
    let mut prefixes = Vec::new();
    for (at, last) in strips.iter().enumerate() {
        for runs in 1..=last.runs.len() {
            let part = Strip { runs: last.runs[..runs].to_vec() };
            if part.length() >= least {
                prefixes.push(strips[..at].iter().cloned().chain([part]).collect());
            }
        }
    }
    prefixes
}

/// For the sheets from each on, the greatest worth of just so many strips.
fn longest(sheets: &[usize], ways: &[Vec<Cuttable>]) -> Vec<Vec<Option<Length>>> {
    let mut most = vec![vec![Some(Length::ZERO)]];
    for &lot in sheets.iter().rev() {
        let after = &most[most.len() - 1];
        let strips = ways[lot].iter().map(|cut| cut.strips.len()).max().unwrap_or(0);
        let mut here = after.clone();
        here.resize((after.len() + strips).min(MOST_STRIPS), None);
        for cut in &ways[lot] {
            for (before, worth) in after.iter().enumerate() {
                let slot = here.get_mut(before + cut.strips.len());
                if let (Some(worth), Some(slot)) = (worth, slot) {
                    *slot = (*slot).max(Some(*worth + cut.worth));
                }
            }
        }
        most.push(here);
    }
    most.reverse();
    most
}

/// The choices with just so many strips that suffice, and whether none was dropped unweighed.
fn weigh(
    sheets: &[usize],
    ways: &[Vec<Cuttable>],
    most: &[Vec<Option<Length>>],
    (strips, need): (usize, Length),
    most_kept: usize,
) -> (Vec<Kept>, bool) {
    let nothing =
        Kept { worth: Length::ZERO, waste: Length::ZERO, opened: 0, edge: Length::ZERO, picks: Vec::new() };
    let mut kept: BTreeMap<usize, Vec<Kept>> = BTreeMap::from([(0, vec![nothing])]);
    let mut proven = true;
    for (at, &lot) in sheets.iter().enumerate() {
        let mut next: BTreeMap<usize, Vec<Kept>> = BTreeMap::new();
        let mut add = |taken: usize, so_far: &Kept, pick: Option<usize>| {
            let cut = pick.map(|pick| &ways[lot][pick]);
            let taken = taken + cut.map_or(0, |cut| cut.strips.len());
            let worth = so_far.worth + cut.map_or(Length::ZERO, |cut| cut.worth);
            let more = strips.checked_sub(taken).and_then(|left| *most[at + 1].get(left)?);
            if more.is_some_and(|more| worth + more >= need) {
                let mut picks = so_far.picks.clone();
                picks.push(pick);
                let waste = so_far.waste + cut.map_or(Length::ZERO, |cut| cut.waste);
                let opened = so_far.opened + u32::from(cut.is_some());
                let edge = so_far.edge + cut.map_or(Length::ZERO, |cut| cut.edge);
                next.entry(taken).or_default().push(Kept { worth, waste, opened, edge, picks });
            }
        };
        for (&taken, list) in &kept {
            for so_far in list {
                add(taken, so_far, None);
                (0..ways[lot].len()).for_each(|pick| add(taken, so_far, Some(pick)));
            }
        }
        for list in next.values_mut() {
            proven &= thin(list, most_kept);
        }
        kept = next;
    }
    (kept.remove(&strips).unwrap_or_default(), proven)
}

/// Keeps what isn't beaten; tells whether that was all of it.
fn thin(list: &mut Vec<Kept>, most_kept: usize) -> bool {
    list.sort_by_key(|kept| (kept.waste, kept.opened, kept.edge, std::cmp::Reverse(kept.worth)));
    let mut most = None;
    list.retain(|kept| {
        let better = most.is_none_or(|most| kept.worth > most);
        most = most.max(Some(kept.worth));
        better
    });
    let all = list.len() <= most_kept;
    // The longest stays, so that something always suffices.
    let longest = list.len() - 1;
    let step = list.len().div_ceil(most_kept);
    let mut at = 0..;
    list.retain(|_| at.next().is_some_and(|i: usize| i % step == longest % step));
    all
}

fn check(lots: &[Lot], wish: &Wish) -> Result<(), SheetsError> {
    let mm = |mm: f64| Length::millimetres(mm);
    let within = |what, size: Length, min: Length, max: Length| {
        if (min..=max).contains(&size) {
            return Ok(());
        }
        let [mm, min_mm, max_mm] = [size, min, max].map(|length| length.mm().to_string());
        Err(SheetsError::Size { what, mm, min_mm, max_mm })
    };
    within("Strip width", wish.width, mm(5.0), mm(500.0))?;
    within("Wanted length", wish.length, mm(1.0), mm(10e6))?;
    within("Join", wish.join, Length::ZERO, mm(500.0))?;
    within("Least piece", wish.least.max(wish.join), wish.join, mm(10e3))?;
    for lot in lots {
        let Sheet { along, across, hem, corners, stains } = &lot.sheet;
        within("Sheet, along", *along, mm(50.0), mm(10e3))?;
        within("Sheet, across", *across, mm(50.0), mm(10e3))?;
        let half = (*along).min(*across).scale(0.5);
        within("Hem", *hem, Length::ZERO, half)?;
        within("Corners", *corners, Length::ZERO, half)?;
        for stain in stains {
            for ((from, to), side) in [(stain.along, *along), (stain.across, *across)] {
                within("Blocked, from", from, Length::ZERO, side)?;
                within("Blocked, to", to, from, side)?;
            }
        }
    }
    let count = |what, given: usize, max: usize| {
        if (1..=max).contains(&given) { Ok(()) } else { Err(SheetsError::Count { what, given, min: 1, max }) }
    };
    count("Ways to cut", wish.ways.len(), 2)?;
    count("Sheets", lots.iter().map(|lot| lot.count as usize).fold(0, usize::saturating_add), MOST_SHEETS)
}
