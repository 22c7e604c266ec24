//! Cutting stock: published cases with their optima, and random ones against what must always hold.
use crate::planning::near;
use proptest::prelude::*;
use thrumhall::optimize::bins::{Budget, CutError, Cutting, Job, Piece, Stock, fewest_bars, least_length};
use thrumhall::units::Length;

fn mm(value: f64) -> Length {
    Length::millimetres(value)
}

fn stock(length: f64, count: Option<u32>) -> Stock {
    Stock { length: mm(length), count }
}

fn job(stocks: &[Stock], pieces: &[(f64, u32)], kerf: f64) -> Job {
    let piece = |&(length, count): &(f64, u32)| Piece { length: mm(length), count };
    Job { stock: stocks.to_vec(), pieces: pieces.iter().map(piece).collect(), kerf: mm(kerf) }
}

/// The numbers of a file, line by line, without its comments.
fn numbers(text: &str) -> Vec<Vec<f64>> {
    let lines = text.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    lines.map(|line| line.split_whitespace().map(|word| word.parse().unwrap()).collect()).collect()
}

/// Every piece is cut just as often as wanted, no bar is overfull, none is used that isn't there.
fn holds<T>(job: &Job, cutting: &Cutting<T>) {
    let mut wanted: Vec<Length> =
        job.pieces.iter().flat_map(|p| std::iter::repeat_n(p.length, p.count as usize)).collect();
    let mut cut: Vec<Length> = Vec::new();
    let mut taken = vec![0; job.stock.len()];
    for bars in &cutting.bars {
        assert!(!bars.cuts.is_empty() && bars.count > 0);
        let kerfs = job.kerf * (bars.cuts.len() as i64 - 1);
        assert!(bars.cuts.iter().sum::<Length>() + kerfs <= job.stock[bars.stock].length);
        taken[bars.stock] += bars.count;
        (0..bars.count).for_each(|_| cut.extend(&bars.cuts));
    }
    wanted.sort_unstable();
    cut.sort_unstable();
    assert_eq!(cut, wanted);
    for (stock, taken) in job.stock.iter().zip(taken) {
        assert!(stock.count.is_none_or(|count| taken <= count));
    }
}

#[track_caller]
fn fewest(length: f64, pieces: &[(f64, u32)], wanted: u32) {
    let job = job(&[stock(length, None)], pieces, 0.0);
    let cutting = fewest_bars(&job, Budget::USUAL).unwrap();
    holds(&job, &cutting);
    assert_eq!(cutting.used, cutting.bars.iter().map(|bars| bars.count).sum::<u32>());
    assert_eq!((cutting.used, cutting.bound), (wanted, wanted));
}

/// Source: a much-reprinted worked example, from memory; the bound ⌈407 160/5600⌉ = 73 is arithmetic.
#[test]
fn the_paper_machine_takes_73() {
    let pieces: Vec<(f64, u32)> = numbers(include_str!("../vectors/cutting-paper.txt"))
        .iter()
        .map(|line| (line[0], line[1] as u32))
        .collect();
    near(pieces.iter().map(|&(width, n)| width * f64::from(n)).sum(), 407_160.0, 1e-6);
    fewest(5600.0, &pieces, 73);
}

/// Source: W. L. Winston, Operations Research, cutting stock by column generation (from memory); solved again
/// independently.
#[test]
fn boards_for_woodco_take_19() {
    fewest(17.0, &[(3.0, 25), (5.0, 20), (9.0, 15)], 19);
}

/// Source: V. Chvátal, Linear Programming, 1983, chapter 13 (from memory); solved again independently.
#[test]
fn rolls_take_453() {
    fewest(100.0, &[(45.0, 97), (36.0, 610), (31.0, 395), (14.0, 211)], 453);
}

/// Source: OR-Library `binpack1`, `u120_00`: E. Falkenauer, J. Heuristics 2 (1996) 5–30. First fit decreasing takes 49.
#[test]
fn u120_00_takes_48() {
    let pieces: Vec<(f64, u32)> = numbers(include_str!("../vectors/binpack-u120-00.txt"))
        .into_iter()
        .flatten()
        .map(|width| (width, 1))
        .collect();
    assert_eq!((pieces.len(), pieces.iter().map(|piece| piece.0).sum::<f64>()), (120, 7078.0));
    fewest(150.0, &pieces, 48);
}

