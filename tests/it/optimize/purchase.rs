//! The least cloth to buy, against every purchase that could be.
use thrumhall::optimize::purchase::least_sheets;
use thrumhall::units::{Areal, Mass};

/// Twin, full, queen and king flat sheets, in inches: common retail sizes, from memory.
const SIZES: [(f64, f64); 4] = [(66.0, 96.0), (81.0, 96.0), (90.0, 102.0), (108.0, 102.0)];

#[test]
fn no_purchase_that_is_enough_is_lighter_or_of_fewer_sheets_for_its_weight() {
    // At 109.8 g/m² five king sheets weigh as much as six queen ones.
    for gsm in [100.0, 109.8, 130.0, 330.0] {
        let grams = SIZES.map(|(width, length)| (width * length * 0.0254 * 0.0254 * gsm).floor() as u64);
        for wanted in (0..4_000)
            .step_by(83)
            .chain([3_900])
            .chain(grams.iter().flat_map(|one| [*one - 1, *one, *one + 1]))
        {
            let weigh =
                |counts: &[u64; 4]| counts.iter().zip(&grams).map(|(count, one)| count * one).sum::<u64>();
            let mut best = None;
            let most = |size: usize| wanted / grams[size] + 1;
            for twin in 0..=most(0) {
                for full in 0..=most(1) {
                    for queen in 0..=most(2) {
                        for king in 0..=most(3) {
                            let counts = [twin, full, queen, king];
                            if weigh(&counts) >= wanted {
                                let key = (weigh(&counts), counts.iter().sum::<u64>());
                                best = Some(best.map_or(key, |best| key.min(best)));
                            }
                        }
                    }
                }
            }
            let bought = least_sheets(Mass::from_grams(wanted as f64), Areal::from_gsm(gsm)).map(u64::from);
            let found = (weigh(&bought), bought.iter().sum::<u64>());
            assert_eq!(Some(found), best, "{wanted} g of {gsm} g/m²: {bought:?}");
        }
    }
}

#[test]
fn a_great_deal_is_bought_without_a_sheet_too_many() {
    let grams = SIZES.map(|(width, length)| (width * length * 0.0254 * 0.0254 * 130.0).floor() as u64);
    for wanted in [11_999, 12_001, 40_000, 150_003] {
        let bought = least_sheets(Mass::from_grams(wanted as f64), Areal::from_gsm(130.0)).map(u64::from);
        let weight: u64 = bought.iter().zip(grams).map(|(count, one)| count * one).sum();
        assert!(weight >= wanted && weight - wanted < 60, "{wanted} g: {bought:?} weigh {weight}");
    }
}
