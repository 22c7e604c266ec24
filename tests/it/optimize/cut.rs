//! Bars and rods by `solve`, against every way to cut small cases, with as much work as usual and with so little that the
//! search gives up.
use serde_json::{Value, json};

use crate::support::solve::{Dice, solve_or_refuse};

/// Bars by length, with how many there are; pieces by length; the saw's kerf.
#[derive(Clone, Debug)]
struct Bars {
    stock: Vec<(u32, Option<u32>)>,
    pieces: Vec<u32>,
    kerf: u32,
}

fn any(dice: &mut Dice) -> Bars {
    let stock =
        (0..dice.within(1, 2)).map(|_| (dice.within(40, 100), (!dice.once_in(2)).then(|| dice.below(4))));
    let stock = stock.collect();
    let pieces = (0..dice.within(1, 6)).map(|_| dice.within(10, 45)).collect();
    Bars { stock, pieces, kerf: dice.below(3) }
}

impl Bars {
    fn question(&self) -> Value {
        let stock = |(id, (length, count)): (usize, &(u32, Option<u32>))| json!({"id": id, "length_mm": length, "count": count});
        let piece = |length: &u32| json!({"length_mm": length, "count": 1});
        json!({
            "stock": self.stock.iter().enumerate().map(stock).collect::<Vec<_>>(),
            "pieces": self.pieces.iter().map(piece).collect::<Vec<_>>(),
            "kerf_mm": self.kerf,
        })
    }

    /// The least cost of bars that give every piece, one piece after the other into every bar begun or a new one.
    fn least(&self, cost: &dyn Fn(u32) -> u32) -> Option<u32> {
        let mut best = None;
        self.put(0, &mut Vec::new(), cost, &mut best);
        best
    }

    /// `begun` are bars by stock and what is left of each.
    fn put(
        &self,
        at: usize,
        begun: &mut Vec<(usize, u32)>,
        cost: &dyn Fn(u32) -> u32,
        best: &mut Option<u32>,
    ) {
        let Some(&piece) = self.pieces.get(at) else {
            let all = begun.iter().map(|(stock, _)| cost(self.stock[*stock].0)).sum();
            *best = Some(best.map_or(all, |best| best.min(all)));
            return;
        };
        for bar in 0..begun.len() {
            let (stock, left) = begun[bar];
            // A bar that is begun has been cut once for each piece in it.
            if left >= piece + self.kerf {
                begun[bar].1 = left - piece - self.kerf;
                self.put(at + 1, begun, cost, best);
                begun[bar] = (stock, left);
            }
        }
        for (stock, (length, count)) in self.stock.iter().enumerate() {
            let used = begun.iter().filter(|(other, _)| *other == stock).count() as u32;
            if *length >= piece && count.is_none_or(|count| used < count) {
                begun.push((stock, length - piece));
                self.put(at + 1, begun, cost, best);
                begun.pop();
            }
        }
    }

    /// How many bars an answer takes, once it keeps the rules.
    #[track_caller]
    fn judged(&self, answer: &Value) -> u32 {
        let bars = answer["bars"].as_array().unwrap();
        let mut wanted = self.pieces.clone();
        wanted.sort_unstable();
        let (mut cut, mut used) = (Vec::new(), vec![0; self.stock.len()]);
        for bar in bars {
            let stock = bar["stock"].as_u64().unwrap() as usize;
            used[stock] += 1;
            let cuts: Vec<u32> =
                bar["cuts_mm"].as_array().unwrap().iter().map(|cut| cut.as_u64().unwrap() as u32).collect();
            let kerfs = self.kerf * (cuts.len() as u32 - 1);
            assert!(cuts.iter().sum::<u32>() + kerfs <= self.stock[stock].0, "{bar} in {self:?}");
            cut.extend(cuts);
        }
        cut.sort_unstable();
        assert_eq!(cut, wanted, "{self:?} {answer}");
        for ((_, count), used) in self.stock.iter().zip(used) {
            assert!(count.is_none_or(|count| used <= count), "{self:?} {answer}");
        }
        bars.len() as u32
    }
}

#[test]
fn small_cuttings_take_the_fewest_bars_and_bounds_hold_where_the_search_gives_up() {
    let mut dice = Dice(31);
    let (mut none, mut given_up) = (0, 0);
    for case in 0..300 {
        let bars = any(&mut dice);
        let fewest = bars.least(&|_| 1);
        for steps in [None, Some(1), Some(40), Some(400)] {
            let mut asked = bars.question();
            if let Some(steps) = steps {
                asked["steps"] = json!(steps);
            }
            match solve_or_refuse("cutting", &asked) {
                Ok(answer) => {
                    let used = bars.judged(&answer);
                    let bound = answer["bound"].as_u64().unwrap() as u32;
                    assert_eq!(answer["used"], json!(used), "case {case}: {bars:?}");
                    let fewest =
                        fewest.unwrap_or_else(|| panic!("case {case}: there is no way: {bars:?} {answer}"));
                    assert!(
                        bound <= fewest && fewest <= used,
                        "case {case}: {bound} ≤ {fewest} ≤ {used}? {bars:?}"
                    );
                    if steps.is_none() {
                        assert_eq!((used, bound), (fewest, fewest), "case {case}: {bars:?}");
                    }
                    given_up += u32::from(bound < used);
                }
                Err(why) => {
                    let certain = !why.contains("as far as could be searched");
                    assert!(
                        fewest.is_none() || !certain,
                        "case {case}: {why}, but {fewest:?} bars do: {bars:?}"
                    );
                    assert!(certain || steps.is_some(), "case {case}: {why}");
                    none += u32::from(certain);
                    given_up += u32::from(!certain);
                }
            }
        }
    }
    assert!(none > 30 && given_up > 10, "{none} can’t be, {given_up} were given up");
}