/// Sources: enumeration, where first fit decreasing takes 3; then small test sets in the manner of S. Martello and
/// P. Toth, Knapsack Problems, 1990 (from memory), solved again independently.
#[test]
fn small_cases_of_bin_packing() {
    let once = |widths: &[f64]| widths.iter().map(|&width| (width, 1)).collect::<Vec<_>>();
    fewest(7.0, &once(&[3.0, 3.0, 2.0, 2.0, 2.0, 2.0]), 2);
    fewest(100.0, &once(&[70.0, 60.0, 50.0, 33.0, 33.0, 33.0, 11.0, 7.0, 3.0]), 4);
    let many = [99.0, 94.0, 79.0, 64.0, 50.0, 46.0, 43.0, 37.0, 32.0, 19.0, 18.0, 7.0, 6.0, 3.0];
    fewest(100.0, &once(&many), 7);
    fewest(100.0, &once(&[48.0, 30.0, 19.0, 36.0, 36.0, 27.0, 42.0, 42.0, 36.0, 24.0, 30.0]), 4);
}

#[test]
fn kerf_counts_between_pieces_only() {
    // Three pieces of 30 and two cuts of 5 are just 100.
    let used =
        |kerf: f64| fewest_bars(&job(&[stock(100.0, None)], &[(30.0, 3)], kerf), Budget::USUAL).unwrap().used;
    assert_eq!((used(5.0), used(5.001)), (1, 2));
}

#[test]
fn little_length_takes_other_bars_than_few_bars() {
    let job = job(&[stock(72.0, None), stock(36.0, None), stock(48.0, None)], &[(34.0, 2), (47.0, 1)], 0.0);
    let few = fewest_bars(&job, Budget::USUAL).unwrap();
    holds(&job, &few);
    assert_eq!((few.used, few.bound), (2, 2));
    let little = least_length(&job, Budget::USUAL).unwrap();
    holds(&job, &little);
    assert_eq!((little.used, little.bound), (mm(120.0), mm(120.0)));
}

#[test]
fn stock_at_its_end_is_told_with_proof() {
    let told = |stocks: &[Stock], pieces: &[(f64, u32)]| {
        fewest_bars(&job(stocks, pieces, 0.0), Budget::USUAL).unwrap_err()
    };
    // 60 + 60 fit no bar of 100 together, though their length is there.
    assert_eq!(
        told(&[stock(100.0, Some(2))], &[(60.0, 3)]),
        CutError::Short { lacking: 1, wanted: 3, proven: true }
    );
    assert_eq!(
        told(&[stock(100.0, Some(2)), stock(50.0, Some(9))], &[(100.5, 1)]),
        CutError::TooLong { piece_mm: 100.5, bar_mm: 100.0 }
    );
    assert_eq!(told(&[], &[(1.0, 1)]), CutError::Short { lacking: 1, wanted: 1, proven: true });
    assert_eq!(
        told(&[stock(100.0, None)], &[(-1.0, 1)]),
        CutError::Length { what: "Piece", mm: -1.0, most_mm: 1e6 }
    );
    let many = job(&[stock(100.0, None)], &[(1.0, 20_001)], 0.0);
    assert!(matches!(fewest_bars(&many, Budget::USUAL), Err(CutError::TooMany { pieces: 20_001, .. })));
}

#[test]
fn nothing_wanted_takes_nothing() {
    let none = fewest_bars(&job(&[stock(100.0, Some(0))], &[(7.0, 0)], 0.0), Budget::USUAL).unwrap();
    assert_eq!((none.used, none.bound, none.bars.len()), (0, 0, 0));
}

#[test]
fn without_work_the_plan_and_the_bound_still_hold() {
    let pieces: Vec<(f64, u32)> = (0..40).map(|i| (200.0 + 7.0 * f64::from(i), 3)).collect();
    let job = job(&[stock(1000.0, None)], &pieces, 2.0);
    let quick = fewest_bars(&job, Budget(0)).unwrap();
    holds(&job, &quick);
    let thorough = fewest_bars(&job, Budget::USUAL).unwrap();
    holds(&job, &thorough);
    assert!(quick.bound <= thorough.bound && thorough.bound <= thorough.used && thorough.used <= quick.used);
}

