//! Proportions: how high the bands are and which of a design's colours each has, before anybody says what the colours are.
use crate::optimize::chance::Chance;
use crate::units::Length;

/// A family of proportions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Family {
    /// Bands of one height.
    Equal,
    /// Each band so many times as high as the one before, colours from light to dark or back.
    Graded,
    /// Narrow bands on a wide ground.
    NarrowOnWide,
    /// Heights by chance.
    Irregular,
}

impl Family {
    /// Every family.
    pub const ALL: [Self; 4] = [Self::Equal, Self::Graded, Self::NarrowOnWide, Self::Irregular];

    /// The word in files.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Equal => "equal",
            Self::Graded => "graded",
            Self::NarrowOnWide => "narrow on wide",
            Self::Irregular => "irregular",
        }
    }
}

/// Bands of numbered parts; a part becomes a colour.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    pub family: Family,
    pub mirrored: bool,
    /// Height and the two parts of each band.
    pub bands: Vec<(Length, [usize; 2])>,
    /// Whether the parts want colours in the order of their lightness.
    pub ordered: bool,
}

/// A height and the two parts of the band.
type Banded = (Length, [usize; 2]);

/// The most bands.
const MOST: usize = 15;
/// No band is lower, if only because three rows are needed to see a check. Reasoned estimate.
pub(super) const LEAST: Length = Length::from_nm(20_000_000);

/// There and back: 0, 1, 2, 1, 0, 1 … of three.
fn bounce(at: usize, parts: usize) -> usize {
    if parts < 2 {
        return 0;
    }
    let round = 2 * (parts - 1);
    let at = at % round;
    if at < parts { at } else { round - at }
}

/// How the parts lie in the bands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Lie {
    /// Each band of one colour.
    Plain,
    /// Each band's other strand is the next one's first.
    Chain,
    /// A plain band, then a check of it and the next.
    Steps,
    /// The first colour in every band.
    Ground,
}

impl Lie {
    const ALL: [Self; 4] = [Self::Plain, Self::Chain, Self::Steps, Self::Ground];

    fn pair(self, at: usize, parts: usize) -> [usize; 2] {
        let next = |at| bounce(at, parts);
        match self {
            Self::Plain => [next(at); 2],
            Self::Chain => [next(at), next(at + 1)],
            Self::Steps => [next(at / 2), next(at.div_ceil(2))],
            Self::Ground => [0, if parts < 2 { 0 } else { 1 + at % (parts - 1) }],
        }
    }

    /// Bands that it takes until every part was there.
    fn once(self, parts: usize) -> usize {
        match self {
            Self::Plain => parts,
            Self::Chain | Self::Ground => parts.saturating_sub(1).max(1),
            Self::Steps => 2 * parts - 1,
        }
    }
}

impl Shape {
    /// A shape of so many parts; nothing where what was drawn doesn't come out.
    pub(super) fn draw(
        parts: usize,
        symmetrical: Option<bool>,
        length: Length,
        step: Length,
        chance: &mut Chance,
    ) -> Option<Self> {
        let family = Family::ALL[chance.below(Family::ALL.len())];
        let mirrored = symmetrical.unwrap_or_else(|| chance.below(2) == 0);
        let mut weighed = if family == Family::NarrowOnWide {
            narrow_on_wide(parts, mirrored, chance)?
        } else {
            banded(family, parts, mirrored, chance)
        };
        if mirrored {
            let back: Vec<_> = weighed[..weighed.len() - 1].iter().rev().copied().collect();
            weighed.extend(back);
        }
        let alike = |a: [usize; 2], b: [usize; 2]| a == b || a == [b[1], b[0]];
        let seen = |part: usize| weighed.iter().any(|(_, pair)| pair.contains(&part));
        if weighed.len() > MOST
            || weighed.windows(2).any(|two| alike(two[0].1, two[1].1))
            || !(0..parts).all(seen)
        {
            return None;
        }
        let bands = heights(&weighed, mirrored, length, step)?;
        let shape = Self { family, mirrored, bands, ordered: family == Family::Graded };
        // What is to be irregular may not come out mirrored by chance.
        (symmetrical != Some(false) || !shape.is_symmetrical()).then_some(shape)
    }

