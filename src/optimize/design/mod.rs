//! Designs for a rug that the shelf can cover. What cloth there is and what becomes of a design is not known here.
//!
//! # The search
//! Everything is tried in an order that follows from the seed, and effort is counted in looks, so that every machine answers
//! the same.
//! 1. **Colours.** Bundles no further than [`SERVES_SURELY`] by CIEDE2000 from one of them make a tone: a colour that a design may
//!    have. Tones differ among each other; those with the most cloth come first.
//! 2. **Proportions** come from named families: equal, graded, narrow on wide, irregular by the seed, and each of them also
//!    mirrored ([`Family`]).
//! 3. **Trying.** A shape and as many tones as it has parts are drawn. Each part's share of the weft is held against what its
//!    tone has, and what is left is judged by how it looks: hues that go together, steps of lightness, how much neighbours
//!    differ, and the moods that are wished for ([`Score`]). Bands that are to be kept are laid over the shape at their places.
//! 4. **Covering.** From the best on, a design is planned as any rug is, and its needs at their take, warp and fringe included,
//!    are given bundles by the share-out's own search and prices ([`crate::optimize::share_out`]). A design that lacks a gram
//!    is dropped, and so is one that looks like another already found ([`difference`], [`UNLIKE`]).
//!
//! Nothing is proven the best: the score says how well a design looks and keeps the wishes, and what is covered is covered.
mod answer;
mod bands;
mod cover;
mod draw;
mod judge;
mod keep;
mod outfit;
mod palette;
mod question;
mod shape;
mod wishes;

use super::chance::Chance;
#[cfg(doc)]
use crate::planning::colour::SERVES_SURELY;
use draw::{Candidate, Relaxed};
use outfit::Outfit;

pub use answer::{Design, Lacking, Part, Suggestions, Use};
pub use bands::{DesignBand, KeptBand, NoBand};
pub use judge::{Score, difference};
pub(super) use outfit::{may_serve, warp_kinds, whole_grams};
pub use question::{
    Cloth, DesignError, MOST_BUNDLES, MOST_CLOTH, MOST_COLOURS, MOST_DESIGNS, MOST_KEPT, Request,
    USUAL_EFFORT,
};
pub use shape::Family;
pub use wishes::{Miss, Mood, UnknownMood, Wishes};

/// Designs that are covered, the best first.
///
/// # Errors
/// [`DesignError`]: a number out of range, or a rug that can't be planned in any cloth that is there.
///
/// # Examples
/// ```
/// use thrumhall::optimize::design::{Cloth, Request, USUAL_EFFORT, Wishes, suggest};
/// use thrumhall::planning::{Kind, RugSpec, colour::Hex};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// let bundle = |hex, grams| Cloth { kind: Kind::Percale, hex: Hex::rgb(hex), grams };
/// let shelf = [bundle(0xf1e7cf, 900), bundle(0x22305a, 700), bundle(0xb4cde0, 700), bundle(0xb2552a, 60)];
/// let base = |warp_kind, weft_kind| RugSpec { warp_kind, weft_kind, ..RugSpec::plain(frame) };
/// let found = suggest(&Request {
///     cloth: &shelf,
///     wishes: &Wishes::default(),
///     base: &base,
///     count: 3,
///     most: 2,
///     step: Length::inches(0.25),
///     unlike: &[],
///     seed: 1,
///     effort: USUAL_EFFORT,
/// })?;
/// assert_eq!(found.designs.len(), 3);
/// let taken = |bundle| found.designs[0].uses.iter().filter(|one| one.cloth == bundle).map(|one| one.grams).sum::<i64>();
/// assert!((0..shelf.len()).all(|bundle| taken(bundle) <= shelf[bundle].grams));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn suggest(request: &Request) -> Result<Suggestions, DesignError> {
    request.check()?;
    let (outfits, lacking) = outfit::outfits(request)?;
    let mut search = Search { request, outfits, chance: Chance(request.seed), work: 0, found: Vec::new() };
    search.work += (request.cloth.len() * request.cloth.len()) as u64 / 64;
    if !search.outfits.is_empty() {
        for relaxed in [Relaxed::Nothing, Relaxed::Colours, Relaxed::BuildOn] {
            // Colours to build on, or that must stay, are given up only where no design at all keeps them.
            let last = relaxed == Relaxed::BuildOn;
            if search.found.len() >= request.count || (last && !search.found.is_empty()) {
                break;
            }
            search.round(relaxed);
        }
    }
    let lacking = if search.found.is_empty() { lacking.or(Some(Lacking::Wishes)) } else { None };
    let mut designs = search.found;
    designs.sort_by(|a, b| b.score.total().total_cmp(&a.score.total()));
    Ok(Suggestions { designs, lacking, work: search.work })
}

/// The least [`difference`] of two designs: less looks like the same rug with a band moved. Ours, set by eye.
pub const UNLIKE: f64 = 6.0;
/// What is tried first.
const WELL_APART: f64 = 14.0;
struct Search<'a> {
    request: &'a Request<'a>,
    outfits: Vec<Outfit>,
    chance: Chance,
    work: u64,
    found: Vec<Design>,
}

/// Shapes that are drawn in a round.
const TRIES: usize = 4_000;
/// The best of them, which are covered one by one until there are enough.
const KEPT: usize = 600;
/// Looks that planning a rug counts as.
const PLANNING: u64 = 4_000;

impl Search<'_> {
    fn round(&mut self, relaxed: Relaxed) {
        let mut candidates: Vec<Candidate> = Vec::new();
        for _ in 0..TRIES {
            if self.work > self.request.effort {
                break;
            }
            let outfit = self.chance.below(self.outfits.len());
            let drawn = draw::draw(self.request, &self.outfits[outfit], outfit, relaxed, &mut self.chance);
            self.work += 60;
            candidates.extend(drawn);
        }
        candidates.sort_by(|a, b| b.score.total().total_cmp(&a.score.total()));
        // First designs well apart with families in turn, then whatever differs.
        for (apart, each) in [
            (WELL_APART, self.request.count.div_ceil(3)),
            (WELL_APART, usize::MAX),
            (f64::midpoint(WELL_APART, UNLIKE), usize::MAX),
            (UNLIKE, usize::MAX),
        ] {
            let mut looked = 0;
            candidates.retain(|candidate| {
                let enough = self.found.len() >= self.request.count || self.work > self.request.effort;
                let of_family = self.found.iter().filter(|one| one.family == candidate.family).count();
                if enough || looked >= KEPT || of_family >= each {
                    return true;
                }
                looked += 1;
                self.work += 40 * (self.found.len() + self.request.unlike.len()) as u64;
                let bands = candidate.bands(&self.outfits[candidate.outfit]);
                let mut others = self.found.iter().map(|one| &one.bands).chain(self.request.unlike);
                if others.any(|one| difference(one, &bands) < apart) {
                    return true;
                }
                self.work += PLANNING;
                let outfit = &self.outfits[candidate.outfit];
                if let Some((uses, work)) = cover::cover(self.request, outfit, &bands) {
                    self.work += work;
                    self.found.push(candidate.covered(self.request, outfit, bands, uses));
                }
                // Whether covered or not, it isn't asked again.
                false
            });
        }
    }
}
