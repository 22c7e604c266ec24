//! A design by chance, before cloth is found for it: tones that keep the wishes, in a shape that they suffice for.
use super::answer::{Design, Part, Use};
use super::bands::{DesignBand, KeptBand};
use super::judge::{self, Score, Stretch};
use super::keep::{self, Placed, Tones};
use super::outfit::Outfit;
use super::question::Request;
use super::shape::{Family, Shape};
use super::wishes::{Miss, Mood, Wishes};
use crate::optimize::chance::Chance;
use crate::planning::colour::{Hex, Lab, SERVES_SURELY};

/// Which wishes are given up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Relaxed {
    Nothing,
    Colours,
    BuildOn,
}

/// A shape with its tones.
#[derive(Debug)]
pub(super) struct Candidate {
    pub outfit: usize,
    pub family: Family,
    mirrored: bool,
    /// Height and the two tones of each band.
    bands: Vec<Tones>,
    /// The tones that there are.
    tones: Vec<usize>,
    pub score: Score,
}

/// Tones that are looked at for each colour that is added.
const OFFERS: usize = 7;
/// Tones nearer than this aren't put into one rug: nobody would see two colours.
const ALIKE: f64 = 9.0;
/// How far apart colours are meant to be, by what is drawn: calm ones near, lively ones far.
const TARGETS: [f64; 5] = [16.0, 24.0, 32.0, 40.0, 52.0];
/// Joins of more bands take a little more than the weft of one colour.
const ROOM: f64 = 1.03;

/// Draws a design; nothing where what was drawn can't be.
pub(super) fn draw(
    request: &Request,
    outfit: &Outfit,
    at: usize,
    relaxed: Relaxed,
    chance: &mut Chance,
) -> Option<Candidate> {
    let wishes = request.wishes;
    let mut tones = Vec::new();
    if relaxed != Relaxed::BuildOn {
        for nearest in outfit.palette.build_on.iter().filter(|nearest| !nearest.is_empty()) {
            let tone = nearest[chance.below(nearest.len())];
            if !tones.contains(&tone) {
                tones.push(tone);
            }
        }
    }
    let parts = match wishes.colours.filter(|_| relaxed == Relaxed::Nothing) {
        Some(count) => count,
        None => [2, 2, 3, 3, 3, 4, 4, 5, 1][chance.below(9)],
    };
    let parts =
        if relaxed == Relaxed::Nothing && wishes.colours.is_some() { parts } else { parts.max(tones.len()) };
    if tones.len() > parts || parts > outfit.palette.tones.len() {
        return None;
    }
    choose(outfit, &mut tones, parts, wishes, chance)?;
    let shape = Shape::draw(parts, wishes.symmetrical, outfit.length, request.step, chance)?;
    let mut tones = assigned(outfit, &shape, tones, chance)?;
    let mut bands: Vec<Tones> =
        shape.bands.iter().map(|(height, pair)| (*height, pair.map(|part| tones[part]))).collect();
    if !wishes.keep.is_empty() {
        (bands, tones) = kept(outfit, wishes, &bands, shape.mirrored)?;
        let counts = relaxed == Relaxed::Nothing && wishes.colours.is_some_and(|count| count != tones.len());
        if counts {
            return None;
        }
    }
    let lab = |tone: usize| outfit.palette.tones[tone].lab;
    let colours: Vec<Lab> = tones.iter().map(|&tone| lab(tone)).collect();
    let length = outfit.length;
    let rug: Vec<Stretch> =
        bands.iter().map(|(height, pair)| (height.ratio(length), pair.map(lab))).collect();
    let score = judge::score(&rug, &colours, wishes);
    Some(Candidate { outfit: at, family: shape.family, mirrored: shape.mirrored, bands, tones, score })
}

/// The bands with the kept ones in their places, and the tones that there are then; nothing where those tones have too little.
fn kept(
    outfit: &Outfit,
    wishes: &Wishes,
    bands: &[Tones],
    mirrored: bool,
) -> Option<(Vec<Tones>, Vec<usize>)> {
    let place = |kept: &KeptBand| {
        let [first, other] = kept.band.colours.map(|hex| outfit.palette.tone_of(hex));
        Some(Placed { from: kept.from, to: kept.to(), pair: [first?, other?] })
    };
    let keep: Vec<Placed> = wishes.keep.iter().map(place).collect::<Option<_>>()?;
    let bands = keep::laid_over(bands, keep, mirrored)?;
    let mut shares: Vec<(usize, f64)> = Vec::new();
    for (height, pair) in &bands {
        for &tone in pair {
            let half = height.ratio(outfit.length) / 2.0;
            match shares.iter_mut().find(|(known, _)| *known == tone) {
                Some((_, share)) => *share += half,
                None => shares.push((tone, half)),
            }
        }
    }
    let enough = shares.iter().all(|&(tone, share)| suffices(outfit, tone, share));
    enough.then(|| (bands, shares.into_iter().map(|(tone, _)| tone).collect()))
}

/// Whether a tone has enough for such a share of the weft.
fn suffices(outfit: &Outfit, tone: usize, share: f64) -> bool {
    outfit.palette.tones[tone].reach as f64 >= share * outfit.weft_take as f64 * ROOM
}

