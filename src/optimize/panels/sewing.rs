//! What a rug of panels takes beyond its panels: the sewing, the backing, and how each panel is woven. Where the panels lie
//! is found in `panels`; what a panel's own cloth and time are is `plan`'s.
use super::{Arrangement, Panel, Size, Stitch};
use crate::planning::finish::{backing_edge, slip_stitch_thread};
use crate::planning::needs::{THREAD_PIECE, THREAD_TAIL};
use crate::planning::settings::{Parameter, Settings};
use crate::units::Length;

/// How far a backing stays inside a rug's edge, 1 in. Common practice, no source.
pub const BACKING_MARGIN: Length = Length::from_nm(25_400_000);

/// Strip, thread and backing of a rug of panels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sewing {
    /// All seams together.
    pub seam: Length,
    /// Cloth strip, where seams are whip stitched with strip.
    pub strip: Length,
    /// Thread, where they are whip stitched with thread.
    pub thread: Length,
    /// The backing, a margin smaller all round.
    pub backing: Size,
    /// Thread for slip stitching the backing on.
    pub backing_thread: Length,
}

impl Sewing {
    /// What the layout takes.
    pub fn of(arrangement: &Arrangement) -> Self {
        let Size { width, length } = arrangement.size;
        let inner = |side: Length| (side - BACKING_MARGIN * 2).max(Length::ZERO);
        let edge = backing_edge(length, width, BACKING_MARGIN);
        let ratio = Settings::default().at().number(Parameter::ThreadRatio);
        Self {
            seam: arrangement.seam,
            strip: arrangement.sewing(Stitch::STRIP),
            thread: arrangement.sewing(Stitch::THREAD),
            backing: Size { width: inner(width), length: inner(length) },
            backing_thread: slip_stitch_thread(edge, ratio, THREAD_PIECE, THREAD_TAIL),
        }
    }
}

/// Panels that are woven alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alike {
    /// Which of the sizes, counted from 0.
    pub size: usize,
    /// As woven: narrower than the frame's own rug where that was welcome.
    pub woven: Size,
    /// Their numbers in the drawing, counted from 1.
    pub numbers: Vec<usize>,
}

/// The panels of a layout, those that are woven alike together, in the order of their first number. Sides that the `ease`
/// made equal are woven at the frame's own size.
pub fn alike(arrangement: &Arrangement, sizes: &[Size], ease: Length) -> Vec<Alike> {
    let mut groups: Vec<Alike> = Vec::new();
    for (panel, number) in arrangement.panels.iter().zip(1..) {
        let woven = woven(panel, sizes[panel.size], ease);
        match groups.iter_mut().find(|group| group.size == panel.size && group.woven == woven) {
            Some(group) => group.numbers.push(number),
            None => groups.push(Alike { size: panel.size, woven, numbers: vec![number] }),
        }
    }
    groups
}

fn woven(panel: &Panel, size: Size, ease: Length) -> Size {
    let across = if panel.turned { panel.length } else { panel.width };
    let width = if (across - size.width).abs() <= ease { size.width } else { across };
    Size { width, length: size.length }
}
