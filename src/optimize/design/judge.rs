//! How a design looks, in numbers. What is weighed how is ours, set by eye; differences of colour are CIEDE2000.
use super::bands::DesignBand;
use super::wishes::{Mood, Wishes};
use crate::planning::colour::{Hex, Lab};

/// How well a design looks and keeps the wishes: each part from 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    /// Hues that go together: all within 60° of each other, or in two groups across the circle; greys go with all.
    pub hues: f64,
    /// Steps of lightness from colour to colour, even and large enough to be seen.
    pub steps: f64,
    /// Neighbouring bands, and the strands of a check, differ as the mood wants.
    pub contrast: f64,
    /// Enough bands and colours for the eye to go along, and not too many.
    pub rhythm: f64,
    /// As light or dark, as quiet or strong as is wished; 1 where nothing is.
    pub mood: f64,
    /// How near the cloth comes to the design's colours, and from how few bundles; 0 until it is covered.
    pub cloth: f64,
}

impl Score {
    /// All of it, from 0 to 100: a mean in which contrast and mood weigh three, hues, steps and rhythm two, cloth one.
    pub fn total(&self) -> f64 {
        let looks = 2.0 * self.hues + 2.0 * self.steps + 2.0 * self.rhythm + 3.0 * self.contrast;
        100.0 * (looks + 3.0 * self.mood + self.cloth) / 13.0
    }
}

/// A stretch of a rug: its part of the length, and its two colours.
pub(super) type Stretch = (f64, [Lab; 2]);

/// How different two pairs of strands look: the strands are matched so that they differ least.
fn pairs_apart([a, b]: [Lab; 2], [c, d]: [Lab; 2]) -> f64 {
    let straight = a.difference(c) + b.difference(d);
    let crossed = a.difference(d) + b.difference(c);
    straight.min(crossed) / 2.0
}

/// Below this chroma cloth is as good as grey.
const GREY: f64 = 12.0;

/// The smallest arc of a circle of `round` degrees that holds all these angles.
fn arc(angles: &[f64], round: f64) -> f64 {
    let mut sorted: Vec<f64> = angles.iter().map(|angle| angle.rem_euclid(round)).collect();
    sorted.sort_by(f64::total_cmp);
    let Some((&first, &last)) = sorted.first().zip(sorted.last()) else { return 0.0 };
    let gaps = sorted.windows(2).map(|two| two[1] - two[0]);
    round - gaps.fold(first + round - last, f64::max)
}

fn falls(value: f64, from: f64, to: f64) -> f64 {
    ((to - value) / (to - from)).clamp(0.0, 1.0)
}

fn hues(colours: &[Lab]) -> f64 {
    let angles: Vec<f64> = colours.iter().filter(|lab| lab.chroma() >= GREY).map(|lab| lab.hue()).collect();
    if angles.len() < 2 {
        return 1.0;
    }
    let beside = falls(arc(&angles, 360.0), 60.0, 150.0);
    let across = falls(arc(&angles, 180.0), 30.0, 75.0);
    beside.max(0.95 * across)
}

fn steps(colours: &[Lab]) -> f64 {
    let mut lights: Vec<f64> = colours.iter().map(|lab| lab.parts()[0]).collect();
    lights.sort_by(f64::total_cmp);
    let gaps: Vec<f64> = lights.windows(2).map(|two| two[1] - two[0]).collect();
    if gaps.is_empty() {
        return 0.5;
    }
    let mean = gaps.iter().sum::<f64>() / gaps.len() as f64;
    let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
    0.5 * (mean / 12.0).min(1.0) + 0.5 * if mean > 0.0 { least / mean } else { 0.0 }
}

/// Whether a difference lies in a window, or how near it comes.
fn within(value: f64, [low, high]: [f64; 2]) -> f64 {
    let off = (low - value).max(value - high).max(0.0);
    (1.0 - off / 15.0).max(0.0)
}

fn contrast(rug: &[Stretch], wishes: &Wishes) -> f64 {
    let [between, inside] = match (wishes.wants(Mood::Calm), wishes.wants(Mood::Lively)) {
        (true, false) => [[8.0, 20.0], [5.0, 22.0]],
        (false, true) => [[28.0, 80.0], [25.0, 80.0]],
        _ => [[12.0, 40.0], [10.0, 45.0]],
    };
    let (mut sum, mut weight) = (0.0, 0.0);
    let mut add = |value: f64, window, weighs: f64| {
        sum += weighs * within(value, window);
        weight += weighs;
    };
    for two in rug.windows(2) {
        add(pairs_apart(two[0].1, two[1].1), between, 1.0 / rug.len() as f64);
    }
    for (part, [first, other]) in rug {
        if first != other {
            add(first.difference(*other), inside, *part);
        }
    }
    // A rug all of one colour has no contrast, which suits nobody but the calm.
    if weight > 0.0 {
        sum / weight
    } else if wishes.wants(Mood::Calm) {
        0.7
    } else {
        0.2
    }
}

