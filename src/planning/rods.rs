//! Edge rods: length, stock to buy, how far they bow, where to tie them. Which rods are in stock is not known here.
use crate::units::Length;
use std::f64::consts::PI;

/// How far a rod stands out beyond each nail row. Common practice: a 33 in span takes a 36 in rod.
pub const OVERHANG: Length = Length::from_nm(38_100_000);
/// The usual rod, 1/8 in round. Common practice.
pub const USUAL_DIAMETER: Length = Length::from_nm(25_400_000 / 8);
/// Lengths that round steel is sold in. Common practice.
pub const STOCK_INCHES: [u32; 3] = [36, 48, 72];
/// Young's modulus of steel, Pa.
const STEEL: f64 = 200e9;
/// The bow that still leaves an edge straight to the eye, 1/8 in.
pub const STRAIGHT: Length = Length::from_nm(25_400_000 / 8);

/// The shortest rod for a span, `span + 2 × 1½ in`.
pub fn least_length(span: Length) -> Length {
    span + OVERHANG * 2
}

/// Stock to buy for equal rods.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stock {
    /// Length of each bar.
    pub bar: Length,
    /// Bars to buy.
    pub bars: u32,
    /// Rods from one bar.
    pub rods_per_bar: u32,
    /// What is left of all bars together.
    pub waste: Length,
}

/// The stock that gives `count` equal rods from bars of one length with the least waste, then the fewest bars; nothing when
/// every bar is too short.
pub fn stock_for(least: Length, count: u32) -> Option<Stock> {
    STOCK_INCHES
        .iter()
        .filter_map(|&inches| {
            let bar = Length::inches(f64::from(inches));
            let rods_per_bar =
                u32::try_from(bar.nm().checked_div(least.nm())?).ok().filter(|&rods| rods > 0)?;
            let bars = count.div_ceil(rods_per_bar);
            let waste = bar * i64::from(bars) - least * i64::from(count);
            Some(Stock { bar, bars, rods_per_bar, waste })
        })
        .min_by_key(|stock| (stock.waste, stock.bars))
}

/// An even side pull on a rod, in newtons per metre.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct SidePull(pub f64);

impl SidePull {
    /// What turning weft strips pull, 9 N/m or 0.05 lb to the inch; reasoned estimate, 2 to 20 N/m.
    pub const WEFT: Self = Self(9.0);
}

/// How far a rod bows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bow {
    /// The bow in the middle.
    pub bow: Length,
    /// Whether the formula may be trusted: the bow is at most a tenth of the rod, and steel under its yield, 250 N/mm².
    pub holds: bool,
}

/// Second moment of area of a round bar, `πd⁴/64`, in m⁴.
pub fn second_moment(diameter: Length) -> f64 {
    PI * diameter.metres().powi(4) / 64.0
}

/// The bow of a rod held at its ends under an even pull, `5qL⁴/384EI`.
///
/// Source: Roark's Formulas for Stress and Strain, simply supported beam with even load (from memory).
pub fn bow(length: Length, diameter: Length, pull: SidePull) -> Bow {
    let (l, inertia) = (length.metres(), second_moment(diameter));
    let metres = 5.0 * pull.0 * l.powi(4) / (384.0 * STEEL * inertia);
    let stress = pull.0 * l.powi(2) / 8.0 * diameter.metres() / 2.0 / inertia;
    // A result beyond the formula's reach is cut at the rod's own length, and says so.
    let bow = Length::millimetres((metres * 1e3).min(length.mm()));
    Bow { bow, holds: metres <= l / 10.0 && stress < 250e6 }
}

/// The greatest distance between ties that keeps the bow under `most`, `(384EI·most/5q)^¼`.
pub fn tying_distance(diameter: Length, pull: SidePull, most: Length) -> Length {
    let metres = (384.0 * STEEL * second_moment(diameter) * most.metres() / (5.0 * pull.0)).powf(0.25);
    Length::millimetres(metres * 1e3)
}

/// Ties between the ends of a rod, evenly spaced, so that no stretch is longer than the tying distance.
pub fn ties(length: Length, distance: Length) -> u32 {
    (length.ratio(distance).ceil() as u32).saturating_sub(1)
}
