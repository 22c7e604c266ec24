//! Which kinds of cloth a rug can be made of here: what its warp and weft take then, and the bundles that serve.
use super::answer::Lacking;
use super::palette::{Neighbours, Palette};
use super::question::{Cloth, DesignError, Request};
use crate::planning::cloth::WarpFit;
use crate::planning::{Kind, Plan};
use crate::units::{Length, Mass, Units};

/// A kind of warp and a kind of weft, with what serves them.
///
/// A rug is planned for a kind, and served by bundles that stand in for it and are no heavier. Its needs are covered in each of
/// the kinds that may serve it.
#[derive(Debug)]
pub(super) struct Outfit {
    pub warp: Kind,
    pub weft: Kind,
    /// Bundles that are fit for the warp, those with most first.
    pub warp_pool: Vec<usize>,
    /// Grams of weft at the take, in one colour.
    pub weft_take: i64,
    pub length: Length,
    pub palette: Palette,
    /// Kinds that may serve warp and weft: rows are whole, so that a low band of lighter cloth can take more.
    pub warp_kinds: Vec<Kind>,
    pub weft_kinds: Vec<Kind>,
}

/// The most kinds of cloth that are tried.
const MOST: usize = 6;

/// Whole grams that are enough for a need.
pub(in crate::optimize) fn whole_grams(mass: Mass) -> i64 {
    (mass.grams() - 1e-9).ceil().max(0.0) as i64
}

/// Whether cloth of one kind may serve what is planned for another: it stands in for it and is no heavier.
pub(in crate::optimize) fn may_serve(kind: Kind, planned: Kind, warp: bool) -> bool {
    kind.stands_in_for(planned, warp) && kind.facts().typical <= planned.facts().typical
}

/// The kinds of warp that a rug may be planned for, of those that there are.
pub(in crate::optimize) fn warp_kinds(kinds: &[Kind]) -> Vec<Kind> {
    let fit = kinds.iter().copied().filter(|kind| kind.facts().warp == WarpFit::Fit).collect::<Vec<_>>();
    if fit.is_empty() { vec![Kind::Percale] } else { fit }
}

fn pool(cloth: &[Cloth], planned: Kind, warp: bool) -> Vec<bool> {
    cloth.iter().map(|one| may_serve(one.kind, planned, warp)).collect()
}

fn sum(cloth: &[Cloth], pool: &[bool]) -> i64 {
    cloth.iter().zip(pool).filter(|(_, is)| **is).map(|(one, _)| one.grams).sum()
}

/// The kinds of warp and weft that are enough, those with most cloth first; and what is lacking where none is.
pub(super) fn outfits(request: &Request) -> Result<(Vec<Outfit>, Option<Lacking>), DesignError> {
    let (cloth, wishes) = (request.cloth, request.wishes);
    let there = |kind: &Kind| cloth.iter().any(|one| one.kind == *kind && one.grams > 0);
    let kinds: Vec<Kind> = Kind::ALL.into_iter().filter(there).collect();
    let near = Neighbours::of(cloth);
    let (mut made, mut lacking, mut refused) = (Vec::new(), None, None);
    let wefts = || kinds.iter().copied().filter(|kind| wishes.weft_kind.is_none_or(|wished| wished == *kind));
    let warps = warp_kinds(&kinds);
    for weft in wefts() {
        let served = pool(cloth, weft, false);
        for &warp in &warps {
            let plan = match Plan::of(&(request.base)(warp, weft), Units::Metric) {
                Ok(plan) => plan,
                Err(why) => {
                    refused.get_or_insert(why);
                    continue;
                }
            };
            let warp_take = whole_grams(plan.cloth.warp.p90 + plan.cloth.fringe.p90);
            let weft_take = whole_grams(plan.cloth.weft.p90);
            let fit = pool(cloth, warp, true);
            let mut warp_pool: Vec<usize> =
                (0..cloth.len()).filter(|&at| fit[at] && cloth[at].grams > 0).collect();
            warp_pool.sort_by(|&a, &b| cloth[b].grams.cmp(&cloth[a].grams).then(a.cmp(&b)));
            let reach: i64 = warp_pool.iter().take(request.most).map(|&at| cloth[at].grams).sum();
            let weft_there = sum(cloth, &served);
            if reach < warp_take {
                note(&mut lacking, Lacking::Warp { needed: warp_take, there: reach });
            } else if weft_there < weft_take {
                note(&mut lacking, Lacking::Weft { needed: weft_take, there: weft_there });
            } else {
                made.push((
                    weft_there.min(4 * weft_take) + reach.min(4 * warp_take),
                    warp,
                    weft,
                    warp_pool,
                    weft_take,
                    plan.length,
                ));
            }
        }
    }
    if kinds.is_empty() {
        lacking = Some(nothing(request)?);
    }
    if let (true, None, Some(why)) = (made.is_empty(), lacking, refused) {
        return Err(why.into());
    }
    // Those with the most to choose from; among equals the usual cloth, which stands first.
    made.sort_by_key(|(most, ..)| std::cmp::Reverse(*most));
    made.truncate(MOST);
    let outfit = |(_, warp, weft, warp_pool, weft_take, length)| {
        let served = pool(cloth, weft, false);
        let palette = Palette::of(cloth, &near, &served, request.most, wishes);
        let among = |pool: &[bool]| {
            kinds
                .iter()
                .copied()
                .filter(|kind| cloth.iter().zip(pool).any(|(one, is)| *is && one.kind == *kind))
                .collect()
        };
        let (warp_kinds, weft_kinds) = (among(&pool(cloth, warp, true)), among(&served));
        Outfit { warp, weft, warp_pool, weft_take, length, palette, warp_kinds, weft_kinds }
    };
    Ok((made.into_iter().map(outfit).filter(|one| !one.palette.tones.is_empty()).collect(), lacking))
}

/// What an empty shelf lacks.
fn nothing(request: &Request) -> Result<Lacking, DesignError> {
    let plan = Plan::of(&(request.base)(Kind::Percale, Kind::Percale), Units::Metric)?;
    Ok(Lacking::Weft { needed: whole_grams(plan.cloth.weft.p90), there: 0 })
}

/// Keeps what lacks least.
fn note(lacking: &mut Option<Lacking>, one: Lacking) {
    let short = |lacking: Lacking| match lacking {
        Lacking::Warp { needed, there } | Lacking::Weft { needed, there } => needed - there,
        Lacking::Wishes => 0,
    };
    if lacking.is_none_or(|known| short(one) < short(known)) {
        *lacking = Some(one);
    }
}