fn rhythm(rug: &[Stretch], colours: usize, wishes: &Wishes) -> f64 {
    let bands = rug.len() as f64;
    let bands = (1.0 - falls(bands, 2.0, 5.0)).min(falls(bands, 9.0, 17.0));
    // Who says how many colours has them.
    let colours =
        if wishes.colours.is_some() { 1.0 } else { [0.2, 0.6, 1.0, 1.0, 0.8][colours.clamp(1, 5) - 1] };
    f64::midpoint(bands, colours)
}

fn mood(rug: &[Stretch], wishes: &Wishes) -> f64 {
    let mean = |of: fn(Lab) -> f64| {
        rug.iter().map(|(part, two)| part * f64::midpoint(of(two[0]), of(two[1]))).sum::<f64>()
    };
    let (light, chroma) = (mean(|lab| lab.parts()[0]), mean(Lab::chroma));
    let kept = wishes.moods.iter().map(|mood| match mood {
        Mood::Light => 1.0 - falls(light, 45.0, 78.0),
        Mood::Dark => falls(light, 32.0, 65.0),
        Mood::Calm => falls(chroma, 22.0, 55.0),
        Mood::Lively => 1.0 - falls(chroma, 15.0, 40.0),
    });
    let kept: Vec<f64> = kept.collect();
    if kept.is_empty() { 1.0 } else { kept.iter().sum::<f64>() / kept.len() as f64 }
}

/// How a rug of these colours looks, before cloth is found for it.
pub(super) fn score(rug: &[Stretch], colours: &[Lab], wishes: &Wishes) -> Score {
    Score {
        hues: hues(colours),
        steps: steps(colours),
        contrast: contrast(rug, wishes),
        rhythm: rhythm(rug, colours.len(), wishes),
        mood: mood(rug, wishes),
        cloth: 0.0,
    }
}

/// The bands as parts of the length.
fn stretches(bands: &[DesignBand]) -> Vec<Stretch> {
    let length = bands.iter().map(|band| band.height).sum();
    bands.iter().map(|band| (band.height.ratio(length), band.colours.map(Hex::lab))).collect()
}

/// How different two designs look: along both rugs, stretched to one length, the mean difference by CIEDE2000 of the colours
/// that lie beside each other, where strands may change places and a rug may be turned round.
///
/// # Examples
/// ```
/// use thrumhall::optimize::design::{DesignBand, difference};
/// use thrumhall::planning::colour::Hex;
/// use thrumhall::units::Length;
///
/// let band = |inches, hex| DesignBand { height: Length::inches(inches), colours: [Hex::rgb(hex); 2] };
/// let (cream, navy) = (0xf1e7cf, 0x22305a);
/// let rug = [band(8.0, cream), band(24.0, navy)];
/// assert_eq!(difference(&rug, &[band(12.0, navy), band(4.0, cream)]), 0.0, "turned round, and half as long");
/// let whole = Hex::rgb(cream).difference(Hex::rgb(navy));
/// assert!((difference(&rug, &[band(32.0, navy)]) - whole / 4.0).abs() < 1e-9, "a quarter differs");
/// ```
pub fn difference(one: &[DesignBand], other: &[DesignBand]) -> f64 {
    let (one, other) = (stretches(one), stretches(other));
    let turned: Vec<Stretch> = other.iter().rev().copied().collect();
    along(&one, &other).min(along(&one, &turned))
}

fn along(one: &[Stretch], other: &[Stretch]) -> f64 {
    let (mut i, mut j, mut sum) = (0, 0, 0.0);
    let (mut left, mut right) = (one.first().map_or(0.0, |s| s.0), other.first().map_or(0.0, |s| s.0));
    while i < one.len() && j < other.len() {
        let part = left.min(right);
        sum += part * pairs_apart(one[i].1, other[j].1);
        (left, right) = (left - part, right - part);
        if left <= 1e-12 {
            i += 1;
            left = one.get(i).map_or(0.0, |s| s.0);
        }
        if right <= 1e-12 {
            j += 1;
            right = other.get(j).map_or(0.0, |s| s.0);
        }
    }
    sum
}
