//! The colours that a design may have: tones, each with the bundles that serve it.
use super::question::Cloth;
use super::wishes::Wishes;
use crate::planning::colour::{Hex, Lab, NEAR, SERVES_SURELY};

/// Tones that are nearer look like one.
const APART: f64 = 7.0;
/// Nobody who wants to stay away from a colour wants one that is nearer to it; ours, set by eye.
const AVOIDED: f64 = 20.0;
/// The most tones: with more, trying gets slower and no better.
const MOST: usize = 64;
/// CIEDE2000 divides a difference in lightness by 1.75 at most, so that colours further apart in it needn't be looked at.
const LIGHTNESS: f64 = 1.75 * SERVES_SURELY;

/// A colour with the cloth that serves it.
#[derive(Debug, Clone)]
pub(super) struct Tone {
    pub hex: Hex,
    pub lab: Lab,
    /// Bundles, nearest first.
    pub members: Vec<usize>,
    /// Grams of as many bundles as may serve a part.
    pub reach: i64,
}

/// Which bundles look like which.
pub(super) struct Neighbours {
    labs: Vec<Lab>,
    /// Places on the shelf, dark to light.
    by_light: Vec<usize>,
}

impl Neighbours {
    pub(super) fn of(cloth: &[Cloth]) -> Self {
        let labs: Vec<Lab> = cloth.iter().map(|one| one.hex.lab()).collect();
        let mut by_light: Vec<usize> = (0..labs.len()).collect();
        by_light.sort_by(|&a, &b| light(labs[a]).total_cmp(&light(labs[b])).then(a.cmp(&b)));
        Self { labs, by_light }
    }

    /// The bundles that serve a colour, nearest first.
    fn serving(&self, lab: Lab) -> Vec<usize> {
        let from = self.by_light.partition_point(|&at| light(self.labs[at]) < light(lab) - LIGHTNESS);
        let close =
            self.by_light[from..].iter().take_while(|&&at| light(self.labs[at]) <= light(lab) + LIGHTNESS);
        let mut found: Vec<(f64, usize)> = close
            .map(|&at| (self.labs[at].difference(lab), at))
            .filter(|(off, _)| *off <= SERVES_SURELY)
            .collect();
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        found.into_iter().map(|(_, at)| at).collect()
    }
}

/// Where a tone stands among the others, and put there where it isn't yet.
fn place(tones: &mut Vec<Tone>, tone: &Tone) -> usize {
    tones.iter().position(|known| known.hex == tone.hex).unwrap_or_else(|| {
        tones.push(tone.clone());
        tones.len() - 1
    })
}

fn light(lab: Lab) -> f64 {
    lab.parts()[0]
}

/// The tones of a kind of cloth.
#[derive(Debug)]
pub(super) struct Palette {
    pub tones: Vec<Tone>,
    apart: Vec<f64>,
    /// Tones that each colour to build on may be, nearest first; none where the shelf has nothing near.
    pub build_on: Vec<Vec<usize>>,
}

impl Palette {
    /// From the bundles of `pool`, a tone of at most `most` bundles.
    pub(super) fn of(
        cloth: &[Cloth],
        near: &Neighbours,
        pool: &[bool],
        most: usize,
        wishes: &Wishes,
    ) -> Self {
        let tone = |hex: Hex| {
            let lab = hex.lab();
            let mut members = near.serving(lab);
            members.retain(|&at| pool[at] && cloth[at].grams > 0);
            let mut grams: Vec<i64> = members.iter().map(|&at| cloth[at].grams).collect();
            grams.sort_unstable_by(|a, b| b.cmp(a));
            Tone { hex, lab, members, reach: grams.iter().take(most).sum() }
        };
        let mut all: Vec<Tone> = (0..cloth.len())
            .filter(|&at| pool[at] && cloth[at].grams > 0)
            .map(|at| tone(cloth[at].hex))
            .collect();
        all.sort_by(|a, b| b.reach.cmp(&a.reach).then(a.hex.cmp(&b.hex)));
        // What is wished for is a tone itself where cloth serves it; else what comes nearest.
        let mut tones: Vec<Tone> = Vec::new();
        let mut build_on = Vec::new();
        for hex in wishes.wanted() {
            let own = tone(hex);
            if own.reach > 0 {
                build_on.push(vec![place(&mut tones, &own)]);
                continue;
            }
            let mut nearest: Vec<(f64, &Tone)> = all
                .iter()
                .map(|tone| (tone.lab.difference(hex.lab()), tone))
                .filter(|(off, _)| *off <= NEAR)
                .collect();
            nearest.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.hex.cmp(&b.1.hex)));
            nearest.truncate(3);
            build_on.push(nearest.into_iter().map(|(_, tone)| place(&mut tones, tone)).collect());
        }
        for tone in all {
            if tones.len() >= MOST {
                break;
            }
            let avoided = wishes.avoid.iter().any(|hex| hex.lab().difference(tone.lab) < AVOIDED);
            if !avoided && tones.iter().all(|other| other.lab.difference(tone.lab) >= APART) {
                tones.push(tone);
            }
        }
        let apart = tones.iter().flat_map(|a| tones.iter().map(move |b| a.lab.difference(b.lab))).collect();
        Self { tones, apart, build_on }
    }

    /// The tone of exactly that colour, where cloth serves it.
    pub(super) fn tone_of(&self, hex: Hex) -> Option<usize> {
        self.tones.iter().position(|tone| tone.hex == hex && tone.reach > 0)
    }

    /// How different two tones look.
    pub(super) fn apart(&self, one: usize, other: usize) -> f64 {
        self.apart[one * self.tones.len() + other]
    }
}
