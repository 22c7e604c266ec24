//! Which nails a warp takes, in which order. How long the strip then is, is for `path`; where the nails stand, `nail_rows`'.
pub use super::nail::{Nail, NotANail, Turn};
use super::nail_rows::Places;
use super::path::WarpPath;
use crate::units::Length;
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How the strip is wound over the nails.
///
/// # Examples
/// ```
/// use thrumhall::planning::warp::nail_rows::NailRows;
/// use thrumhall::planning::warp::winding::{Middle, Winding};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// let places = NailRows::Facing.places(&frame, Units::Inches)?;
/// let plain = Winding::default().path(&places, &Middle::Whole)?;
/// assert_eq!(plain.strands(), 65);
/// // Over every second nail, 17 a row, and past a bent one.
/// let left_out = vec!["near 5".parse()?];
/// let wide = Winding { every: 2, left_out, ..Winding::default() }.path(&places, &Middle::Whole)?;
/// assert_eq!(wide.strands(), 32);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, Hash)]
pub struct Winding {
    /// Whether two strips are wound together, so that each strand is double.
    pub doubled: bool,
    /// Every nail (1), every second (2) …
    pub every: u32,
    /// Nails that the strip passes by, such as bent ones.
    pub left_out: Vec<Nail>,
    /// Whole turns round each nail beyond passing by.
    pub extra_wraps: u32,
}

impl Default for Winding {
    fn default() -> Self {
        Self { doubled: false, every: 1, left_out: Vec::new(), extra_wraps: 0 }
    }
}

/// Why a warp can't be wound so.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WindingError {
    /// Too few nails are left.
    #[error(
        "Only {near} nails of the near row and {far} of the far row are left for the warp: two of each are the least."
    )]
    TooFew {
        /// Left in the near row.
        near: usize,
        /// Left in the far row.
        far: usize,
    },
    /// The step from nail to nail is out of range.
    #[error(
        "Every {given}th nail is out of range: from every nail to every {}th is allowed.",
        Winding::MOST_EVERY
    )]
    Every {
        /// What was given.
        given: u32,
    },
    /// Too many turns round each nail.
    #[error("{given} more turns round each nail are too many: {} are the most.", Winding::MOST_WRAPS)]
    Wraps {
        /// What was given.
        given: u32,
    },
    /// A nail that the frame doesn't have.
    #[error("There is no nail “{nail}”: that row has {nails}.")]
    NoSuchNail {
        /// What was given.
        nail: Nail,
        /// How many the row has.
        nails: usize,
    },
}

impl Winding {
    /// At the widest, every sixth nail is taken.
    pub const MOST_EVERY: u32 = 6;
    /// The most extra turns round a nail.
    pub const MOST_WRAPS: u32 = 3;

    /// The way from nail to nail over nails that stand at those places, or over the middle ones for a rug of less than the
    /// frame's width.
    ///
    /// The strip goes from row to row. Where one row has more than one nail more than the other, it leaves out those
    /// that make it shortest; [`WarpPath::idle`] tells them.
    ///
    /// # Errors
    /// [`WindingError`] when too few nails are left, or a nail is named that isn't there.
    pub fn path(&self, places: &Places, middle: &Middle) -> Result<WarpPath, WindingError> {
        if !(1..=Self::MOST_EVERY).contains(&self.every) {
            return Err(WindingError::Every { given: self.every });
        }
        if self.extra_wraps > Self::MOST_WRAPS {
            return Err(WindingError::Wraps { given: self.extra_wraps });
        }
        for &nail in &self.left_out {
            let nails = if nail.far { places.far.len() } else { places.near.len() };
            if nail.number == 0 || nail.number as usize > nails {
                return Err(WindingError::NoSuchNail { nail, nails });
            }
        }
        let near = self.taken(&places.near, false, middle);
        let far = self.taken(&places.far, true, middle);
        if near.len() < 2 || far.len() < 2 {
            return Err(WindingError::TooFew { near: near.len(), far: far.len() });
        }
        let (turns, idle) = in_turn(&near, &far);
        let evenly = evenly(&near, &far);
        Ok(WarpPath { turns, idle, evenly, doubled: self.doubled, extra_wraps: self.extra_wraps })
    }