/// Without work the bound is what can be said at once: by hand, from the bars' length or from pieces that share no bar.
#[test]
fn what_is_said_without_work_is_the_bound_by_hand() {
    let said = |pieces: &[(f64, u32)]| {
        fewest_bars(&job(&[stock(100.0, None)], pieces, 0.0), Budget(0)).unwrap().bound
    };
    // Ten that are longer than half a bar, though their length is that of six.
    assert_eq!(said(&[(51.0, 10)]), 10);
    // Two of just half a bar share it.
    assert_eq!(said(&[(50.0, 10)]), 5);
    // Beside 60 there is no room for 45, and two of those fill a bar, though all of it is the length of five.
    assert_eq!(said(&[(60.0, 4), (45.0, 4)]), 6);
    // Beside 60 there is room for 40, and for each of the two that are left over there isn't.
    assert_eq!(said(&[(60.0, 4), (40.0, 6)]), 5);
    // Beside 55 there is room for 20 twice, and four times 20 of the fourteen are left over.
    assert_eq!(said(&[(55.0, 5), (20.0, 14)]), 6);
    assert_eq!(said(&[(10.0, 11)]), 2);
}

/// Bars of which there are only so many are proven by what they gain: by hand, each of the twenty long ones gives two long
/// pieces, each short one a long piece or two short ones.
#[test]
fn few_of_the_best_bars_are_proven_by_what_they_gain() {
    let job = job(&[stock(100.0, Some(20)), stock(70.0, None)], &[(50.0, 120), (35.0, 60)], 0.0);
    let cutting = least_length(&job, Budget::USUAL).unwrap();
    holds(&job, &cutting);
    assert_eq!((cutting.used, cutting.bound), (mm(9700.0), mm(9700.0)));
}

/// The least cost by trying every bar for every piece; the reference for small cases.
fn tried(pieces: &[f64], bars: &mut [(f64, f64, bool)]) -> Option<f64> {
    let Some((&piece, others)) = pieces.split_first() else {
        return Some(bars.iter().filter(|bar| bar.2).map(|bar| bar.1).sum());
    };
    let mut best: Option<f64> = None;
    for at in 0..bars.len() {
        let before = bars[at];
        if before.0 >= piece {
            bars[at] = (before.0 - piece, before.1, true);
            let cost = tried(others, bars);
            best = best.into_iter().chain(cost).reduce(f64::min);
            bars[at] = before;
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn small_jobs_agree_with_trying_everything(
        lengths in prop::collection::vec(3..30_i32, 1..7), stocks in prop::collection::vec((15..40_i32, 1..3_u32), 1..3),
        kerf in 0..3_i32,
    ) {
        let pieces: Vec<_> = lengths.iter().map(|&length| (f64::from(length), 1)).collect();
        let stocks: Vec<_> = stocks.iter().map(|&(length, n)| stock(f64::from(length), Some(n))).collect();
        let job = job(&stocks, &pieces, f64::from(kerf));
        let grown: Vec<f64> = lengths.iter().map(|&length| f64::from(length + kerf)).collect();
        let bars = |cost: fn(f64) -> f64| stocks.iter().flat_map(move |stock| {
            let room = stock.length.mm() + f64::from(kerf);
            std::iter::repeat_n((room, cost(stock.length.mm()), false), stock.count.unwrap_or(0) as usize)
        }).collect::<Vec<_>>();
        let fewest = tried(&grown, &mut bars(|_| 1.0));
        match (fewest_bars(&job, Budget::USUAL), fewest) {
            (Ok(cutting), Some(fewest)) => {
                holds(&job, &cutting);
                prop_assert_eq!((f64::from(cutting.used), f64::from(cutting.bound)), (fewest, fewest));
                let cutting = least_length(&job, Budget::USUAL).unwrap();
                holds(&job, &cutting);
                let least = tried(&grown, &mut bars(|length| length)).unwrap();
                prop_assert_eq!((cutting.used.mm(), cutting.bound.mm()), (least, least));
            }
            (Err(CutError::Short { proven, .. }), None) => prop_assert!(proven),
            (Err(CutError::TooLong { .. }), None) => {}
            (got, wanted) => prop_assert!(false, "{:?} against {:?}", got, wanted),
        }
    }

    #[test]
    fn any_job_is_cut_within_its_bound(
        pieces in prop::collection::vec((50.0..1500.0_f64, 1..12_u32), 1..12), second in 800.0..1700.0_f64,
        kerf in 0.0..4.0_f64,
    ) {
        let job = job(&[stock(1828.8, None), stock(second, Some(5))], &pieces, kerf);
        let cutting = fewest_bars(&job, Budget(300_000)).unwrap();
        holds(&job, &cutting);
        prop_assert!(cutting.bound <= cutting.used);
        let cutting = least_length(&job, Budget(300_000)).unwrap();
        holds(&job, &cutting);
        prop_assert!(cutting.bound <= cutting.used);
    }
}
