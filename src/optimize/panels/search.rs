//! The rectangles that so many panels make, level by level, and the best of them. How five make a pinwheel is `pinwheel`'s; which
//! panels there are, `sewn`'s.
use super::sewn::Woven;
use super::{Among, Arrangement, Panel, Size, Wanted};
use crate::units::Length;
use std::collections::{BTreeMap, HashMap};

/// The most rectangles that are kept.
const MOST_MADE: usize = 60_000;
/// How far beyond the tolerance a nearest size is still looked for, in parts of the side.
const LOOKED: f64 = 0.1;

/// The wanted size, in nanometres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Goal {
    pub(super) sides: [i64; 2],
    tolerance: i64,
}

impl Goal {
    pub(super) fn of(wanted: &Wanted) -> Self {
        let Size { width, length } = wanted.size;
        Self { sides: [width.nm(), length.nm()], tolerance: wanted.tolerance.nm() }
    }

    fn offs(&self, size: [i64; 2]) -> [i64; 2] {
        [0, 1].map(|side| (size[side] - self.sides[side]).abs())
    }

    /// How far a size is off, both sides together.
    pub(super) fn off(&self, size: [i64; 2]) -> i64 {
        self.offs(size).iter().sum()
    }

    fn fits(&self, size: [i64; 2]) -> bool {
        self.offs(size).iter().all(|&off| off <= self.tolerance)
    }

    fn reach(&self, side: usize) -> i64 {
        let side = self.sides[side];
        side + self.tolerance.max((side as f64 * LOOKED) as i64)
    }
}

/// What came of looking.
pub(super) struct Looked {
    /// The best layout, nothing said yet of what is proven.
    pub(super) best: Option<Arrangement>,
    /// Where there is none, the nearest size that was seen.
    pub(super) nearest: Option<[i64; 2]>,
    /// Whether all were looked at.
    pub(super) proven: bool,
}

/// The best layout of at most so many panels; with pinwheels or without.
pub(super) fn look(woven: &[Woven], goal: Goal, most: usize, most_tried: u32, turned: bool) -> Looked {
    let mut search = Search {
        made: Vec::new(),
        levels: Vec::new(),
        most_width: goal.reach(0),
        most_length: goal.reach(1),
        tried: 0,
        most_tried,
    };
    let mut nearest: Option<[i64; 2]> = None;
    for panels in 1..=most {
        if panels == 1 {
            search.first(woven);
        } else {
            search.join(panels);
            if turned {
                search.turn(panels);
            }
        }
        let size = |at: usize| [search.made[at].width, search.made[at].length];
        // The index settles ties, so that the same sizes always give the same layout.
        let best = |fits: bool| {
            let here = search.levels[panels - 1].values().copied();
            let open = here.filter(|&at| !fits || goal.fits(size(at)));
            open.min_by_key(|&at| (goal.off(size(at)), search.made[at].seam, at))
        };
        if let Some(at) = best(true) {
            let best = Some(search.arrangement(at, goal.off(size(at))));
            return Looked { best, nearest: None, proven: !search.is_spent() };
        }
        if let Some(at) = best(false) {
            nearest = nearest.into_iter().chain([size(at)]).min_by_key(|size| goal.off(*size));
        }
    }
    Looked { best: None, nearest, proven: !search.is_spent() }
}

/// A rectangle that panels make, and how.
#[derive(Debug, Clone, Copy)]
pub(super) struct Made {
    pub(super) width: i64,
    pub(super) length: i64,
    pub(super) seam: i64,
    pub(super) how: How,
}

#[derive(Debug, Clone, Copy)]
pub(super) enum How {
    Panel {
        size: usize,
        turned: bool,
    },
    Beside(usize, usize),
    Below(usize, usize),
    /// A pinwheel, in the order that [`pinwheel`](super::pinwheel) tells.
    Turned([usize; 5]),
}

/// The rectangles of each number of panels, each with its least seam.
pub(super) struct Search {
    pub(super) made: Vec<Made>,
    /// Of each number of panels: by width and length.
    pub(super) levels: Vec<HashMap<(i64, i64), usize>>,
    pub(super) most_width: i64,
    pub(super) most_length: i64,
    /// Pairs put together so far.
    pub(super) tried: u32,
    most_tried: u32,
}

