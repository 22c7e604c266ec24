//! QR codes among what is filled, read module by module.
use rqrr::{Grid, SimpleGrid};

use super::Fill;

/// A code and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Code {
    pub page: usize,
    /// Left, top, width and height without the quiet zone.
    pub area: [f64; 4],
    pub says: String,
}

/// A code is drawn at once: more rectangles than anything else, all of one height, within a square.
pub fn read(fills: &[Fill]) -> Vec<Code> {
    fills.iter().filter(|fill| fill.areas.len() > 100).map(code).collect()
}

fn code(fill: &Fill) -> Code {
    let one = fill.areas[0][3];
    assert!(fill.areas.iter().all(|area| (area[3] - one).abs() < 1e-3), "modules are of one height");
    let end = |side: usize| {
        let ends = fill.areas.iter().map(|area| area[side] + area[side + 2]);
        let start = fill.areas.iter().map(|area| area[side]).fold(f64::MAX, f64::min);
        (start, ends.fold(f64::MIN, f64::max) - start)
    };
    let ((left, wide), (top, high)) = (end(0), end(1));
    assert!((wide - high).abs() < 1e-2, "a code is square");
    let size = (wide / one).round() as usize;
    let mut dark = vec![false; size * size];
    for [x, y, w, _] in &fill.areas {
        let row = ((y - top) / one).round() as usize;
        let from = ((x - left) / one).round() as usize;
        let to = from + (w / one).round() as usize;
        dark[row * size + from..row * size + to].fill(true);
    }
    let grid = Grid::new(SimpleGrid::from_func(size, |x, y| dark[y * size + x]));
    let (_, says) = grid.decode().unwrap_or_else(|error| panic!("a code can't be read: {error:?}"));
    Code { page: fill.page, area: [left, top, wide, high], says }
}
