//! A rug of any size pieced together from rugs of the frames' sizes. Drawing it is `drawing::panels`'s; the plan of each
//! panel is `plan`'s.
mod error;
pub mod explain;
pub mod sewing;

pub use error::PanelsError;

use crate::planning::finish::whip_stitch;
use crate::planning::frame::Frame;
use crate::units::{Length, Units};
use std::collections::{BTreeMap, HashMap};

/// The size of the rug that a frame makes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    /// Between the edge rods.
    pub width: Length,
    /// As woven.
    pub length: Length,
}

/// What is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// The whole rug.
    pub size: Size,
    /// How far each side may be off.
    pub tolerance: Length,
    /// Sides of panels that differ by no more are sewn together as if they were equal.
    pub ease: Length,
    /// The most panels.
    pub most: usize,
    /// Whether a frame's rug may also be woven narrower, an equal share of a wanted side. Its length is the frame's.
    pub narrower: bool,
}

/// A panel in its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Panel {
    /// Which of the sizes, counted from 0.
    pub size: usize,
    /// Whether it lies turned, its rows running along the rug.
    pub turned: bool,
    /// From the rug's left edge.
    pub left: Length,
    /// From the rug's start.
    pub top: Length,
    /// Across the rug, as it lies and as sewn.
    pub width: Length,
    /// Along the rug, as it lies and as sewn.
    pub length: Length,
}

/// A rug of panels.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrangement {
    /// Every panel.
    pub panels: Vec<Panel>,
    /// The whole rug.
    pub size: Size,
    /// How far it is off the wanted size, both sides together.
    pub off: Length,
    /// All seams together.
    pub seam: Length,
    /// Whether no layout with straight seams across is better. False only where there were too many to look at.
    pub proven: bool,
}

/// The most panels that anyone would sew together.
pub const MOST_PANELS: usize = 24;
/// The usual ease, ¼ in; reasoned estimate.
pub const USUAL_EASE: Length = Length::from_nm(25_400_000 / 4);
const MOST_MADE: usize = 60_000;
/// The most pairs that are put together usually, about a second's work.
pub const MOST_TRIED: u32 = 10_000_000;
/// How far beyond the tolerance a nearest size is still looked for, in parts of the side.
const LOOKED: f64 = 0.1;

/// How two panels are sewn together edge to edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stitch {
    /// From stitch to stitch.
    pub pitch: Length,
    /// Thickness of a panel's edge.
    pub thickness: Length,
    /// How deep it bites into each edge.
    pub bite: Length,
    /// Both ends of a seam together.
    pub tail: Length,
}

const EIGHTH: i64 = 25_400_000 / 8;
impl Stitch {
    /// With a cloth strip: ¾ in apart through edges ⅜ in thick, ¼ in deep, 8 in of tails. Reasoned estimate.
    pub const STRIP: Self = Self::eighths(6, 64);
    /// With thread: the same, ¼ in apart, 6 in of tails. Reasoned estimate.
    pub const THREAD: Self = Self::eighths(2, 48);

    const fn eighths(pitch: i64, tail: i64) -> Self {
        let [pitch, thickness, bite, tail] = [pitch * EIGHTH, 3 * EIGHTH, 2 * EIGHTH, tail * EIGHTH];
        Self {
            pitch: Length::from_nm(pitch),
            thickness: Length::from_nm(thickness),
            bite: Length::from_nm(bite),
            tail: Length::from_nm(tail),
        }
    }
}

impl Arrangement {
    /// Strip or thread for all seams, each sewn with its own: [`whip_stitch`] and a tail for every seam.
    pub fn sewing(&self, stitch: Stitch) -> Length {
        let Stitch { pitch, thickness, bite, tail } = stitch;
        whip_stitch(self.seam, pitch, thickness, bite) + tail * (self.panels.len() as i64 - 1)
    }
}

/// A rectangle that panels make, and how.
#[derive(Debug, Clone, Copy)]
struct Made {
    width: i64,
    length: i64,
    seam: i64,
    how: How,
}

#[derive(Debug, Clone, Copy)]
enum How {
    Panel { size: usize, turned: bool },
    Beside(usize, usize),
    Below(usize, usize),
}

/// The rectangles of each number of panels, each with its least seam.
struct Search {
    made: Vec<Made>,
    /// Of each number of panels: by width and length.
    levels: Vec<HashMap<(i64, i64), usize>>,
    most_width: i64,
    most_length: i64,
    /// Pairs put together so far.
    tried: u32,
    most_tried: u32,
}

