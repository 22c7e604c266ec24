//! Rods and balls of strip: every way tried.
use super::close;
use super::contact::{list, number, solve, solved};
use super::contact_build::{ball, bow, joined, serve, stock_for};
use proptest::prelude::*;
use serde_json::json;

/// The least length of bars of 36, 48 and 72 in for rods, then the fewest bars, by giving each rod every place.
fn cheapest(rods: &[f64], bars: &mut Vec<(f64, f64)>, best: &mut (f64, usize)) {
    let spent: f64 = bars.iter().map(|bar| bar.0).sum();
    if spent > best.0 + 1e-9 {
        return;
    }
    let Some((rod, rest)) = rods.split_first() else {
        if spent < best.0 - 1e-9 || bars.len() < best.1 {
            *best = (spent, bars.len());
        }
        return;
    };
    for at in 0..bars.len() {
        if bars[at].1 >= *rod - 1e-9 {
            bars[at].1 -= rod;
            cheapest(rest, bars, best);
            bars[at].1 += rod;
        }
    }
    for length in [36.0, 48.0, 72.0] {
        if length >= *rod {
            bars.push((length, length - rod));
            cheapest(rest, bars, best);
            bars.pop();
        }
    }
}

/// The most of the needs that the rods can serve, by trying.
fn most_served(needs: &[u32], rods: &mut Vec<u32>) -> usize {
    let Some((need, rest)) = needs.split_first() else { return 0 };
    let mut best = most_served(rest, rods);
    for at in 0..rods.len() {
        if rods[at] >= *need {
            let rod = rods.remove(at);
            best = best.max(1 + most_served(rest, rods));
            rods.insert(at, rod);
        }
    }
    best
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(50))]

    #[test]
    fn bars_to_buy_are_the_least_length_and_then_the_fewest(spans in prop::collection::vec((16_u32..276, 1_u32..3), 1..3)) {
        let inches = |quarters: u32| f64::from(quarters) / 4.0;
        let asked: Vec<_> = spans.iter().map(|(span, count)| json!({"span_mm": inches(*span) * 25.4, "count": count})).collect();
        let told = solved("rods", &json!({"rods": asked}));
        let rods: Vec<f64> = spans.iter().flat_map(|(span, count)| std::iter::repeat_n(inches(*span) + 3.0, 2 * *count as usize)).collect();
        let mut best = (f64::INFINITY, usize::MAX);
        cheapest(&rods, &mut Vec::new(), &mut best);
        close("inches bought", number(&told, "/bought_mm") / 25.4, best.0, 1e-9);
        close("the bound", number(&told, "/bound_mm") / 25.4, best.0, 1e-9);
        let bars: f64 = list(&told, "/buy").iter().map(|bar| number(bar, "/count")).sum();
        prop_assert_eq!(bars as usize, best.1);
        let bought: f64 = list(&told, "/buy").iter().map(|bar| number(bar, "/count") * number(bar, "/length_mm")).sum();
        close("what is bought", bought, number(&told, "/bought_mm"), 1e-9);
        // Every rod is cut, and no bar is overfull.
        let mut cut = Vec::new();
        for bar in list(&told, "/bars") {
            let cuts: Vec<f64> = list(bar, "/cuts_mm").iter().map(|cut| cut.as_f64().unwrap() / 25.4).collect();
            prop_assert!(cuts.iter().sum::<f64>() <= number(bar, "/stock_mm") / 25.4 + 1e-9);
            (0..number(bar, "/count") as usize).for_each(|_| cut.extend(&cuts));
        }
        let sorted = |mut of: Vec<f64>| { of.sort_by(f64::total_cmp); of };
        for (cut, rod) in sorted(cut).into_iter().zip(sorted(rods.clone())) {
            close("a rod", cut, rod, 1e-9);
        }
    }

    #[test]
    fn no_other_way_serves_more_rods(
        needs in prop::collection::vec((1_u32..8, 1_u32..3), 0..4), owned in prop::collection::vec((1_u32..8, 0_u32..3), 0..4),
    ) {
        let long = |list: &[(u32, u32)]| list.iter().map(|(length, count)| (f64::from(*length), *count)).collect::<Vec<_>>();
        let (served, missing, left) = serve(&long(&needs), &long(&owned));
        let each = |list: &[(u32, u32)]| list.iter().flat_map(|(length, count)| std::iter::repeat_n(*length, *count as usize)).collect::<Vec<u32>>();
        let (all, mut rods) = (each(&needs), each(&owned));
        let given: u32 = served.iter().map(|one| one.2).sum();
        prop_assert_eq!(given as usize, most_served(&all, &mut rods));
        prop_assert_eq!(given as usize + missing.iter().map(|one| one.1 as usize).sum::<usize>(), all.len(), "served and missing are all");
        prop_assert_eq!(given as usize + left.iter().map(|one| one.1 as usize).sum::<usize>(), rods.len(), "used and left are all");
        prop_assert!(served.iter().all(|(need, rod, count)| rod >= need && *count > 0));
        for length in 1..8 {
            let is = |at: f64| (at - f64::from(length)).abs() < 1e-9;
            let count = |of: &[(f64, u32)]| of.iter().filter(|one| is(one.0)).map(|one| one.1).sum::<u32>();
            let used: u32 = served.iter().filter(|one| is(one.1)).map(|one| one.2).sum();
            let needed: u32 = served.iter().filter(|one| is(one.0)).map(|one| one.2).sum();
            prop_assert_eq!(used + count(&left), count(&long(&owned)));
            prop_assert_eq!(needed + count(&missing), count(&long(&needs)));
        }
        // Nothing missing could be served by what is left.
        for (need, _) in &missing {
            prop_assert!(left.iter().all(|(rod, _)| rod < need));
        }
    }

    #[test]
    fn a_ball_has_the_fewest_strips_that_reach(strips in prop::collection::vec(1_u32..40, 0..7), wanted in 1_u32..160, join in 0_u32..5) {
        let (count, joins, length) = ball(&strips.iter().copied().map(f64::from).collect::<Vec<_>>(), f64::from(wanted), f64::from(join));
        let usable: Vec<u32> = strips.iter().copied().filter(|strip| *strip > join).collect();
        // Of all choices that reach, the fewest strips, then the least left over.
        let mut best: Option<(u32, u32)> = None;
        for mask in 1_u32..1 << usable.len() {
            let sum: u32 = (0..usable.len()).filter(|i| mask >> i & 1 == 1).map(|i| usable[i]).sum();
            let made = sum - (mask.count_ones() - 1) * join;
            if made >= wanted {
                let this = (mask.count_ones(), made);
                best = Some(best.map_or(this, |best| best.min(this)));
            }
        }
        prop_assert_eq!(joins, count.saturating_sub(1));
        match best {
            Some((fewest, _)) => {
                prop_assert_eq!(count as u32, fewest);
                prop_assert!(length >= f64::from(wanted) - 1e-9);
            }
            None => {
                let all: u32 = usable.iter().sum();
                prop_assert_eq!(count, usable.len(), "all strips, too short");
                prop_assert!((length - (f64::from(all) - f64::from(join) * joins as f64)).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn equal_strips_are_counted_up(wanted in 1_u32..2000, strip in 2_u32..100, join in 0_u32..60) {
        let told = joined(f64::from(wanted), f64::from(strip), f64::from(join));
        if strip <= join {
            prop_assert_eq!(told, None);
            return Ok(());
        }
        let mut strips = 1;
        while strip * strips - join * (strips - 1) < wanted {
            strips += 1;
        }
        let (told_strips, joins, left) = told.unwrap();
        prop_assert_eq!((told_strips, joins), (strips, strips - 1));
        close("left over", left, f64::from(strip * strips - join * (strips - 1) - wanted), 1e-9);
    }

    #[test]
    fn equal_rods_come_from_the_bar_with_the_least_waste(least in 10_u32..300, count in 1_u32..12) {
        let least = f64::from(least) / 4.0;
        let ways = [36.0_f64, 48.0, 72.0].into_iter().filter(|bar| *bar >= least).map(|bar| {
            let per_bar = (bar / least).floor();
            let bars = (f64::from(count) / per_bar).ceil();
            (bar * bars - least * f64::from(count), bars)
        });
        let best = ways.min_by(|a, b| a.partial_cmp(b).unwrap());
        match (stock_for(least, count), best) {
            (None, None) => {}
            (Some((bar, bars, per_bar, waste)), Some((wanted, fewest))) => {
                close("waste", waste + 1.0, wanted + 1.0, 1e-9);
                prop_assert_eq!(f64::from(bars), fewest);
                close("waste of these bars", waste + 1.0, bar * f64::from(bars) - least * f64::from(count) + 1.0, 1e-9);
                prop_assert_eq!(per_bar, (bar / least).floor() as u32);
            }
            (told, best) => prop_assert!(false, "{:?} {:?}", told, best),
        }
    }
}

/// The bow of a beam by integrating its curvature twice, in ten thousand steps; held at both ends under an even pull.
#[test]
fn a_rod_bows_as_its_curvature_says() {
    for (length, diameter, pull) in [(914.4_f64, 3.175_f64, 2.0), (600.0, 6.35, 20.0), (400.0, 3.175, 9.0)] {
        let (l, d) = (length / 1e3, diameter / 1e3);
        let stiff = 200e9 * std::f64::consts::PI * d.powi(4) / 64.0;
        let steps = 10_000;
        let dx = l / f64::from(steps);
        // From the middle, where the rod lies straight along, out to its end.
        let (mut slope, mut fall) = (0.0, 0.0);
        for i in steps / 2..steps {
            let x = (f64::from(i) + 0.5) * dx;
            let moment = pull * x * (l - x) / 2.0;
            fall += slope * dx + 0.5 * moment / stiff * dx * dx;
            slope += moment / stiff * dx;
        }
        let (told, holds) = bow(length, diameter, pull);
        close("the bow", told, fall * 1e3, 1e-3);
        let stress = pull * l * l / 8.0 / (std::f64::consts::PI * d.powi(3) / 32.0);
        assert_eq!(holds, fall <= l / 10.0 && stress < 250e6, "{length} mm under {pull} N/m");
    }
    // A thin rod just bowed by a tenth, and just more; a rod that would bow by more than its length is cut there.
    let limit = 914.4_f64.powi(3) * 1e-9;
    let inertia = std::f64::consts::PI * 2e-3_f64.powi(4) / 64.0;
    let pull = 384.0 * 200e9 * inertia / (5.0 * limit * 10.0);
    assert!(bow(914.4, 2.0, pull * 0.999).1 && !bow(914.4, 2.0, pull * 1.001).1);
    // A thick, short rod yields before it bows so far.
    let (d, l) = (20e-3_f64, 0.5_f64);
    let yields = 250e6 * std::f64::consts::PI * d.powi(3) / 32.0 * 8.0 / (l * l);
    assert!(bow(500.0, 20.0, yields * 0.999).1 && !bow(500.0, 20.0, yields * 1.001).1);
    assert_eq!(bow(914.4, 3.175, 1e6), (914.4, false));
}

/// A rod that no bar holds is named.
#[test]
fn a_rod_longer_than_every_bar_is_refused() {
    let ask = |span: f64| solve("rods", &json!({"rods": [{"span_mm": span * 25.4, "count": 1}]}));
    assert!(ask(69.0).is_ok() && ask(69.01).is_err());
}
