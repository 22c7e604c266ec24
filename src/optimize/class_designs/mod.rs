//! A design for each rug of a class: no cloth is taken twice, and they are as varied as can be. How one design is found is known
//! to [`super::design`] alone.
//!
//! # The search
//! 1. **In turn**, those that take least first, each rug is asked a few designs of the cloth that the others left; the one that
//!    is least like theirs, by [`difference`], is given to it. Where all that can be covered looks like another's, it is given
//!    all the same: a design for each goes before variety.
//! 2. **Making room.** A rug without one takes another's place, which is then asked again. This stays where both are covered.
//! 3. **Varying.** Of the two that are most alike one is asked again, and keeps what differs more.
//!
//! # What is proven
//! [`ClassDesigns::at_most`]: no more rugs can be covered, whatever their designs, by the weight of cloth that could serve them
//! (see `bound`). That two designs couldn't differ more isn't proven.
mod bound;
mod question;

use super::chance::Chance;
use super::design::{
    Cloth, Design, DesignBand, DesignError, Lacking, Request, Suggestions, difference, suggest,
};
use bound::Needs;

pub use question::{ClassRequest, ClassRug, MOST_RUGS, USUAL_CLASS_EFFORT};

/// Designs for a class.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassDesigns {
    /// For each rug its design, or what is lacking for any of what the others leave.
    pub rugs: Vec<Result<Design, Lacking>>,
    /// No more rugs than this can be covered at once.
    pub at_most: usize,
    /// Looks that it took.
    pub work: u64,
}

/// The two rugs of a class that look most alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MostAlike {
    /// Which, counted from 0.
    pub rugs: [usize; 2],
    /// How different they are, by [`difference`].
    pub difference: f64,
}

impl ClassDesigns {
    /// The rugs that are covered.
    pub fn covered(&self) -> usize {
        self.rugs.iter().filter(|rug| rug.is_ok()).count()
    }

    /// The two that look most alike; nothing of fewer than two.
    pub fn most_alike(&self) -> Option<MostAlike> {
        let mut least: Option<MostAlike> = None;
        for (at, rug) in self.rugs.iter().enumerate() {
            for (before, other) in self.rugs[..at].iter().enumerate() {
                let (Ok(rug), Ok(other)) = (rug, other) else { continue };
                let difference = difference(&other.bands, &rug.bands);
                if least.is_none_or(|known| difference < known.difference) {
                    least = Some(MostAlike { rugs: [before, at], difference });
                }
            }
        }
        least
    }
}

/// Designs that are asked for at a time, of which one is taken.
const COUNT: usize = 3;
/// Looks that a rug is asked with: fewer find too little on a full shelf, more leave no room for the others.
const EACH: [u64; 2] = [300_000, 900_000];
/// The part of the effort after which no room is made any more.
const ROOM_UNTIL: f64 = 0.7;
/// Two most alike that couldn't be made to differ more so many times are left as they are.
const PATIENCE: usize = 6;

/// A design for each rug of a class.
///
/// # Errors
/// [`DesignError`]: a number out of range, or rugs none of which can be planned in any cloth that is there.
///
/// # Examples
/// ```
/// use thrumhall::optimize::class_designs::{ClassRequest, ClassRug, USUAL_CLASS_EFFORT, suggest_for_class};
/// use thrumhall::optimize::design::{Cloth, Wishes};
/// use thrumhall::planning::{Kind, RugSpec, colour::Hex};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// let bundle = |hex, grams| Cloth { kind: Kind::Percale, hex: Hex::rgb(hex), grams };
/// let base = |warp_kind, weft_kind| RugSpec { warp_kind, weft_kind, ..RugSpec::plain(frame) };
/// let wishes = Wishes::default();
/// let rug = || ClassRug { wishes: &wishes, base: &base };
/// let found = suggest_for_class(&ClassRequest {
///     cloth: &[bundle(0xf1e7cf, 1_600), bundle(0x22305a, 1_600)],
///     rugs: &[rug(), rug(), rug()],
///     most: 2,
///     step: Length::inches(0.25),
///     unlike: &[],
///     seed: 1,
///     effort: USUAL_CLASS_EFFORT,
/// })?;
/// // So much cloth is two rugs, and no search makes three of it.
/// assert_eq!((found.covered(), found.at_most), (2, 2));
/// assert!(found.most_alike().is_some_and(|alike| alike.difference > 6.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn suggest_for_class(request: &ClassRequest) -> Result<ClassDesigns, DesignError> {
    let (given, most) = (request.rugs.len() as i64, MOST_RUGS as i64);
    if !(1..=most).contains(&given) {
        return Err(DesignError::Number { what: "rugs", given, least: 1, most });
    }
    let needs = Needs::of(request.cloth, request.rugs, request.most);
    let mut class = Class::new(request, needs.plans);
    let mut order: Vec<usize> = (0..request.rugs.len()).collect();
    order.sort_by_key(|&at| needs.least(at));
    for at in order {
        class.place(at)?;
    }
    let at_most = needs.at_most();
    while class.make_room(at_most)? {}
    class.vary()?;
    // What is lacking is told of the cloth that is left in the end.
    for at in (0..request.rugs.len()).filter(|&at| class.rugs[at].is_err()).collect::<Vec<_>>() {
        class.place(at)?;
    }
    Ok(ClassDesigns { rugs: class.rugs, at_most, work: class.work })
}

struct Class<'a> {
    request: &'a ClassRequest<'a>,
    /// The shelf without what the designs take.
    left: Vec<Cloth>,
    rugs: Vec<Result<Design, Lacking>>,
    chance: Chance,
    work: u64,
    each: u64,
}

