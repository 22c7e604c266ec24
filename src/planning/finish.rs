//! Seams, backing and fringe: strip, thread and stitches. Time for them is in `needs`.
use crate::units::Length;

/// Thread or strip for a whip stitch along a seam: `seam · √(s² + loop²)/s`.
///
/// The stitch is taken as a helix of pitch `s` round two edges that lie side by side, each `thickness` thick, that bites
/// `bite` deep into both: one loop is `2·(2·bite) + 2·thickness`. A stitch pulled flat takes less, a loose one more.
pub fn whip_stitch(seam: Length, pitch: Length, thickness: Length, bite: Length) -> Length {
    let around = bite * 4 + thickness * 2;
    seam.scale(pitch.mm().hypot(around.mm()) / pitch.mm())
}

/// The edge of a backing that stays a margin inside the rug.
pub fn backing_edge(length: Length, width: Length, margin: Length) -> Length {
    ((length - margin * 2).max(Length::ZERO) + (width - margin * 2).max(Length::ZERO)) * 2
}

/// Thread for slip stitching an edge: `edge · ratio`, and for each thread of `piece` a tail at both ends together.
pub fn slip_stitch_thread(edge: Length, ratio: f64, piece: Length, tail: Length) -> Length {
    let sewn = edge.scale(ratio);
    let threads = sewn.ratio((piece - tail).max(Length::from_nm(1))).ceil();
    sewn + tail.scale(threads)
}

/// One fringe strip, folded in two and knotted in: `2·fringe + knot`.
pub fn fringe_strip(fringe: Length, knot: Length) -> Length {
    fringe * 2 + knot
}
