//! What sizes of panels there are to piece together: as the frames weave them, narrower, and eased to each other. Laying them
//! out is the parent's.
use super::wanted::{Size, Wanted};
use crate::planning::frame::Frame;
use crate::units::Length;
use std::collections::BTreeMap;

/// A size that can be woven: from which of the sizes, width, length.
pub(super) type Woven = (usize, i64, i64);

/// What can be sewn of the sizes that can be woven: as they are, since sides that were all eased would lose the rug that
/// they fit exactly; the frames' own eased among themselves, so that sides woven narrower take nothing away; and all eased.
pub(super) fn sewn(sizes: &[Size], wanted: &Wanted) -> Vec<Woven> {
    let own = woven(sizes, &Wanted { narrower: false, ..*wanted });
    let all = woven(sizes, wanted);
    // Eased ones come first: among equals the first found is told.
    let mut sewn = eased(all.clone(), wanted.ease);
    sewn.extend(eased(own, wanted.ease));
    sewn.extend(all);
    sewn
}

fn woven(sizes: &[Size], wanted: &Wanted) -> Vec<Woven> {
    let mut woven: Vec<Woven> =
        sizes.iter().enumerate().map(|(at, size)| (at, size.width.nm(), size.length.nm())).collect();
    if wanted.narrower {
        for (at, size) in sizes.iter().enumerate() {
            for side in [wanted.size.width, wanted.size.length] {
                let shares = (1..=wanted.most as i64).map(|shares| side.nm() / shares);
                let fits = shares.filter(|&share| share < size.width.nm() && share >= Frame::MIN_SIDE.nm());
                woven.extend(fits.map(|share| (at, share, size.length.nm())));
            }
        }
    }
    woven
}

/// The sizes with sides that differ by no more than the ease made equal to the longest of them.
fn eased(woven: Vec<Woven>, ease: Length) -> Vec<Woven> {
    let mut sides: Vec<i64> = woven.iter().flat_map(|&(_, width, length)| [width, length]).collect();
    sides.sort_unstable();
    let mut as_sewn: BTreeMap<i64, i64> = BTreeMap::new();
    let mut rest = sides.as_slice();
    while let Some(&shortest) = rest.first() {
        let like = rest.partition_point(|&side| side - shortest <= ease.nm());
        as_sewn.extend(rest[..like].iter().map(|&side| (side, rest[like - 1])));
        rest = &rest[like..];
    }
    woven.into_iter().map(|(at, width, length)| (at, as_sewn[&width], as_sewn[&length])).collect()
}
