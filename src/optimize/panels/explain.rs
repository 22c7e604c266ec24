//! How it was worked out what a rug of panels takes beyond its panels.
use crate::optimize::panels::sewing::{BACKING_MARGIN, Sewing};
use crate::optimize::panels::{Arrangement, Stitch};
use crate::planning::explain::{GEOMETRY, PRACTICE, count};
use crate::planning::needs::{THREAD_PIECE, THREAD_TAIL};
use crate::planning::settings::{Parameter, Settings};
use crate::planning::workings::Derivation;

/// A working for each number of a layout's sewing and backing.
pub fn pieced(arrangement: &Arrangement, sewing: &Sewing) -> Vec<Derivation> {
    let seams = arrangement.panels.len().saturating_sub(1);
    let whip = |key: &str, title: &str, result, stitch: Stitch| {
        Derivation::new(key, title, result)
            .by(
                "seam · √(s² + (2 · thickness + 4 · bite)²) / s + tail for each seam: a helix of pitch s round both edges",
                "geometry; pitch, thickness and bite are reasoned estimates",
            )
            .worked("seams", sewing.seam, "pieced.seam")
            .chosen("number of seams", count(seams as f64))
            .chosen("s, from stitch to stitch", stitch.pitch)
            .chosen("thickness of an edge", stitch.thickness)
            .chosen("bite into each edge", stitch.bite)
            .chosen("tail, both ends of a seam", stitch.tail)
    };
    let size = arrangement.size;
    let seam = Derivation::new("pieced.seam", "Seams", sewing.seam)
        .by("the lengths of all edges at which two panels meet", GEOMETRY)
        .chosen("panels", count(arrangement.panels.len() as f64));
    let edge = (sewing.backing.width + sewing.backing.length) * 2;
    let backing = Derivation::new("pieced.backing", "Edge of the backing", edge)
        .by("2 · (width − 2 · margin + length − 2 · margin)", GEOMETRY)
        .chosen("width", size.width)
        .chosen("length", size.length)
        .chosen("margin", BACKING_MARGIN);
    let thread = Derivation::new("pieced.backing_thread", "Thread for the backing", sewing.backing_thread)
        .by("edge · ratio + a tail for each thread", PRACTICE)
        .worked("edge", edge, "pieced.backing")
        .chosen("length of a thread", THREAD_PIECE)
        .chosen("tail", THREAD_TAIL)
        .parameters(&Settings::default(), &[Parameter::ThreadRatio]);
    let mut all = vec![seam];
    if seams > 0 {
        all.push(whip("pieced.strip", "Seam strip", sewing.strip, Stitch::STRIP));
        all.push(whip("pieced.thread", "Seam thread", sewing.thread, Stitch::THREAD));
    }
    all.extend([backing, thread]);
    all
}
