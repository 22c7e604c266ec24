//! A rug of any size from the frames that a workroom has: which sizes of panels they weave, and the best layout of them. The search
//! itself is `optimize::panels`'s.
use crate::optimize::panels::{Arrangement, PanelsError, Size, Wanted, piece_together};
use crate::planning::frame::Frame;
use crate::planning::spec::RugSpec;
use crate::store::rugs::FrameSize;
use crate::units::Units;

/// The rug that frames of one size make.
pub fn makes(size: &FrameSize) -> Size {
    Size { width: size.width_nm, length: size.span_nm - RugSpec::ALLOWANCE }
}

/// The sizes that panels can be woven in. Frames that differ only in their nails weave the same size: the first stands for
/// all of them.
pub fn usable(sizes: &[FrameSize]) -> Vec<FrameSize> {
    let mut usable: Vec<FrameSize> = Vec::new();
    for size in sizes.iter().filter(|size| makes(size).length >= Frame::MIN_SIDE) {
        match usable.iter_mut().find(|known| makes(known) == makes(size)) {
            Some(known) => known.frames += size.frames,
            None => usable.push(size.clone()),
        }
    }
    usable
}

/// The best layout. Where panels may be narrower, few panels are tried first, since the shares of many make more layouts
/// than can be looked at; and when even those are too many, the frames' own sizes still may fit.
///
/// # Errors
/// [`PanelsError`]: sizes out of range, or nothing comes near enough.
pub fn nearest(sizes: &[Size], wanted: &Wanted, units: Units) -> Result<Arrangement, PanelsError> {
    if wanted.narrower {
        for most in (1..wanted.most).step_by(2) {
            match piece_together(sizes, &Wanted { most, ..*wanted }, units) {
                Err(PanelsError::NoFit { proven: true, .. }) => {}
                Err(PanelsError::NoFit { .. }) => break,
                settled => return settled,
            }
        }
    }
    match piece_together(sizes, wanted, units) {
        Err(refused @ PanelsError::NoFit { proven: false, .. }) => {
            // Nobody looked at all the narrower ones, so nothing is proven of what the frames' own sizes make.
            let plain = piece_together(sizes, &Wanted { narrower: false, ..*wanted }, units).or(Err(refused));
            plain.map(Arrangement::unproven)
        }
        settled => settled,
    }
}