    fn is_symmetrical(&self) -> bool {
        let alike = |(one, other): (&Banded, &Banded)| {
            let near = (one.0 - other.0).abs() <= Length::millimetres(1.0);
            near && (one.1 == other.1 || one.1 == [other.1[1], other.1[0]])
        };
        self.bands.iter().zip(self.bands.iter().rev()).all(alike)
    }

    /// The part of the weft that is of each part.
    pub(super) fn shares(&self, parts: usize) -> Vec<f64> {
        let length: Length = self.bands.iter().map(|(height, _)| *height).sum();
        let mut shares = vec![0.0; parts];
        for (height, pair) in &self.bands {
            for &part in pair {
                shares[part] += height.ratio(length) / 2.0;
            }
        }
        shares
    }
}

type Weighed = (f64, [usize; 2]);

fn banded(family: Family, parts: usize, mirrored: bool, chance: &mut Chance) -> Vec<Weighed> {
    let lie = Lie::ALL[chance.below(Lie::ALL.len())];
    let once = lie.once(parts);
    let more = chance.below(if mirrored { 3 } else { parts + 2 });
    let bands = match family {
        // Going back would break the way from light to dark.
        Family::Graded => once,
        Family::Irregular => once.max(3) + more,
        _ => once + more,
    };
    let ratio = 1.2 + 0.6 * chance.unit();
    let mut weights: Vec<f64> = (0..bands)
        .map(|at| match family {
            Family::Graded => ratio.powi(at as i32),
            Family::Irregular => 0.35 - chance.unit().max(1e-3).ln(),
            _ => 1.0,
        })
        .collect();
    if chance.below(2) == 0 {
        weights.reverse();
    }
    // The middle band of a mirrored rug is there once, so that it keeps its height among equals.
    weights.into_iter().enumerate().map(|(at, weight)| (weight, lie.pair(at, parts))).collect()
}

/// Stripes in groups on a ground of the first part; each group has all others, or one of them in turn.
fn narrow_on_wide(parts: usize, mirrored: bool, chance: &mut Chance) -> Option<Vec<Weighed>> {
    if parts < 2 {
        return None;
    }
    let wide = 4.0 + 5.0 * chance.unit();
    let (groups, all) = (1 + chance.below(3), chance.below(2) == 0);
    let edged = chance.below(2) == 0;
    let mut bands: Vec<Weighed> = Vec::new();
    let mut next = 1;
    for group in 0..groups {
        if group > 0 || !edged {
            bands.push((if group == 0 { wide * 0.6 } else { wide }, [0, 0]));
        }
        for _ in 0..if all { parts - 1 } else { 1 } {
            bands.push((1.0, [next, next]));
            next = if next + 1 < parts { next + 1 } else { 1 };
        }
    }
    bands.push((if mirrored { wide * 1.5 } else { wide }, [0, 0]));
    Some(bands)
}

/// Heights in whole steps; what is left over goes to the middle of a mirrored rug, else to the highest band.
fn heights(
    weighed: &[Weighed],
    mirrored: bool,
    length: Length,
    step: Length,
) -> Option<Vec<(Length, [usize; 2])>> {
    let sum: f64 = weighed.iter().map(|(weight, _)| weight).sum();
    let step_nm = step.nm().max(1);
    let mut bands: Vec<(Length, [usize; 2])> = weighed
        .iter()
        .map(|(weight, pair)| {
            let steps = (length.scale(weight / sum).nm() as f64 / step_nm as f64).round() as i64;
            (Length::from_nm(steps * step_nm), *pair)
        })
        .collect();
    let over = length - bands.iter().map(|(height, _)| *height).sum();
    let highest = (0..bands.len()).max_by_key(|&at| bands[at].0)?;
    let takes = if mirrored { bands.len() / 2 } else { highest };
    bands[takes].0 += over;
    bands.iter().all(|(height, _)| *height >= LEAST).then_some(bands)
}
