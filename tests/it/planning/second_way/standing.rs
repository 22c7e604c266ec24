//! Where a rug is, by its log: rows, time, pace and chances, each counted or simulated apart.
use super::close;
use super::contact::Asked;
use super::contact_log::{Note, Stands, ToDo, stands};
use super::rug::Rug;
use crate::planning::estimate::Uniform;
use proptest::prelude::*;

/// The small frame without bands: 128 rows of 33 units.
fn small() -> Asked {
    Asked { fringe: Some(3.0), ..Asked::small() }
}

/// Minutes of weaving from one row to another by the plan: the slow stretch at the end counts as it takes.
fn minutes_between(rug: &Rug, from: u32, to: u32) -> f64 {
    let rows = rug.rows;
    let steady = (rug.weave_time - rug.slow_time) / rows;
    let slow_rows = (2.0 * rug.rows_per_inch).min(rows);
    let row = |at: u32| {
        // How much of the row lies in the slow stretch.
        let slow = (f64::from(at + 1) - (rows - slow_rows)).clamp(0.0, 1.0);
        steady + slow * rug.slow_time / slow_rows
    };
    (from..to).map(row).sum()
}

/// A gamma number of any shape above one, by G. Marsaglia and W. W. Tsang (ACM Trans. Math. Softw. 26, 2000; from memory).
pub fn gamma(chance: &mut Uniform, shape: f64) -> f64 {
    if shape < 1.0 {
        return gamma(chance, shape + 1.0) * chance.next().powf(1.0 / shape);
    }
    let d = shape - 1.0 / 3.0;
    let c = 1.0 / (9.0 * d).sqrt();
    loop {
        let x = chance.normal();
        let v = (1.0 + c * x).powi(3);
        if v > 0.0 && chance.next().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
            return d * v;
        }
    }
}

/// Minutes that weavers with such a pace take for the twists: each has a rate, and each spell takes its own time.
fn weave(told: &Stands, chance: &mut Uniform) -> f64 {
    let rate = gamma(chance, told.pace.0) / told.pace.1;
    let twists = told.twists * (1.0 + chance.normal() * told.doubt).max(0.02);
    gamma(chance, twists / 160.0) / rate
}

/// Other work, whose logarithm is straight on each side of the expected.
fn other(told: &Stands, chance: &mut Uniform) -> f64 {
    let [low, expected, take] = told.other_left;
    let z = chance.normal();
    let end = if z < 0.0 { low } else { take };
    expected * (end / expected).powf(z.abs() / 1.281_551_565_545)
}

fn sorted(mut of: Vec<f64>) -> Vec<f64> {
    of.sort_by(f64::total_cmp);
    of
}

#[test]
fn times_and_chances_are_those_of_simulated_weavers() {
    let worked = |rows: u32, minutes: f64| Note::rows(rows).worked(minutes);
    for (i, log) in [
        vec![],
        vec![Note::default().worked(40.0)],
        vec![worked(20, 90.0), worked(70, 120.0)],
        vec![worked(40, 300.0), worked(90, 60.0).woven(22.0)],
        vec![worked(124, 250.0)],
    ]
    .iter()
    .enumerate()
    {
        let rooms = [60.0, 240.0, 420.0, 600.0];
        let told = stands(&small(), log, &rooms);
        let mut chance = Uniform(20_270_501);
        let weaving: Vec<f64> = (0..12_000).map(|_| weave(&told, &mut chance)).collect();
        let all = sorted(weaving.iter().map(|minutes| minutes + other(&told, &mut chance)).collect());
        let weaving = sorted(weaving);
        for (name, share, told_minutes) in [
            ("low", 0.1, told.weave_left[0]),
            ("expected", 0.5, told.weave_left[1]),
            ("take", 0.9, told.weave_left[2]),
        ] {
            // The program averages over the doubt at five points: within a few hundredths of the range.
            let wanted = weaving[(12_000.0 * share) as usize];
            let within = 0.06 * (weaving[10_800] - weaving[1_200]);
            assert!(
                (told_minutes - wanted).abs() < within,
                "{name} of the weaving to go, log {i}: {told_minutes}, simulated {wanted}"
            );
        }
        for (room, (done, woven)) in rooms.into_iter().zip(&told.chances) {
            let share = |of: &[f64]| of.partition_point(|minutes| *minutes <= room) as f64 / 12_000.0;
            assert!(
                (done - share(&all)).abs() < 0.03,
                "log {i}: {done} to be done in {room} min, simulated {}",
                share(&all)
            );
            assert!(
                (woven - share(&weaving)).abs() < 0.03,
                "log {i}: {woven} to have woven in {room} min, simulated {}",
                share(&weaving)
            );
        }
    }
}

