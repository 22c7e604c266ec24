//! Bars to buy for rods of different lengths: the least length, then the fewest bars.
use super::bins::{self, Budget, CutError, Cutting, Job, Piece};
use crate::planning::rods::STOCK_INCHES;
use crate::units::Length;

/// Bars to buy for different rods.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToBuy {
    /// Length of each bar and how many, longest first.
    pub buy: Vec<(Length, u32)>,
    /// The lengths that `cutting` counts its stock by.
    pub stock: Vec<Length>,
    /// How the bars are cut, with the length bought and its bound.
    pub cutting: Cutting<Length>,
}

/// Enough to prove a class's rods.
const MIX_BUDGET: Budget = Budget(4_000_000);

/// The least length of bars to buy that gives every rod, and among those mixes the fewest bars.
///
/// The usual kerf is nothing: a rod may be a hacksaw's cut short, its overhang takes that up.
///
/// # Errors
/// [`CutError`], as when a rod is longer than the longest bar sold.
///
/// # Examples
/// ```
/// use thrumhall::optimize::bins::Piece;
/// use thrumhall::optimize::rods::to_buy;
/// use thrumhall::units::Length;
///
/// // Rods for two small frames and a large one: two of 36 in share a bar of 72 in.
/// let rods = [(36.0, 4), (47.0, 2)].map(|(inches, count)| Piece { length: Length::inches(inches), count });
/// let bought = to_buy(&rods, Length::ZERO)?;
/// assert_eq!(bought.buy, [(Length::inches(72.0), 2), (Length::inches(48.0), 2)]);
/// # Ok::<(), thrumhall::optimize::bins::CutError>(())
/// ```
pub fn to_buy(rods: &[Piece], kerf: Length) -> Result<ToBuy, CutError> {
    to_buy_within(rods, kerf, Budget::USUAL)
}

/// The same with another budget. With less than usual, the length may be more than the least; its bound holds all the same.
///
/// # Errors
/// As [`to_buy`].
pub fn to_buy_within(rods: &[Piece], kerf: Length, budget: Budget) -> Result<ToBuy, CutError> {
    let stock = STOCK_INCHES.map(|inches| Length::inches(f64::from(inches)));
    let job = |counts: [Option<u32>; 3]| Job {
        stock: (stock.iter().zip(counts)).map(|(&length, count)| bins::Stock { length, count }).collect(),
        pieces: rods.to_vec(),
        kerf,
    };
    let mut cutting = bins::least_length(&job([None; 3]), budget)?;
    let mut bars: u32 = cutting.bars.iter().map(|bars| bars.count).sum();
    for mix in mixes(cutting.used) {
        let count = mix.iter().sum();
        if count >= bars {
            continue;
        }
        if let Ok(fewer) = bins::least_length(&job(mix.map(Some)), Budget(budget.0.min(MIX_BUDGET.0)))
            && fewer.used == cutting.used
        {
            bars = count;
            cutting.bars = fewer.bars;
        }
    }
    let count_of =
        |at: usize| cutting.bars.iter().filter(|bars| bars.stock == at).map(|bars| bars.count).sum();
    let buy = (0..stock.len()).rev().map(|at| (stock[at], count_of(at))).filter(|buy| buy.1 > 0).collect();
    Ok(ToBuy { buy, stock: stock.to_vec(), cutting })
}

/// Every mix of bars sold that adds up to that length, those with the fewest bars first.
fn mixes(total: Length) -> Vec<[u32; 3]> {
    let [short, middle, long] = STOCK_INCHES.map(|inches| Length::inches(f64::from(inches)).nm());
    let mut mixes = Vec::new();
    for longs in 0..=total.nm() / long {
        for middles in 0..=(total.nm() - longs * long) / middle {
            let rest = total.nm() - longs * long - middles * middle;
            if rest % short == 0 {
                mixes.push([(rest / short) as u32, middles as u32, longs as u32]);
            }
        }
    }
    mixes.sort_by_key(|mix| mix.iter().sum::<u32>());
    // More are no class's rods; the least length holds all the same.
    mixes.truncate(200);
    mixes
}
