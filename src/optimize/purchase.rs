//! The least cloth to buy that fills a want: how many flat sheets of which size.
use crate::units::{Areal, Length, Mass};

/// A size of flat sheet as shops sell it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BoughtSheet {
    /// What it is called, with its size.
    pub name: &'static str,
    width_in: u16,
    length_in: u16,
}

/// The usual sizes of flat sheets in the United States, small to large: common retail sizes, from memory.
pub const SHEETS: [BoughtSheet; 4] = [
    BoughtSheet { name: "twin", width_in: 66, length_in: 96 },
    BoughtSheet { name: "full", width_in: 81, length_in: 96 },
    BoughtSheet { name: "queen", width_in: 90, length_in: 102 },
    BoughtSheet { name: "king", width_in: 108, length_in: 102 },
];

impl BoughtSheet {
    /// Width and length.
    pub fn size(&self) -> (Length, Length) {
        (Length::inches(self.width_in.into()), Length::inches(self.length_in.into()))
    }

    /// What it weighs in a cloth of that areal mass.
    pub fn mass(&self, areal: Areal) -> Mass {
        let (width, length) = self.size();
        areal.mass_of(length, width)
    }
}

/// More than this is bought as king sheets first, or the search would be long.
const SEARCHED: i64 = 12_000;

/// How many of each of [`SHEETS`] give at least `wanted` with the least weight, and of equal weights the fewest sheets.
/// Nobody's prices are known here, so the least cloth stands for the least money.
///
/// # Examples
/// ```
/// use thrumhall::optimize::purchase::least_sheets;
/// use thrumhall::units::{Areal, Mass};
///
/// // Cloth for a small rug, 2 lb 14 oz of percale: one full and one queen sheet.
/// assert_eq!(least_sheets(Mass::from_pounds(2.875), Areal::from_gsm(130.0)), [0, 1, 1, 0]);
/// ```
pub fn least_sheets(wanted: Mass, areal: Areal) -> [u32; SHEETS.len()] {
    let grams = SHEETS.map(|sheet| (sheet.mass(areal).grams().floor() as i64).max(1));
    let mut left = wanted.grams().ceil().max(0.0) as i64;
    let mut counts = [0; SHEETS.len()];
    let king = SHEETS.len() - 1;
    while left > SEARCHED && grams[king] < left {
        counts[king] += 1;
        left -= grams[king];
    }
    // cheapest[g]: weight, number and last sheet of the best purchase of at least g grams.
    let mut cheapest = vec![(0_i64, 0_u32, 0_usize)];
    for want in 1..=left.max(0) as usize {
        let one = |(at, &gram): (usize, &i64)| {
            let (weight, number, _) = cheapest[want.saturating_sub(gram as usize)];
            (weight + gram, number + 1, at)
        };
        let best = grams.iter().enumerate().map(one).min().unwrap_or_default();
        cheapest.push(best);
    }
    let mut want = left.max(0) as usize;
    while want > 0 {
        let at = cheapest[want].2;
        counts[at] += 1;
        want = want.saturating_sub(grams[at] as usize);
    }
    counts
}

#[cfg(test)]
mod tests {
    use super::{SHEETS, least_sheets};
    use crate::units::{Areal, Mass};

    const PERCALE: Areal = Areal::from_gsm(130.0);

    // 66 × 96 in at 130 g/m² is 531 g, 81 × 96 in 652 g: arithmetic.
    #[test]
    fn the_least_cloth_that_is_enough_is_bought() {
        assert_eq!(least_sheets(Mass::ZERO, PERCALE), [0, 0, 0, 0]);
        assert_eq!(least_sheets(Mass::from_grams(1.0), PERCALE), [1, 0, 0, 0]);
        assert_eq!(least_sheets(Mass::from_grams(531.0), PERCALE), [1, 0, 0, 0]);
        assert_eq!(least_sheets(Mass::from_grams(540.0), PERCALE), [0, 1, 0, 0]);
        assert_eq!(least_sheets(Mass::from_grams(1_062.0), PERCALE), [2, 0, 0, 0]);
    }

    #[test]
    fn no_other_purchase_is_lighter() {
        let grams = SHEETS.map(|sheet| sheet.mass(PERCALE).grams().floor() as i64);
        for wanted in (1..5_000).step_by(37) {
            let counts = least_sheets(Mass::from_grams(wanted as f64), PERCALE);
            let weigh =
                |counts: [u32; 4]| counts.iter().zip(&grams).map(|(&n, g)| i64::from(n) * g).sum::<i64>();
            let bought = weigh(counts);
            assert!(bought >= wanted);
            let tens = (0..10_000_u32).map(|n| [n % 10, n / 10 % 10, n / 100 % 10, n / 1_000]);
            let least = tens.map(weigh).filter(|&weight| weight >= wanted).min();
            assert_eq!(Some(bought), least, "{wanted} g");
        }
        let much = least_sheets(Mass::from_grams(100_000.0), PERCALE);
        assert!(much.iter().sum::<u32>() < 130);
    }
}
