//! A rug from small rests: each is a band as high as it lasts, in an order in which colours run smoothly. Which rests there
//! are, and who wants them used up, is not known here.
//!
//! A rest's band has as many whole rows of both strands as its weight makes at the need's take, joins counted; or at the
//! expected need, for those who would rather have nothing left. Where the rests are more than the rug is long, the smallest are
//! used up first, and the first that no longer fits is woven as far as there is room. The order is the shortest way through
//! colour by CIEDE2000 ([`order::shortest`]).
pub mod order;

use crate::planning::colour::Hex;
use crate::planning::uncertainty::chance::{NINTH_DECILE, normal_below};
use crate::planning::{Band, ColourId, Plan, Range, RugSpec, SpecError};
use crate::units::{Length, Mass, Units};
use thiserror::Error;

/// A rest of cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rest {
    /// How it looks.
    pub hex: Hex,
    /// Strip that it makes.
    pub strip: Mass,
}

/// How sure it should be that a rest lasts to the end of its band.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sure {
    /// Nine times in ten.
    #[default]
    Take,
    /// As often as not.
    Expected,
}

impl Sure {
    fn of<T: Copy>(self, range: Range<T>) -> T {
        match self {
            Self::Take => range.p90,
            Self::Expected => range.expected,
        }
    }
}

/// A band of one rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RestBand {
    /// Which rest, counted from 0.
    pub rest: usize,
    /// Rows of both strands.
    pub rows: u32,
    /// How high they are.
    pub height: Length,
    /// What the band needs.
    pub need: Range<Mass>,
    /// The chance, from 0 to 1, that the rest doesn't last to the band's end.
    pub early: f64,
    /// Rows that are lacking in the one case in ten in which most are; none where nine in ten have enough.
    pub short_rows: u32,
    /// The neighbouring rest whose colour is nearest, by its place among the bands: it is woven on with if this one ends early.
    pub goes_on: Option<usize>,
    /// How different that colour looks, by CIEDE2000.
    pub goes_on_off: f64,
}

/// A rug from rests.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedUp {
    /// From the start on.
    pub bands: Vec<RestBand>,
    /// The rug, without what it is called; its colours are the bands by their place.
    pub spec: RugSpec,
    /// What it needs.
    pub plan: Plan,
    /// Rests that are too little for a band, by their place.
    pub too_little: Vec<usize>,
    /// Rests for which there is no room, by their place.
    pub no_room: Vec<usize>,
    /// The rest that is woven only in part for want of room, and what stays of it.
    pub cut_short: Option<(usize, Mass)>,
    /// Differences from each band's colour to the next, together.
    pub way: f64,
    /// No order of these bands has less.
    pub bound: f64,
}

/// Why rests make no rug.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RestsError {
    /// The rug can't be planned.
    #[error(transparent)]
    Spec(#[from] SpecError),
    /// More rests than bands.
    #[error("{given} rests are too many: {MOST_RESTS} are the most.")]
    TooMany {
        /// How many were given.
        given: usize,
    },
    /// All bands together are no rug.
    #[error("These rests make {length} of weaving: a rug has {least} at least.")]
    TooShort {
        /// All bands.
        length: String,
        /// The least.
        least: String,
    },
    /// Not one rest makes a band.
    #[error(
        "No rest is enough for a band of {LEAST_ROWS} rows: each takes {needed}, and the largest has {largest}."
    )]
    TooLittle {
        /// For a band of the fewest rows.
        needed: String,
        /// What there is.
        largest: String,
    },
}

/// The most rests.
pub const MOST_RESTS: usize = 60;
/// Fewer rows than this are no band but a line. Reasoned estimate.
pub const LEAST_ROWS: u32 = 3;
/// What is shorter is no rug, with a row or two for joins.
const LEAST_LENGTH: Length = Length::from_nm(3 * 25_400_000);
/// Times that rows are taken off bands whose joins weren't foreseen.
const MENDINGS: u32 = 40;
const SEED: u64 = 15;

