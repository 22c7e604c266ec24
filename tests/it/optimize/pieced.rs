//! What a rug of panels takes beyond its panels.
use crate::planning::{inches, near};
use thrumhall::optimize::panels::sewing::{Sewing, alike};
use thrumhall::optimize::panels::{Arrangement, Size, USUAL_EASE, Wanted, piece_together};
use thrumhall::units::Units;

fn size(width: f64, length: f64) -> Size {
    Size { width: inches(width), length: inches(length) }
}

fn pieced(sizes: &[Size], width: f64, length: f64, narrower: bool) -> Arrangement {
    let wanted =
        Wanted { size: size(width, length), tolerance: inches(1.0), ease: USUAL_EASE, most: 12, narrower };
    piece_together(sizes, &wanted, Units::Inches).unwrap_or_else(|e| panic!("{e}"))
}

/// Source: a helix, √(s² + loop²)/s along its axis; by hand for two panels of 18 × 32 in side by side: a seam of 32 in,
/// loops of 4·¼ + 2·⅜ = 1¾ in at ¾ in make 32·√(0.75² + 1.75²)/0.75 = 81.24 in, and a tail of 8 in.
#[test]
fn seams_and_backing_of_two_panels() {
    let sewing = Sewing::of(&pieced(&[size(18.0, 32.0)], 36.0, 32.0, false));
    assert_eq!(sewing.seam, inches(32.0));
    near(sewing.strip.in_inches(), 81.24 + 8.0, 0.01);
    assert_eq!(sewing.backing, size(34.0, 30.0));
    // Twice the edge of 128 in, and 6 in of tails for each thread of 36 in, 30 of which sew: 256 + 9 · 6.
    near(sewing.backing_thread.in_inches(), 310.0, 1e-6);
}

#[test]
fn panels_that_are_woven_alike_stand_together() {
    let sizes = [size(18.0, 32.0)];
    let full = alike(&pieced(&sizes, 36.0, 64.0, false), &sizes, USUAL_EASE);
    assert_eq!(full.len(), 1);
    assert_eq!((full[0].woven, full[0].numbers.as_slice()), (sizes[0], [1, 2, 3, 4].as_slice()));
    // 30 in is two shares of 15 in, each woven on the 18 in frame.
    let narrow = alike(&pieced(&sizes, 30.0, 32.0, true), &sizes, USUAL_EASE);
    assert_eq!((narrow.len(), narrow[0].woven), (1, size(15.0, 32.0)));
}

#[test]
fn sides_within_the_ease_are_woven_at_the_frames_own_size() {
    let sizes = [size(18.0, 32.0), size(18.2, 32.0)];
    let groups = alike(&pieced(&sizes, 18.2, 64.0, false), &sizes, USUAL_EASE);
    assert!(groups.iter().all(|group| group.woven == sizes[group.size]), "{groups:?}");
}