impl Search {
    fn first(&mut self, woven: &[Woven]) {
        self.levels.push(HashMap::new());
        for &(size, width, length) in woven {
            for (turned, width, length) in [(false, width, length), (true, length, width)] {
                self.add(Made { width, length, seam: 0, how: How::Panel { size, turned } });
            }
        }
    }

    /// Makes every rectangle of so many panels from two smaller ones.
    fn join(&mut self, panels: usize) {
        self.levels.push(HashMap::new());
        for fewer in 1..=panels / 2 {
            let [ones, others] = [fewer, panels - fewer].map(|n| self.sorted(n));
            let mut by_length: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
            let mut by_width: BTreeMap<i64, Vec<usize>> = BTreeMap::new();
            for &at in &others {
                by_length.entry(self.made[at].length).or_default().push(at);
                by_width.entry(self.made[at].width).or_default().push(at);
            }
            for &at in &ones {
                if self.is_spent() {
                    return;
                }
                let one = self.made[at];
                for &other in by_length.get(&one.length).into_iter().flatten() {
                    let Made { width, seam, .. } = self.made[other];
                    let (width, seam) = (one.width + width, one.seam + seam + one.length);
                    self.add(Made { width, length: one.length, seam, how: How::Beside(at, other) });
                }
                for &other in by_width.get(&one.width).into_iter().flatten() {
                    let Made { length, seam, .. } = self.made[other];
                    let (length, seam) = (one.length + length, one.seam + seam + one.width);
                    self.add(Made { width: one.width, length, seam, how: How::Below(at, other) });
                }
            }
        }
    }

    pub(super) fn sorted(&self, panels: usize) -> Vec<usize> {
        let mut all: Vec<usize> = self.levels[panels - 1].values().copied().collect();
        all.sort_unstable();
        all
    }

    /// Whether there were too many rectangles or pairs to look at them all.
    pub(super) fn is_spent(&self) -> bool {
        self.made.len() >= MOST_MADE || self.tried >= self.most_tried
    }

    pub(super) fn add(&mut self, made: Made) {
        let (width, length) = (made.width, made.length);
        self.tried += 1;
        if width > self.most_width || length > self.most_length || self.made.len() >= MOST_MADE {
            return;
        }
        let Some(level) = self.levels.last_mut() else { return };
        if let Some(&at) = level.get(&(width, length)) {
            // Nothing is built on this level yet, so it can be bettered in place.
            if made.seam < self.made[at].seam {
                self.made[at] = made;
            }
        } else {
            level.insert((width, length), self.made.len());
            self.made.push(made);
        }
    }

    fn arrangement(&self, at: usize, off: i64) -> Arrangement {
        let made = self.made[at];
        let mut panels = Vec::new();
        self.place(at, 0, 0, &mut panels);
        Arrangement {
            panels,
            size: Size { width: Length::from_nm(made.width), length: Length::from_nm(made.length) },
            off: Length::from_nm(off),
            seam: Length::from_nm(made.seam),
            proven: false,
            among: Among::Cut,
        }
    }

    fn place(&self, at: usize, left: i64, top: i64, panels: &mut Vec<Panel>) {
        let Made { width, length, how, .. } = self.made[at];
        match how {
            How::Panel { size, turned } => {
                let [left, top, width, length] = [left, top, width, length].map(Length::from_nm);
                panels.push(Panel { size, turned, left, top, width, length });
            }
            How::Beside(one, other) => {
                self.place(one, left, top, panels);
                self.place(other, left + self.made[one].width, top, panels);
            }
            How::Below(one, other) => {
                self.place(one, left, top, panels);
                self.place(other, left, top + self.made[one].length, panels);
            }
            How::Turned(parts) => {
                for (part, [x, y]) in parts.into_iter().zip(self.turned_places(parts)) {
                    self.place(part, left + x, top + y, panels);
                }
            }
        }
    }
}
