//! Bars cut into wanted pieces with as few bars, or as little length, as can be (one-dimensional cutting stock), and the
//! bound that shows how few can be. What the bars are for is `rods`' and `new_frame`'s.
mod fill;
mod master;
mod problem;
mod search;
mod start;

use crate::units::Length;
use problem::{Problem, Sort, Work};
use std::collections::BTreeMap;
use thiserror::Error;

/// Bars of one length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stock {
    /// How long each is.
    pub length: Length,
    /// How many there are; nothing for as many as are wanted.
    pub count: Option<u32>,
}

/// Wanted pieces of one length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// How long each is.
    pub length: Length,
    /// How many are wanted.
    pub count: u32,
}

/// What there is and what is wanted.
///
/// # Examples
/// ```
/// use thrumhall::optimize::bins::{Budget, Job, Piece, Stock, fewest_bars};
/// use thrumhall::units::Length;
///
/// // The members of a small frame from boards of 8 ft: 117 in don't come from one of them.
/// let piece = |inches: f64| Piece { length: Length::inches(inches), count: 2 };
/// let job = Job {
///     stock: vec![Stock { length: Length::inches(96.0), count: None }],
///     pieces: vec![piece(34.5), piece(24.0)],
///     kerf: Length::inches(0.125),
/// };
/// let boards = fewest_bars(&job, Budget::USUAL)?;
/// assert_eq!((boards.used, boards.is_proven()), (2, true));
/// # Ok::<(), thrumhall::optimize::bins::CutError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Job {
    /// The bars.
    pub stock: Vec<Stock>,
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// What the saw takes between two pieces.
    pub kerf: Length,
}

/// How much may be computed before the best plan so far is given, in steps of about ten nanoseconds. No clock: the same
/// job ends alike everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget(pub u64);

impl Budget {
    /// Enough for the textbook cases, well under a second.
    pub const USUAL: Self = Self(60_000_000);
}

/// Bars that are cut alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bars {
    /// Which of the job's stock, counted from 0.
    pub stock: usize,
    /// How many bars.
    pub count: u32,
    /// The pieces of one bar, longest first.
    pub cuts: Vec<Length>,
}

/// A plan that gives every piece, measured in `T`: bars, or length of bar.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cutting<T> {
    /// How the bars are cut.
    pub bars: Vec<Bars>,
    /// What the plan takes.
    pub used: T,
    /// No plan takes less.
    pub bound: T,
}