/// Common practice, no source: rods are sold in lengths of 36, 48 and 72 in.
#[test]
fn small_purchases_of_rods_are_the_least_length() {
    let mut dice = Dice(32);
    let mut given_up = 0;
    for case in 0..150 {
        let pieces: Vec<u32> = (0..dice.within(1, 5)).map(|_| dice.within(100, 700)).collect();
        // Tenths of an inch, so that the answer is in whole units of 2.54 mm.
        let stock = [36, 48, 72].map(|inches| (inches * 10, None));
        let bars = Bars { stock: stock.to_vec(), pieces, kerf: 0 };
        let least = bars.least(&|length| length).unwrap();
        let mm = |tenths: u32| f64::from(tenths) * 2.54;
        let rods: Vec<Value> =
            bars.pieces.iter().map(|piece| json!({"length_mm": mm(*piece), "count": 1})).collect();
        for steps in [None, Some(1), Some(100)] {
            let mut asked = json!({"rods": rods});
            if let Some(steps) = steps {
                asked["steps"] = json!(steps);
            }
            let answer = solve_or_refuse("rods", &asked).unwrap();
            let tenths = |key: &str| (answer[key].as_f64().unwrap() / 2.54).round() as u32;
            let (bought, bound) = (tenths("bought_mm"), tenths("bound_mm"));
            let sum: f64 = answer["buy"]
                .as_array()
                .unwrap()
                .iter()
                .map(|one| one["length_mm"].as_f64().unwrap() * one["count"].as_f64().unwrap())
                .sum();
            assert_eq!((sum / 2.54).round() as u32, bought, "case {case}: {answer}");
            assert!(bound <= least && least <= bought, "case {case}: {bound} ≤ {least} ≤ {bought}? {bars:?}");
            if steps.is_none() {
                assert_eq!((bought, bound), (least, least), "case {case}: {bars:?}");
            }
            given_up += u32::from(bound < bought);
        }
    }
    assert!(given_up > 5, "{given_up} were given up");
}

/// Flat sheets cut straight into strips of one length each: with so few choices kept that some are dropped, the joins are
/// still the fewest, the strip long enough, and nothing is said to be proven that is beaten.
#[test]
fn a_choice_of_sheets_that_drops_some_choices_proves_nothing() {
    let mut dice = Dice(33);
    let (mut dropped, mut worse) = (0, 0);
    for case in 0..60 {
        let sheets: Vec<Value> = (0..dice.within(3, 5))
            .map(|id| {
                let (along, across) = (dice.within(600, 2_400), dice.within(100, 700));
                json!({"id": id.to_string(), "along_mm": along, "across_mm": across})
            })
            .collect();
        let wanted = dice.within(3_000, 20_000);
        let mut asked = json!({"sheets": sheets, "wanted_mm": wanted, "strip_mm": 50, "ways": ["straight", "continuous"]});
        let Ok(best) = solve_or_refuse("sheets", &asked) else { continue };
        let number = |answer: &Value, key: &str| answer[key].as_f64().unwrap();
        for keep in [1, 2] {
            asked["keep"] = json!(keep);
            let answer = solve_or_refuse("sheets", &asked).unwrap();
            let joins = number(&answer, "joins");
            let strips = answer["cut"]
                .as_array()
                .unwrap()
                .iter()
                .flat_map(|cut| cut["strips"].as_array().unwrap().clone());
            let lengths: Vec<f64> = strips.map(|strip| number(&strip, "length_mm")).collect();
            assert_eq!(lengths.len() as f64, joins + 1.0, "case {case}: {answer}");
            let total: f64 = lengths.iter().sum();
            assert!(
                (total - number(&answer, "strips_mm")).abs() < 0.01
                    && total - joins * 50.8 >= f64::from(wanted) - 0.01
            );
            assert_eq!(answer["joins"], best["joins"], "case {case}");
            let aims = |answer: &Value| (number(answer, "waste_mm"), answer["cut"].as_array().unwrap().len());
            if answer["proven"] == json!(true) {
                assert_eq!(aims(&answer), aims(&best), "case {case}: said to be proven: {asked}");
            } else {
                dropped += 1;
            }
            // A sheet less may stand for more of an edge.
            worse += u32::from(aims(&answer) != aims(&best));
        }
    }
    assert!(dropped > 10 && worse > 0, "{dropped} dropped some, {worse} were the worse for it");
}