/// The pace itself: deciles of a gamma rate, by simulation.
#[test]
fn a_pace_is_a_gamma_rate() {
    let told = stands(&small(), &[Note::rows(30).worked(100.0)], &[]);
    let mut chance = Uniform(20_270_502);
    let rates = sorted((0..20_000).map(|_| gamma(&mut chance, told.pace.0) / told.pace.1 * 160.0).collect());
    for (share, told) in [0.1, 0.5, 0.9].into_iter().zip(told.rates) {
        close("twists a minute", told, rates[(20_000.0 * share) as usize], 0.02);
    }
}

/// The belief before any log: half of such weavers take less than the plan's time, and its doubt is the plan's.
#[test]
fn the_belief_before_the_log_is_the_plans() {
    use super::ranges::log_sd;
    let asked = small();
    let told = stands(&asked, &[], &[]);
    let (rug, (median, sd)) = (Rug::expected(&asked), log_sd(&asked, |rug| rug.weave_time / rug.rows));
    let mut chance = Uniform(20_270_503);
    let twists = rug.twists;
    let rates =
        sorted((0..20_000).map(|_| gamma(&mut chance, told.prior.0) / told.prior.1 * 160.0).collect());
    close("median time for the whole rug", twists / rates[10_000], median * rug.rows, 0.02);
    let spread = (rates[18_000] / rates[2_000]).ln() / 2.0 / 1.281_551_565_545;
    close("its doubt", spread, sd, 0.05);
}