impl<T: PartialEq> Cutting<T> {
    /// Whether no plan takes less than this one.
    pub fn is_proven(&self) -> bool {
        self.used == self.bound
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum CutError {
    /// A length that is nothing or less, or beyond what is computed.
    #[error("{what}: {mm} mm is out of range: more than 0 and at most {most_mm} mm is allowed.")]
    Length {
        /// Of what.
        what: &'static str,
        /// What was given.
        mm: f64,
        /// The most.
        most_mm: f64,
    },
    /// A kerf that is less than nothing or absurdly wide.
    #[error("Kerf: {mm} mm is out of range: from 0 to {most_mm} mm is allowed.")]
    Kerf {
        /// What was given.
        mm: f64,
        /// The most.
        most_mm: f64,
    },
    /// More pieces than are computed.
    #[error("{pieces} pieces are wanted: at most {most} are allowed.")]
    TooMany {
        /// What was given.
        pieces: u64,
        /// The most.
        most: u64,
    },
    /// A piece that no bar holds.
    #[error("A piece of {piece_mm} mm is wanted, but the longest bar is {bar_mm} mm.")]
    TooLong {
        /// The piece.
        piece_mm: f64,
        /// The longest bar of which there is one.
        bar_mm: f64,
    },
    /// Not enough bars.
    #[error("The stock doesn't give every piece: {}{} of {wanted} find no bar.", if *.proven { "" } else { "as far as could be searched, " }, .lacking)]
    Short {
        /// Pieces without a bar in the best plan found.
        lacking: u64,
        /// Pieces wanted.
        wanted: u64,
        /// Whether it is proven that no plan gives them all.
        proven: bool,
    },
}

/// The most pieces in one job.
pub const MOST_PIECES: u64 = 20_000;
/// The longest bar or piece, 1 km.
pub const LONGEST: Length = Length::from_nm(1_000_000_000_000);
/// The widest kerf.
pub const WIDEST_KERF: Length = Length::from_nm(100_000_000);

/// The fewest bars that give every piece, each moved to the shortest bar that takes its cuts.
///
/// # Errors
/// [`CutError`]: input out of range, or stock that is too short.
pub fn fewest_bars(job: &Job, budget: Budget) -> Result<Cutting<u32>, CutError> {
    let (bars, used, bound) = solve(job, budget, |_| 1)?;
    Ok(Cutting { bars, used: used as u32, bound: bound as u32 })
}

/// The least length of bar that gives every piece.
///
/// # Errors
/// As [`fewest_bars`].
pub fn least_length(job: &Job, budget: Budget) -> Result<Cutting<Length>, CutError> {
    let unit = job.stock.iter().fold(0, |unit, stock| gcd(unit, stock.length.nm())).max(1);
    let (bars, used, bound) = solve(job, budget, |length| length.nm() / unit)?;
    let length = |cost| Length::from_nm(unit) * cost;
    Ok(Cutting { bars, used: length(used), bound: length(bound) })
}

fn solve(job: &Job, budget: Budget, cost: impl Fn(Length) -> i64) -> Result<(Vec<Bars>, i64, i64), CutError> {
    check(job)?;
    // Pieces and bars of equal length are one row each; every kerf goes with its piece, and one with the bar.
    let mut pieces: BTreeMap<i64, u32> = BTreeMap::new();
    for piece in job.pieces.iter().filter(|piece| piece.count > 0) {
        *pieces.entry((piece.length + job.kerf).nm()).or_default() += piece.count;
    }
    let wanted: u32 = pieces.values().sum();
    let unit = pieces.keys().fold(0, |unit, &width| gcd(unit, width)).max(1);
    let mut stock: Vec<usize> = (0..job.stock.len()).filter(|&at| job.stock[at].count != Some(0)).collect();
    stock.sort_by_key(|&at| std::cmp::Reverse(job.stock[at].length));
    if let (Some(longest), Some((&widest, _))) = (stock.first(), pieces.last_key_value()) {
        let (piece, bar) = (Length::from_nm(widest) - job.kerf, job.stock[*longest].length);
        if piece > bar {
            return Err(CutError::TooLong { piece_mm: piece.mm(), bar_mm: bar.mm() });
        }
    }
    let sorts = stock.iter().map(|&at| Sort {
        room: (job.stock[at].length + job.kerf).nm() / unit,
        cost: cost(job.stock[at].length),
        count: job.stock[at].count.filter(|&count| count < wanted),
    });
    let problem = Problem {
        widths: pieces.keys().rev().map(|width| width / unit).collect(),
        demand: pieces.values().rev().copied().collect(),
        sorts: sorts.collect(),
    };
    let found = search::solve(&problem, Work(budget.0));
    if !found.lacking.is_done() {
        let proven = found.bound >= problem.beyond();
        let (lacking, wanted) = (found.lacking.pieces() as u64, u64::from(wanted));
        return Err(CutError::Short { lacking, wanted, proven });
    }
    let length = |item: usize| Length::from_nm(problem.widths[item] * unit) - job.kerf;
    let bars = found.plan.iter().map(|(pattern, count)| Bars {
        stock: stock[pattern.sort],
        count: *count,
        cuts: (pattern.cuts.iter())
            .flat_map(|&(item, times)| std::iter::repeat_n(length(item), times as usize))
            .collect(),
    });
    Ok((bars.collect(), found.cost, found.bound.min(found.cost)))
}

fn check(job: &Job) -> Result<(), CutError> {
    let lengths = (job.stock.iter().map(|stock| ("Stock", stock.length)))
        .chain(job.pieces.iter().map(|piece| ("Piece", piece.length)));
    for (what, length) in lengths {
        if length <= Length::ZERO || length > LONGEST {
            return Err(CutError::Length { what, mm: length.mm(), most_mm: LONGEST.mm() });
        }
    }
    if job.kerf < Length::ZERO || job.kerf > WIDEST_KERF {
        return Err(CutError::Kerf { mm: job.kerf.mm(), most_mm: WIDEST_KERF.mm() });
    }
    let pieces = job.pieces.iter().map(|piece| u64::from(piece.count)).sum();
    if pieces > MOST_PIECES {
        return Err(CutError::TooMany { pieces, most: MOST_PIECES });
    }
    if pieces > 0 && job.stock.iter().all(|stock| stock.count == Some(0)) {
        return Err(CutError::Short { lacking: pieces, wanted: pieces, proven: true });
    }
    Ok(())
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