/// Rectangles that so many panels make, side by side or end to end: by number, width and length, the least seam.
fn rectangles(sizes: &[(u32, u32)], most: usize) -> Vec<Vec<(u32, u32, u32)>> {
    let mut made: Vec<Vec<(u32, u32, u32)>> = vec![Vec::new()];
    for panels in 1..=most {
        let mut here: Vec<(u32, u32, u32)> = Vec::new();
        if panels == 1 {
            here.extend(sizes.iter().flat_map(|&(width, length)| [(width, length, 0), (length, width, 0)]));
        }
        for fewer in 1..panels {
            for &(w1, l1, s1) in &made[fewer] {
                for &(w2, l2, s2) in &made[panels - fewer] {
                    if l1 == l2 {
                        here.push((w1 + w2, l1, s1 + s2 + l1));
                    }
                    if w1 == w2 {
                        here.push((w1, l1 + l2, s1 + s2 + w1));
                    }
                }
            }
        }
        here.sort_unstable();
        here.dedup_by_key(|(width, length, _)| (*width, *length));
        made.push(here);
    }
    made
}

#[test]
fn panels_are_the_fewest_then_the_nearest_and_a_search_that_gives_up_says_so() {
    let mut dice = Dice(34);
    let (mut fits, mut none, mut given_up) = (0, 0, 0);
    for case in 0..120 {
        let sizes: Vec<(u32, u32)> =
            (0..dice.within(1, 3)).map(|_| (dice.within(2, 6) * 100, dice.within(3, 9) * 100)).collect();
        let (width, length) = (dice.within(3, 14) * 100, dice.within(3, 14) * 100);
        let (tolerance, most) = (dice.below(2) * 100, 4);
        let off = |(w, l, _): &(u32, u32, u32)| (w.abs_diff(width), l.abs_diff(length));
        let best = rectangles(&sizes, most).iter().enumerate().find_map(|(panels, made)| {
            let near = made.iter().filter(|one| off(one).0 <= tolerance && off(one).1 <= tolerance);
            near.map(|one| (panels, off(one).0 + off(one).1, one.2)).min()
        });
        let listed: Vec<Value> = (sizes.iter().enumerate())
            .map(
                |(id, (width, length))| json!({"id": id.to_string(), "width_mm": width, "length_mm": length}),
            )
            .collect();
        let mut asked = json!({
            "wanted": {"width_mm": width, "length_mm": length}, "sizes": listed, "tolerance_mm": tolerance, "ease_mm": 0,
            "most_panels": most,
        });
        for tries in [None, Some(1), Some(8), Some(30)] {
            if let Some(tries) = tries {
                asked["tries"] = json!(tries);
            }
            match solve_or_refuse("panels", &asked) {
                Ok(answer) => {
                    let told = |key: &str| answer[key].as_u64().unwrap() as u32;
                    let panels = answer["panels"].as_array().unwrap().len();
                    let found = (panels, told("off_mm"), told("seam_mm"));
                    assert!(
                        Some(found) >= best && best.is_some(),
                        "case {case}: {found:?} is better than {best:?}"
                    );
                    if answer["proven"] == json!(true) {
                        assert_eq!(Some(found), best, "case {case}: said to be proven: {asked}");
                    }
                    assert!(tries.is_some() || answer["proven"] == json!(true), "case {case}");
                    given_up += u32::from(answer["proven"] == json!(false));
                    fits += 1;
                }
                Err(why) => {
                    let certain = !why.contains("As far as could be searched");
                    assert!(best.is_none() || !certain, "case {case}: {why}, but there is {best:?}: {asked}");
                    assert!(certain || tries.is_some(), "case {case}: {why}");
                    none += u32::from(certain);
                    given_up += u32::from(!certain);
                }
            }
        }
    }
    assert!(fits > 50 && none > 50 && given_up > 20, "{fits} fit, {none} don’t, {given_up} were given up");
}

/// Bars without waste, cut into pieces that share no measure: the search meets more ways to fill a bar than it keeps. What it
/// then says can't be beaten mustn't be beaten by the bars that the pieces come from.
#[test]
fn bars_with_more_fillings_than_are_kept_prove_no_more_than_is_true() {
    let mut dice = Dice(34);
    for (bars, pieces) in [(4, 12), (5, 14), (6, 16)] {
        let bar = 2_000_000_u32;
        let mut cuts = Vec::new();
        for _ in 0..bars {
            let mut left = bar;
            for more in (1..pieces).rev() {
                let share = left / (more + 1);
                let piece = dice.within(share / 10 * 7, share / 10 * 13);
                cuts.push(piece);
                left -= piece;
            }
            cuts.push(left);
        }
        let mm = |micrometres: u32| f64::from(micrometres) / 1e3;
        let answer = solve_or_refuse(
            "cutting",
            &json!({
                "stock": [{"id": 0, "length_mm": mm(bar)}],
                "pieces": cuts.iter().map(|cut| json!({"length_mm": mm(*cut), "count": 1})).collect::<Vec<_>>(),
                "steps": 4_000_000,
            }),
        )
        .unwrap();
        assert_eq!(answer["bound"], json!(bars), "{cuts:?}");
    }
}