    fn taken(&self, row: &[Length], far: bool, middle: &Middle) -> Vec<Turn> {
        let (from, to) = middle.of(row);
        let turn = |(i, &at): (usize, &Length)| Turn { nail: Nail { far, number: i as u32 + 1 }, at };
        row.iter()
            .enumerate()
            .map(turn)
            .filter(|turn| turn.at >= from && turn.at <= to)
            .step_by(self.every as usize)
            .filter(|turn| !self.left_out.contains(&turn.nail))
            .collect()
    }
}

/// Which part of the rows a rug takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Middle {
    /// All nails.
    Whole,
    /// So many nails in the middle of each row.
    Nails(u32),
}

impl Middle {
    /// From the first place to the last that the rug takes of a row.
    fn of(self, row: &[Length]) -> (Length, Length) {
        let taken = match self {
            Self::Whole => row.len(),
            Self::Nails(nails) => row.len().min(nails as usize),
        };
        let first = (row.len() - taken) / 2;
        match row.get(first..first + taken) {
            Some([only]) => (*only, *only),
            Some([first, .., last]) => (*first, *last),
            _ => (Length::ZERO, Length::ZERO),
        }
    }
}

/// The nails of both rows in turn, and those that are left over.
fn in_turn(near: &[Turn], far: &[Turn]) -> (Vec<Turn>, Vec<Nail>) {
    let (begins, other) = if near.len() >= far.len() { (near, far) } else { (far, near) };
    let begins_with: Vec<Turn> = if begins.len() <= other.len() + 1 {
        begins.to_vec()
    } else {
        shortest(begins, other).into_iter().map(|i| begins[i]).collect()
    };
    let turns: Vec<Turn> = (0..begins_with.len())
        .flat_map(|i| [Some(&begins_with[i]), other.get(i)])
        .flatten()
        .copied()
        .collect();
    let idle = begins.iter().filter(|turn| !begins_with.contains(turn)).map(|turn| turn.nail).collect();
    (turns, idle)
}

/// Which `other.len() + 1` nails of the longer row, in order, stand nearest to their neighbours of the other row: the least
/// sum of squares of the sideways steps, which is the shortest strip while the steps are small against the span.
fn shortest(longer: &[Turn], other: &[Turn]) -> Vec<usize> {
    let step = |a: Turn, b: Turn| (a.at - b.at).mm().powi(2);
    let wanted = other.len() + 1;
    let spare = longer.len() - wanted;
    // sums[j]: the least sum when the k-th nail taken is longer[k + j]; chosen[k][j]: the j of the nail before it.
    let mut sums = vec![0.0; spare + 1];
    let mut chosen = Vec::with_capacity(wanted);
    for k in 0..wanted {
        let own = |j: usize| {
            let nail = longer[k + j];
            let before = if k > 0 { step(nail, other[k - 1]) } else { 0.0 };
            before + other.get(k).map_or(0.0, |&after| step(nail, after))
        };
        let mut least = (f64::INFINITY, 0);
        let (next, from): (Vec<f64>, Vec<usize>) = sums
            .iter()
            .enumerate()
            .map(|(j, &sum)| {
                if k == 0 {
                    least = (0.0, 0);
                } else if sum < least.0 {
                    least = (sum, j);
                }
                (least.0 + own(j), least.1)
            })
            .unzip();
        sums = next;
        chosen.push(from);
    }
    let mut j = (0..=spare).min_by(|&a, &b| sums[a].total_cmp(&sums[b])).unwrap_or(0);
    let mut taken = vec![0; wanted];
    for k in (0..wanted).rev() {
        taken[k] = k + j;
        j = chosen[k][j];
    }
    taken
}

/// Nails per row and pitch, where equal rows face each other and are evenly spaced.
fn evenly(near: &[Turn], far: &[Turn]) -> Option<(u32, Length)> {
    let facing = near.len() == far.len() && near.iter().zip(far).all(|(a, b)| a.at == b.at);
    let pitch = near[1].at - near[0].at;
    let even = near.windows(2).all(|pair| pair[1].at - pair[0].at == pitch);
    (facing && even).then_some((near.len() as u32, pitch))
}