fn any_log() -> impl Strategy<Value = Vec<Note>> {
    let note = (
        prop::option::of(0_u32..150),
        prop::option::of(1.0..33.0_f64),
        prop::option::of(1.0..200.0_f64),
        0_u8..4,
    );
    prop::collection::vec(note, 0..7).prop_map(|notes| {
        let note = |(rows, woven, minutes, which): (Option<u32>, Option<f64>, Option<f64>, u8)| Note {
            rows: rows.filter(|_| which != 0),
            // Rows and length in one entry measure the rug again, which has its own test.
            woven: woven.filter(|_| which == 0).map(|inches| (inches * 8.0).round() / 8.0),
            minutes,
            left: Vec::new(),
        };
        notes.into_iter().map(note).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_log_is_counted_entry_by_entry(log in any_log(), before in 0_u32..3) {
        let asked = Asked { before: Some(before), ..small() };
        let rug = Rug::expected(&asked);
        let all = rug.rows as u32;
        let told = stands(&asked, &log, &[]);
        // Rows stand where they were last said to stand, also when they were said to be more before.
        let place = |note: &Note| note.rows.or_else(|| note.woven.map(|inches| (inches * 4.0).round() as u32)).map(|rows| rows.min(all));
        let last = log.iter().rev().find_map(place).unwrap_or(0);
        prop_assert_eq!((told.rows, told.rows_in_all), (last, all));
        let woven = log.iter().rev().find(|note| place(note).is_some()).and_then(|note| note.woven).unwrap_or(f64::from(last) / 4.0);
        close("inches woven", told.woven, woven.min(32.0), 1e-6);
        let began = log.iter().filter_map(place).any(|rows| rows > 0);
        prop_assert_eq!(told.began, began);

        // Minutes belong to the next place that is said; before the first row they were preparing.
        let (mut prepared, mut weaving, mut timed, mut open) = (0.0, 0.0, (0.0, 0.0), None);
        let (mut rows, mut any) = (0, false);
        for note in &log {
            open = note.minutes.map(|minutes| open.unwrap_or(0.0) + minutes).or(open);
            if let Some(now) = place(note) {
                if let Some(minutes) = open.take() {
                    if now == 0 && !any {
                        prepared += minutes;
                    } else {
                        weaving += minutes;
                        if now > rows {
                            timed = (timed.0 + minutes_between(&rug, rows, now), timed.1 + minutes);
                        }
                    }
                }
                rows = now;
                any |= now > 0;
            }
        }
        if any { weaving += open.unwrap_or(0.0) } else { prepared += open.unwrap_or(0.0) }
        close("minutes prepared", told.prepared, prepared, 1e-9);
        close("minutes woven", told.weaving, weaving, 1e-9);
        close("minutes prepared and woven", told.prepared + told.weaving, log.iter().filter_map(|note| note.minutes).sum(), 1e-9);

        // Twists, as many as take the same time: the whole rug's are the crossings of its rows.
        let twists = rug.twists / rug.weave_time;
        close("twists to go", told.twists, twists * minutes_between(&rug, last, all), 1e-6);
        close("twists timed", told.timed.0, twists * timed.0, 1e-6);
        close("minutes timed", told.timed.1, timed.1, 1e-9);
        close("spells believed", told.pace.0, told.prior.0 + twists * timed.0 / 160.0, 1e-6);
        close("minutes believed", told.pace.1, told.prior.1 + timed.1, 1e-9);
        other_work(&told, &rug)?;
        steps_to_do(&told)?;
    }
}

/// Preparing less what was logged of it, while nothing is woven; and finishing.
fn other_work(told: &Stands, rug: &Rug) -> Result<(), TestCaseError> {
    let none = stands(&small(), &[], &[]).other_left;
    let begun = stands(&small(), &[Note::rows(1)], &[]).other_left;
    let [low, expected, take] = told.other_left;
    close("finishing", begun[1], rug.finish(), 1e-6);
    close("preparing and finishing", none[1], rug.finish() + rug.prepare(), 1e-6);
    if told.began {
        prop_assert_eq!(told.other_left, begun);
        return Ok(());
    }
    for (left, (all, finish)) in [low, expected, take].into_iter().zip(none.into_iter().zip(begun)) {
        close("other work to go", left, (all - finish - told.prepared).max(0.0) + finish, 1e-9);
    }
    Ok(())
}

/// Logged preparing time is taken off the steps in their order, once; rows woven are taken off the bands.
fn steps_to_do(told: &Stands) -> Result<(), TestCaseError> {
    let minutes = |steps: &[ToDo], which: &[&str]| -> f64 {
        steps.iter().filter(|step| which.contains(&step.what)).map(|step| step.minutes).sum()
    };
    let preparing = ["cut", "join", "wind"];
    let left = minutes(&told.left, &preparing);
    let all = minutes(&told.plan, &preparing);
    close("preparing to go", left, if told.began { 0.0 } else { (all - told.prepared).max(0.0) }, 1e-9);
    let mut spent = told.prepared;
    for step in told.plan.iter().filter(|step| preparing.contains(&step.what)) {
        let wanted = if told.began { 0.0 } else { (step.minutes - spent).max(0.0) };
        spent = (spent - step.minutes).max(0.0);
        let here = minutes(&told.left, &[step.what]);
        close(step.what, here, wanted, 1e-9);
        prop_assert!(
            wanted > 0.0 || !told.left.iter().any(|left| left.what == step.what),
            "an empty step is left"
        );
    }
    for what in ["off", "fringe", "backing"] {
        close(what, minutes(&told.left, &[what]), minutes(&told.plan, &[what]), 0.0);
    }
    let rows: u32 = told.left.iter().map(|step| step.rows.1 - step.rows.0).sum();
    prop_assert_eq!(rows, told.rows_in_all - told.rows);
    prop_assert!(told.left.windows(2).all(|pair| pair[1].rows.0 == 0 || pair[0].rows.1 <= pair[1].rows.0));
    Ok(())
}

/// The weaving steps that are left take this weaver's time: the plan's, by how much slower the median of such weavers is.
#[test]
fn the_steps_to_go_are_at_the_weavers_pace() {
    for minutes in [40.0, 120.0, 400.0] {
        let told = stands(&small(), &[Note::rows(32).worked(minutes)], &[]);
        let mut chance = Uniform(20_270_504);
        let all = sorted(
            (0..20_000)
                .map(|_| {
                    gamma(&mut chance, 128.0 * 33.0 / 160.0) / gamma(&mut chance, told.pace.0) * told.pace.1
                })
                .collect(),
        );
        let planned: f64 =
            told.plan.iter().filter(|step| step.what == "weave").map(|step| step.minutes).sum();
        let left: f64 = told.left.iter().filter(|step| step.what == "weave").map(|step| step.minutes).sum();
        close("weaving to go", left, planned * 96.0 / 128.0 * all[10_000] / planned, 0.02);
    }
}

/// By hand: a count corrected downwards counts, with all that follows from it.
#[test]
fn a_row_count_corrected_downwards_counts() {
    let note = |rows: u32| Note::rows(rows).worked(60.0);
    let corrected = stands(&small(), &[note(60), Note::rows(50)], &[300.0]);
    let plain = stands(&small(), &[note(50)], &[300.0]);
    assert_eq!((corrected.rows, plain.rows), (50, 50));
    close("twists to go", corrected.twists, plain.twists, 1e-12);
    close("inches woven", corrected.woven, 12.5, 1e-9);
    // Back to nothing: it has begun all the same.
    let back = stands(&small(), &[note(60), Note::rows(0)], &[]);
    assert!(back.began && back.rows == 0);
    close("other work", back.other_left[1], plain.other_left[1], 1e-12);
}

/// By hand: 50 minutes of preparing are taken off once, from the cutting first.
#[test]
fn preparing_is_taken_off_once() {
    let [cut, join, wind] = ["cut", "join", "wind"].map(|what| {
        let all = stands(&small(), &[], &[]).plan;
        all.iter().find(|step| step.what == what).unwrap().minutes
    });
    let of = |told: &Stands| told.left.iter().map(|step| step.minutes).take(3).collect::<Vec<_>>();
    let told = stands(&small(), &[Note::default().worked(cut + 1.0)], &[]);
    let left = of(&told);
    close("joining", left[0], join - 1.0, 1e-9);
    close("winding", left[1], wind, 1e-9);
    let told = stands(&small(), &[Note::default().worked(5.0), Note::default().worked(6.0)], &[]);
    let left = of(&told);
    for (left, wanted) in left.into_iter().zip([cut - 11.0, join, wind]) {
        close("preparing", left, wanted, 1e-9);
    }
}

/// Each number of where a rug stands, from the inputs that are shown with it.
#[test]
fn where_a_rug_stands_can_be_followed_to_its_inputs() {
    let weighed = |rows: u32, grams: f64| Note::rows(rows).worked(80.0).left(0, grams);
    for log in [vec![Note::default().worked(30.0)], vec![weighed(20, 600.0), weighed(60, 420.0)]] {
        let told = stands(&small(), &log, &[300.0]);
        let shown = serde_json::to_value(&told.worked).unwrap();
        let keys: Vec<&str> =
            shown.as_array().unwrap().iter().map(|one| one["key"].as_str().unwrap()).collect();
        let find = |key: &str| {
            &shown[keys.iter().position(|k| *k == key).unwrap_or_else(|| panic!("no {key} in {keys:?}"))]
        };
        let plain = |value: &serde_json::Value| {
            let number = value["value"].as_f64().unwrap();
            if value["kind"] == "mass" { number / 1e3 } else { number }
        };
        let result = |key: &str| plain(&find(key)["result"]);
        let input = |key: &str, name: &str| {
            let inputs = find(key)["inputs"].as_array().unwrap();
            plain(
                &inputs
                    .iter()
                    .find(|one| one["name"] == name)
                    .unwrap_or_else(|| panic!("{key} has no {name}"))["value"],
            )
        };
        let rate = |(spells, minutes): (f64, f64)| spells / minutes * 160.0;
        close("prior", result("progress.prior"), rate(told.prior), 1e-9);
        let (before, worth) =
            (input("progress.pace", "pace before the log"), input("progress.pace", "the time it is worth"));
        let (twists, minutes) = (
            input("progress.pace", "twists logged with their time"),
            input("progress.pace", "time logged with its rows"),
        );
        close("pace", result("progress.pace"), (before * worth + twists) / (worth + minutes), 1e-6);
        close("pace", result("progress.pace"), rate(told.pace), 1e-9);
        close("twists", result("progress.twists"), told.twists, 1e-9);
        close("rows woven", input("progress.twists", "rows woven"), f64::from(told.rows), 0.0);
        close("rows in all", input("progress.twists", "rows in all"), 128.0, 0.0);
        close("rows to go", input("progress.weave_left", "rows to go"), f64::from(128 - told.rows), 0.0);
        close("weaving to go", result("progress.weave_left"), told.weave_left[1], 1e-9);
        close("take", plain(&find("progress.weave_left")["range"]["take"]), told.weave_left[2], 1e-9);
        let finishing = input("progress.other_left", "finishing");
        let preparing = if told.began {
            0.0
        } else {
            (input("progress.other_left", "preparing")
                - input("progress.other_left", "time logged before the first row"))
            .max(0.0)
        };
        close("other work", result("progress.other_left"), finishing + preparing, 1e-6);
        close("chance", result("progress.chance"), told.chances[0].0, 1e-9);
        close("room", input("progress.chance", "time left, at meetings and at home"), 300.0, 0.0);
        for lasts in &told.colours {
            let key = |what: &str| format!("lasting.{}.{what}", lasts.colour + 1);
            close(
                "needed",
                result(&key("needed")),
                input(&key("needed"), "strands to come") * input(&key("needed"), "one strand in one row"),
                1e-3,
            );
            close("rest", input(&key("chance"), "rest"), lasts.left, 1e-9);
            close("weighed at", input(&key("needed"), "weighed at row"), f64::from(lasts.at_row), 0.0);
            close("chance", result(&key("chance")), lasts.chance, 1e-9);
            close("moved by", input(&key("strand"), "moved by"), lasts.told, 1e-9);
            close("strand", result(&key("strand")), lasts.strand, 1e-9);
        }
        let colours = usize::from(!told.colours.is_empty()) * 3;
        assert_eq!(keys.len(), 6 + colours);
    }
}