/// The best layout: fewest panels, then least off the wanted size, then least seam. Every panel may lie either way round.
///
/// Exact among layouts of the full sizes (and equal shares of the wanted sides, where narrower ones are welcome) in which some seam runs straight across the whole rug, and again across each part: every rectangle
/// that `n` panels make is put together from two smaller ones. Up to four panels, there are no others.
///
/// # Errors
/// [`PanelsError`]: sizes out of range, or nothing comes near enough.
///
/// # Examples
/// ```
/// use thrumhall::optimize::panels::{PanelsError, Size, USUAL_EASE, Wanted, piece_together};
/// use thrumhall::units::{Length, Units};
///
/// // Four rugs of the small frame, two by two.
/// let size = |width: f64, length: f64| Size { width: Length::inches(width), length: Length::inches(length) };
/// let (tolerance, ease) = (Length::inches(1.0), USUAL_EASE);
/// let wanted = Wanted { size: size(36.0, 64.0), tolerance, ease, most: 12, narrower: false };
/// let rug = piece_together(&[size(18.0, 32.0)], &wanted, Units::Inches)?;
/// assert_eq!((rug.panels.len(), rug.off, rug.seam), (4, Length::ZERO, Length::inches(100.0)));
/// # Ok::<(), PanelsError>(())
/// ```
pub fn piece_together(sizes: &[Size], wanted: &Wanted, units: Units) -> Result<Arrangement, PanelsError> {
    piece_together_within(sizes, wanted, units, MOST_TRIED)
}

/// The same, giving up after as many pairs put together; usually that is [`MOST_TRIED`].
pub fn piece_together_within(
    sizes: &[Size],
    wanted: &Wanted,
    units: Units,
    most_tried: u32,
) -> Result<Arrangement, PanelsError> {
    check(sizes, wanted, units)?;
    let goal = [wanted.size.width.nm(), wanted.size.length.nm()];
    let tolerance = wanted.tolerance.nm();
    let reach = |side: i64| side + tolerance.max((side as f64 * LOOKED) as i64);
    let mut search = Search {
        made: Vec::new(),
        levels: Vec::new(),
        most_width: reach(goal[0]),
        most_length: reach(goal[1]),
        tried: 0,
        most_tried,
    };
    let offs = |made: &Made| [(made.width - goal[0]).abs(), (made.length - goal[1]).abs()];
    let off = |made: &Made| offs(made).iter().sum::<i64>();
    let mut nearest: Option<Made> = None;
    for panels in 1..=wanted.most {
        if panels == 1 {
            search.first(&eased(woven(sizes, wanted), wanted.ease));
        } else {
            search.join(panels);
        }
        let here = || search.levels[panels - 1].values().copied();
        // The index settles ties, so that the same sizes always give the same layout.
        let best = |fits: bool| {
            let open =
                here().filter(|&at| !fits || offs(&search.made[at]).iter().all(|&off| off <= tolerance));
            open.min_by_key(|&at| (off(&search.made[at]), search.made[at].seam, at))
        };
        if let Some(at) = best(true) {
            return Ok(search.arrangement(at, off(&search.made[at])));
        }
        if let Some(at) = best(false) {
            nearest = nearest.into_iter().chain([search.made[at]]).min_by_key(off);
        }
    }
    let size = |width: i64, length: i64| {
        let [width, length] = [width, length].map(|nm| Length::from_nm(nm).show(units));
        format!("{width} × {length}")
    };
    Err(PanelsError::NoFit {
        most: wanted.most,
        tolerance: wanted.tolerance.show(units),
        wanted: size(goal[0], goal[1]),
        nearest: nearest
            .map(|made| format!(" The nearest is {}.", size(made.width, made.length)))
            .unwrap_or_default(),
        proven: !search.is_spent(),
    })
}

/// A size that can be woven: from which of the sizes, width, length.
type Woven = (usize, i64, i64);

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

    fn sorted(&self, panels: usize) -> Vec<usize> {
        let mut all: Vec<usize> = self.levels[panels - 1].values().copied().collect();
        all.sort_unstable();
        all
    }

    /// Whether there were too many rectangles or pairs to look at them all.
    fn is_spent(&self) -> bool {
        self.made.len() >= MOST_MADE || self.tried >= self.most_tried
    }

    fn add(&mut self, made: Made) {
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
            proven: !self.is_spent(),
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
        }
    }
}

fn check(sizes: &[Size], wanted: &Wanted, units: Units) -> Result<(), PanelsError> {
    let range = |what, given: Length, min: f64, max: f64| {
        let [min, max] = [min, max].map(Length::inches);
        if (min..=max).contains(&given) {
            return Ok(());
        }
        let [given, min, max] = [given, min, max].map(|length| length.exact(units));
        Err(PanelsError::Range { what, given, min, max })
    };
    let count = |what, given: usize, max: usize| {
        if (1..=max).contains(&given) {
            return Ok(());
        }
        Err(PanelsError::Range { what, given: given.to_string(), min: "1".to_owned(), max: max.to_string() })
    };
    count("Sizes", sizes.len(), 40)?;
    count("Most panels", wanted.most, MOST_PANELS)?;
    for size in sizes {
        range("Panel width", size.width, 4.0, 144.0)?;
        range("Panel length", size.length, 4.0, 144.0)?;
    }
    range("Wanted width", wanted.size.width, 4.0, 480.0)?;
    range("Wanted length", wanted.size.length, 4.0, 480.0)?;
    range("Tolerance", wanted.tolerance, 0.0, 48.0)?;
    range("Ease", wanted.ease, 0.0, 2.0)
}