/// Adds tones until there are enough: of a few that are drawn, the one whose distance from the others comes nearest to what
/// is meant.
fn choose(
    outfit: &Outfit,
    tones: &mut Vec<usize>,
    parts: usize,
    wishes: &Wishes,
    chance: &mut Chance,
) -> Option<()> {
    let palette = &outfit.palette;
    let target = match (wishes.wants(Mood::Calm), wishes.wants(Mood::Lively)) {
        (true, false) => TARGETS[chance.below(2)],
        (false, true) => TARGETS[3 + chance.below(2)],
        _ => TARGETS[chance.below(TARGETS.len())],
    };
    // The light wish for light and the dark for dark, from the first tone on.
    let aim = |lab: Lab| {
        let light = lab.parts()[0];
        let (wants_light, wants_dark) = (wishes.wants(Mood::Light), wishes.wants(Mood::Dark));
        if wants_light && !wants_dark {
            (80.0 - light).max(0.0)
        } else if wants_dark && !wants_light {
            (light - 35.0).max(0.0)
        } else {
            0.0
        }
    };
    while tones.len() < parts {
        let mut best: Option<(f64, usize)> = None;
        for _ in 0..OFFERS {
            let tone = chance.below(palette.tones.len());
            let least = tones.iter().map(|&other| palette.apart(tone, other)).fold(f64::INFINITY, f64::min);
            if tones.contains(&tone) || least < ALIKE {
                continue;
            }
            let off = if tones.is_empty() { 0.0 } else { (least - target).abs() };
            let off = off + 0.6 * aim(palette.tones[tone].lab) + 4.0 * chance.unit();
            if best.is_none_or(|(known, _)| off < known) {
                best = Some((off, tone));
            }
        }
        tones.push(best?.1);
    }
    Some(())
}

/// The tones part by part, so that each has enough cloth.
fn assigned(
    outfit: &Outfit,
    shape: &Shape,
    mut tones: Vec<usize>,
    chance: &mut Chance,
) -> Option<Vec<usize>> {
    let palette = &outfit.palette;
    let shares = shape.shares(tones.len());
    let enough =
        |tones: &[usize]| tones.iter().zip(&shares).all(|(&tone, &share)| suffices(outfit, tone, share));
    if shape.ordered {
        let light = |tone: &usize| palette.tones[*tone].lab.parts()[0];
        tones.sort_by(|a, b| light(a).total_cmp(&light(b)));
        if chance.below(2) == 0 {
            tones.reverse();
        }
        if enough(&tones) {
            return Some(tones);
        }
        tones.reverse();
        return enough(&tones).then_some(tones);
    }
    for _ in 0..3 {
        chance.shuffle(&mut tones);
        if enough(&tones) {
            return Some(tones);
        }
    }
    // The part with the greatest share gets the tone with most cloth.
    tones.sort_by_key(|&tone| palette.tones[tone].reach);
    let mut by_share: Vec<usize> = (0..tones.len()).collect();
    by_share.sort_by(|&a, &b| shares[a].total_cmp(&shares[b]));
    let mut placed = tones.clone();
    for (part, tone) in by_share.into_iter().zip(tones) {
        placed[part] = tone;
    }
    enough(&placed).then_some(placed)
}

impl Candidate {
    /// Its bands, in colours.
    pub(super) fn bands(&self, outfit: &Outfit) -> Vec<DesignBand> {
        let hex = |tone: usize| outfit.palette.tones[tone].hex;
        self.bands.iter().map(|&(height, pair)| DesignBand { height, colours: pair.map(hex) }).collect()
    }

    /// The design, with the cloth that was found for it.
    pub(super) fn covered(
        &self,
        request: &Request,
        outfit: &Outfit,
        bands: Vec<DesignBand>,
        uses: Vec<Use>,
    ) -> Design {
        let hexes: Vec<Hex> = self.tones.iter().map(|&tone| outfit.palette.tones[tone].hex).collect();
        let wishes = request.wishes;
        let mut misses = Vec::new();
        if wishes.colours.is_some_and(|wished| wished != hexes.len()) {
            misses.push(Miss::Colours);
        }
        for (&hex, nearest) in wishes.build_on.iter().zip(&outfit.palette.build_on) {
            if !nearest.iter().any(|tone| self.tones.contains(tone)) {
                misses.push(Miss::BuildOn(hex));
            }
        }
        Design {
            bands,
            family: self.family,
            mirrored: self.mirrored,
            warp_kind: outfit.warp,
            weft_kind: outfit.weft,
            score: Score { cloth: cloth(request, &uses), ..self.score },
            uses,
            misses,
        }
    }
}

/// Half for how near the cloth comes to its colours, half for how few bundles a part has.
fn cloth(request: &Request, uses: &[Use]) -> f64 {
    let (mut off, mut grams, mut parts) = (0.0, 0.0, Vec::new());
    for one in uses {
        if !parts.contains(&one.part) {
            parts.push(one.part);
        }
        if let Part::Weft(hex) = one.part {
            off += one.grams as f64 * hex.difference(request.cloth[one.cloth].hex);
            grams += one.grams as f64;
        }
    }
    let near = if grams > 0.0 { 1.0 - (off / grams / SERVES_SURELY).min(1.0) } else { 1.0 };
    0.5 * near + 0.5 * parts.len() as f64 / uses.len().max(1) as f64
}