/// The rug that these rests make on the frame of `base`, which is planned without bands.
///
/// # Errors
/// [`RestsError`]: a rug that can't be planned, too many rests, or none that is enough for a band.
pub fn use_up(rests: &[Rest], base: &RugSpec, sure: Sure, units: Units) -> Result<UsedUp, RestsError> {
    if rests.len() > MOST_RESTS {
        return Err(RestsError::TooMany { given: rests.len() });
    }
    let whole = Plan::of(base, Units::Metric)?;
    let rows_in_all = whole.weft.rows.max(1);
    let a_row = sure.of(whole.cloth.weft).scale(1.0 / f64::from(rows_in_all));
    let lasts = |rest: &Rest| (rest.strip.ratio(a_row) + 1e-9).floor().max(0.0) as u32;
    let mut by_rows: Vec<(u32, usize)> = rests.iter().map(lasts).zip(0..).collect();
    by_rows.sort_unstable();
    let (mut rows, mut too_little, mut no_room) = (vec![0; rests.len()], Vec::new(), Vec::new());
    let (mut room, mut cut_short) = (rows_in_all, None);
    for (lasts, rest) in by_rows {
        if lasts < LEAST_ROWS {
            too_little.push(rest);
        } else if room < LEAST_ROWS {
            no_room.push(rest);
        } else {
            rows[rest] = lasts.min(room);
            if lasts > room {
                cut_short = Some(rest);
            }
            room -= rows[rest];
        }
    }
    let used: Vec<usize> = (0..rests.len()).filter(|&rest| rows[rest] > 0).collect();
    if used.is_empty() {
        let largest = rests.iter().map(|rest| rest.strip).max().unwrap_or(Mass::ZERO);
        let [needed, largest] = [a_row * i64::from(LEAST_ROWS), largest].map(|mass| mass.show(units));
        return Err(RestsError::TooLittle { needed, largest });
    }
    let labs: Vec<_> = used.iter().map(|&rest| rests[rest].hex.lab()).collect();
    let apart: Vec<f64> = labs.iter().flat_map(|a| labs.iter().map(move |b| a.difference(*b))).collect();
    let way = order::shortest(&apart, used.len(), SEED);
    let mut order: Vec<usize> = way.points.iter().map(|&point| used[point]).collect();
    let woven = Length::inches(f64::from(rows.iter().sum::<u32>()) / whole.weft.rows_per_inch);
    if woven < LEAST_LENGTH {
        let [length, least] = [woven, LEAST_LENGTH].map(|length| length.show(units));
        return Err(RestsError::TooShort { length, least });
    }
    let (spec, plan) = fitted(rests, &mut order, &mut rows, base, sure, whole.weft.rows_per_inch)?;
    // A rest that lost its last rows to joins is too little after all.
    too_little.extend(used.iter().filter(|rest| !order.contains(rest)));
    too_little.sort_unstable();
    let bands = bands(rests, &order, &plan);
    let cut_short = cut_short.filter(|rest| order.contains(rest)).and_then(|rest| {
        let band = bands.iter().find(|band| band.rest == rest)?;
        let left = rests[rest].strip - sure.of(band.need);
        (left > Mass::ZERO).then_some((rest, left))
    });
    let steps = order.windows(2).map(|two| rests[two[0]].hex.difference(rests[two[1]].hex)).sum::<f64>();
    let bound = if order.len() == used.len() { way.bound } else { 0.0 };
    Ok(UsedUp { bands, spec, plan, too_little, no_room, cut_short, way: steps, bound })
}

/// The rug with rows taken off until no rest is overdrawn: a band that begins takes joins that a plain rug hasn't.
fn fitted(
    rests: &[Rest],
    order: &mut Vec<usize>,
    rows: &mut [u32],
    base: &RugSpec,
    sure: Sure,
    rows_per_inch: f64,
) -> Result<(RugSpec, Plan), SpecError> {
    let mut left = MENDINGS;
    loop {
        order.retain(|&rest| rows[rest] > 0);
        let height = |rest: &usize| Length::inches(f64::from(rows[*rest]) / rows_per_inch);
        let bands = order.iter().zip(0..).map(|(rest, id)| Band::plain(height(rest), [id; 2])).collect();
        let spec = RugSpec { bands, length: None, ..base.clone() };
        let plan = Plan::of(&spec, Units::Metric)?;
        let mut over = false;
        for (&rest, id) in order.iter().zip(0..) {
            let need = need_of(&plan, id);
            if sure.of(need) > rests[rest].strip {
                over = true;
                let a_row = sure.of(need).scale(1.0 / f64::from(rows[rest].max(1)));
                let lacking = (sure.of(need) - rests[rest].strip).ratio(a_row).ceil().max(1.0) as u32;
                let fewer = rows[rest].saturating_sub(lacking);
                rows[rest] = if fewer < LEAST_ROWS { 0 } else { fewer };
            }
        }
        left -= 1;
        if !over || left == 0 || order.iter().all(|&rest| rows[rest] == 0) {
            return Ok((spec, plan));
        }
    }
}

fn need_of(plan: &Plan, id: ColourId) -> Range<Mass> {
    let of = |part: fn(&Range<Mass>) -> Mass| {
        plan.weft.colours.iter().filter(|need| need.colour == id).map(|need| part(&need.mass)).sum()
    };
    Range { low: of(|mass| mass.low), expected: of(|mass| mass.expected), p90: of(|mass| mass.p90) }
}

fn bands(rests: &[Rest], order: &[usize], plan: &Plan) -> Vec<RestBand> {
    let off = |one: usize, other: usize| rests[order[one]].hex.difference(rests[order[other]].hex);
    let band = |(at, &rest): (usize, &usize)| {
        let woven = &plan.pattern.bands[at];
        let need = need_of(plan, at as ColourId);
        let beside = [at.checked_sub(1), (at + 1 < order.len()).then_some(at + 1)];
        let nearest = beside.into_iter().flatten().min_by(|&a, &b| off(at, a).total_cmp(&off(at, b)));
        let a_row = need.p90.scale(1.0 / f64::from(woven.rows().max(1)));
        RestBand {
            rest,
            rows: woven.rows(),
            height: woven.end - woven.start,
            need,
            early: ends_early(need, rests[rest].strip),
            short_rows: (need.p90 - rests[rest].strip).ratio(a_row).ceil().max(0.0) as u32,
            goes_on: nearest,
            goes_on_off: nearest.map_or(0.0, |other| off(at, other)),
        }
    };
    order.iter().enumerate().map(band).collect()
}

/// The chance that a need is more than there is, where its logarithm is normal to each side of its median.
fn ends_early(need: Range<Mass>, there: Mass) -> f64 {
    let side =
        if there >= need.expected { need.p90.ratio(need.expected) } else { need.expected.ratio(need.low) };
    let sd = side.ln() / NINTH_DECILE;
    let over = there.ratio(need.expected).ln();
    if sd > 0.0 { 1.0 - normal_below(over / sd) } else { f64::from(u8::from(over < 0.0)) }
}
