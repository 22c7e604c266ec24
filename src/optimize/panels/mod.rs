//! A rug of any size pieced together from rugs of the frames' sizes. Drawing it is `drawing::panels`'s; the plan of each
//! panel is `plan`'s.
mod error;
pub mod explain;
pub mod order;
mod pinwheel;
mod search;
pub mod sewing;
mod sewn;
mod wanted;

pub use error::PanelsError;
pub use wanted::{Size, Wanted};

use crate::planning::finish::whip_stitch;
use crate::units::{Length, Units};
use search::Goal;

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
    /// Whether none of the layouts that were looked at is better. False only where there were too many to look at.
    pub proven: bool,
    /// Which layouts were looked at.
    pub among: Among,
}

/// Among which layouts something is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Among {
    /// Those in which some seam runs straight across the rug, and again across each part.
    Cut,
    /// Those, and pinwheels: four parts round a fifth, in which no seam runs across; also as a part of one another.
    Turned,
    /// All that there are.
    All,
}

impl Among {
    /// In words, as they stand after *proven*.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cut => "arrangements cut edge to edge",
            Self::Turned => {
                "arrangements cut edge to edge or turned like a pinwheel, four parts round a fifth"
            }
            Self::All => "all arrangements",
        }
    }
}

/// The most panels that anyone would sew together.
pub const MOST_PANELS: usize = 24;
/// The usual ease, ¼ in; reasoned estimate.
pub const USUAL_EASE: Length = Length::from_nm(25_400_000 / 4);
/// With as many panels or fewer some seam runs straight across in every layout; the first without is the pinwheel of five.
const ALL_CUT: usize = 4;
/// With as many or fewer every layout is cut edge to edge or a pinwheel, part by part: the next that is neither has seven panels
/// (`tests/outside/panels.py` makes them all).
const ALL_TURNED: usize = 6;
/// The most panels among which pinwheels are looked for.
pub const MOST_TURNED: usize = 12;
/// The most pairs that are put together usually, about a second's work.
pub const MOST_TRIED: u32 = 10_000_000;

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
    /// The same where nobody looked at all that might be better.
    #[must_use]
    pub fn unproven(self) -> Self {
        Self { proven: false, ..self }
    }

    /// Strip or thread for all seams, each sewn with its own: [`whip_stitch`] and a tail for every seam.
    pub fn sewing(&self, stitch: Stitch) -> Length {
        let Stitch { pitch, thickness, bite, tail } = stitch;
        whip_stitch(self.seam, pitch, thickness, bite) + tail * (self.panels.len() as i64 - 1)
    }
}

/// The best layout: fewest panels, then least off the wanted size, then least seam. Every panel may lie either way round.
///
/// Exact among layouts of the full sizes (and equal shares of the wanted sides, where narrower ones are welcome), each as it
/// is or with its sides eased to the longest that differ by no more: in which some seam runs straight across the whole rug,
/// and again across each part, so that every rectangle that `n` panels make is put together from two smaller ones; and, with
/// up to twelve panels, in which five smaller ones make a pinwheel. Up to six panels, there are no others. [`Among`] tells
/// which of them were looked at.
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
    let goal = Goal::of(wanted);
    let woven = sewn::sewn(sizes, wanted);
    let cut = search::look(&woven, goal, wanted.most, most_tried, false);
    // Pinwheels want five panels; with fewer, or as few as are found already, there are none to look for.
    let fewest = cut.best.as_ref().map_or(wanted.most, |best| best.panels.len());
    let most = fewest.min(MOST_TURNED);
    let worth = cut.proven && most > ALL_CUT;
    let turned = worth.then(|| search::look(&woven, goal, most, most_tried, true));
    let (cut_proven, turned_proven) = (cut.proven, turned.as_ref().is_some_and(|turned| turned.proven));
    // Among rugs of so many panels or fewer.
    let among = |panels: usize| match turned_proven {
        _ if panels <= ALL_CUT => Among::All,
        true if panels <= ALL_TURNED => Among::All,
        true if panels <= MOST_TURNED => Among::Turned,
        _ => Among::Cut,
    };
    let (turned, other) = turned.map_or((None, None), |turned| (turned.best, turned.nearest));
    // Of equals the one that is cut edge to edge is sewn more easily, and stands first.
    let best = [cut.best, turned].into_iter().flatten();
    if let Some(best) = best.min_by_key(|best| (best.panels.len(), best.off, best.seam)) {
        return Ok(Arrangement { proven: cut_proven, among: among(best.panels.len()), ..best });
    }
    let nearest = [cut.nearest, other].into_iter().flatten().min_by_key(|size| goal.off(*size));
    let size = |[width, length]: [i64; 2]| {
        let [width, length] = [width, length].map(|nm| Length::from_nm(nm).show(units));
        format!("{width} × {length}")
    };
    Err(PanelsError::NoFit {
        most: wanted.most,
        tolerance: wanted.tolerance.show(units),
        wanted: size(goal.sides),
        nearest: nearest.map(|found| format!(" The nearest is {}.", size(found))).unwrap_or_default(),
        proven: cut_proven,
        among: among(wanted.most),
    })
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