impl<'a> Class<'a> {
    fn new(request: &'a ClassRequest<'a>, work: u64) -> Self {
        let rugs = request.rugs.len();
        Self {
            request,
            left: request.cloth.to_vec(),
            rugs: vec![Err(Lacking::Wishes); rugs],
            chance: Chance(request.seed),
            work,
            // A first design takes about half of this, so that as much again is there to improve it.
            each: (request.effort / rugs as u64).clamp(EACH[0], EACH[1]),
        }
    }

    fn is_spent(&self, part: f64) -> bool {
        self.work as f64 >= part * self.request.effort as f64
    }

    fn covered(&self) -> Vec<usize> {
        (0..self.rugs.len()).filter(|&at| self.rugs[at].is_ok()).collect()
    }

    /// What other rugs look like.
    fn others(&self, at: usize) -> Vec<Vec<DesignBand>> {
        let others = self.rugs.iter().enumerate().filter(|(other, _)| *other != at);
        let own = others.filter_map(|(_, rug)| rug.as_ref().ok().map(|design| design.bands.clone()));
        own.chain(self.request.unlike.iter().cloned()).collect()
    }

    fn ask(&mut self, at: usize, unlike: &[Vec<DesignBand>]) -> Result<Suggestions, DesignError> {
        let seed = self.request.seed.wrapping_mul(1_000).wrapping_add(self.chance.below(1_000_000) as u64);
        let rug = &self.request.rugs[at];
        let found = suggest(&Request {
            cloth: &self.left,
            wishes: rug.wishes,
            base: rug.base,
            count: COUNT,
            most: self.request.most,
            step: self.request.step,
            unlike,
            seed,
            effort: self.each,
        })?;
        self.work += found.work;
        Ok(found)
    }

    /// Finds a rug without a design that of those which are found that is least like the others'. How much they differ, where there
    /// is one; infinitely much where there are no others.
    fn place(&mut self, at: usize) -> Result<Option<f64>, DesignError> {
        let others = self.others(at);
        let mut found = self.ask(at, &others)?;
        if found.lacking == Some(Lacking::Wishes) && !others.is_empty() {
            found = self.ask(at, &[])?;
        }
        let apart = |design: &Design| {
            others.iter().map(|other| difference(other, &design.bands)).fold(f64::INFINITY, f64::min)
        };
        let found_apart = found.designs.into_iter().map(|design| (apart(&design), design));
        // Among equals the one that looks best, which is the first.
        let best = found_apart.reduce(|best, one| if one.0 > best.0 { one } else { best });
        let Some((apart, design)) = best else {
            self.rugs[at] = Err(found.lacking.unwrap_or(Lacking::Wishes));
            return Ok(None);
        };
        self.give(at, design);
        Ok(Some(apart))
    }

    fn give(&mut self, at: usize, design: Design) {
        for one in &design.uses {
            self.left[one.cloth].grams -= one.grams;
        }
        self.rugs[at] = Ok(design);
    }

    /// Lays a rug's cloth back on the shelf.
    fn take_back(&mut self, at: usize) -> Option<Design> {
        let design = std::mem::replace(&mut self.rugs[at], Err(Lacking::Wishes)).ok()?;
        for one in &design.uses {
            self.left[one.cloth].grams += one.grams;
        }
        Some(design)
    }

    /// Covers one more rug by finding another one something else; whether that came off.
    fn make_room(&mut self, at_most: usize) -> Result<bool, DesignError> {
        let mut others = self.covered();
        if others.len() >= at_most {
            return Ok(false);
        }
        self.chance.shuffle(&mut others);
        for without in (0..self.rugs.len()).filter(|&at| self.rugs[at].is_err()).collect::<Vec<_>>() {
            for &other in &others {
                if self.is_spent(ROOM_UNTIL) {
                    return Ok(false);
                }
                let lacking = self.rugs[without].clone();
                let Some(before) = self.take_back(other) else { continue };
                if self.place(without)?.is_some() {
                    if self.place(other)?.is_some() {
                        return Ok(true);
                    }
                    self.take_back(without);
                }
                self.rugs[without] = lacking;
                self.give(other, before);
            }
        }
        Ok(false)
    }

    /// Asks one of the two most alike again, and keeps what differs more, until that helps no more.
    fn vary(&mut self) -> Result<(), DesignError> {
        let mut failed = 0;
        while failed < PATIENCE && !self.is_spent(1.0) {
            let (rugs, others) = (self.covered(), self.request.unlike);
            let apart = |at: usize, design: &Design| {
                let own =
                    rugs.iter().filter(|&&one| one != at).filter_map(|&one| self.rugs[one].as_ref().ok());
                let all = own.map(|design| &design.bands).chain(others);
                all.map(|other| difference(other, &design.bands)).fold(f64::INFINITY, f64::min)
            };
            let mut by_likeness: Vec<(f64, usize)> =
                rugs.iter().filter_map(|&at| Some((apart(at, self.rugs[at].as_ref().ok()?), at))).collect();
            by_likeness.sort_by(|a, b| a.0.total_cmp(&b.0));
            // The two most alike stand first, with one difference; they take turns.
            let Some(&(least, at)) = by_likeness.get(failed % 2).filter(|(least, _)| least.is_finite())
            else {
                break;
            };
            let Some(before) = self.take_back(at) else { break };
            let better = self.place(at)?.is_some_and(|apart| apart > least);
            if better {
                failed = 0;
            } else {
                self.take_back(at);
                self.give(at, before);
                failed += 1;
            }
        }
        Ok(())
    }
}
