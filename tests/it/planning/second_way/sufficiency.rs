//! Whether each colour lasts: strands counted row by row in the order of weaving, beliefs by hand.
use super::close;
use super::contact::{Asked, Stripe};
use super::contact_log::{Lasts, Note, measured, stands};
use super::ranges::log_sd;
use super::rug::Rug;
use proptest::prelude::*;

fn stripe(height: f64, colours: [usize; 2]) -> Stripe {
    Stripe { height, colours, strip: None }
}

/// 40 rows of 0 and 1, 48 of 1 and 2, 40 of 0 and 0.
fn banded() -> Asked {
    Asked { bands: vec![stripe(10.0, [0, 1]), stripe(12.0, [1, 2]), stripe(10.0, [0, 0])], ..Asked::small() }
}

/// For each row in the order of weaving, how often the colour lies in it, by weight of its strips.
fn strands(asked: &Asked, colour: usize) -> Vec<f64> {
    let rug = Rug::expected(asked);
    let mut rows: Vec<f64> = Vec::new();
    for (band, count) in asked.stripes().iter().zip(&rug.band_rows) {
        let weight = band.strip.map_or(1.0, |strip| strip / asked.strip);
        let times = band.colours.iter().filter(|c| **c == colour).count() as f64 * weight;
        rows.extend(std::iter::repeat_n(times, *count as usize));
    }
    if asked.from != "one-end" {
        let half = rows.len().div_ceil(2);
        rows[half..].reverse();
    }
    rows
}

/// The last whole row that so many strands reach.
fn reached(rows: &[f64], from: usize, mut left: f64) -> usize {
    let mut reached = from;
    for (row, times) in rows.iter().enumerate().skip(from) {
        if *times > 0.0 && left + 1e-9 < *times {
            return reached;
        }
        left -= times;
        reached = row + 1;
    }
    rows.len()
}

fn of(told: &[Lasts], colour: usize) -> Lasts {
    told.iter()
        .find(|told| told.colour == colour)
        .unwrap_or_else(|| panic!("colour {colour} isn't in {told:?}"))
        .clone()
}

fn any_weighing() -> impl Strategy<Value = (Asked, u32, Vec<f64>)> {
    let from = prop::sample::select(vec!["one-end", "both-ends", "both-ends-other-first"]);
    (from, 0_u32..140, prop::collection::vec(0.0..700.0_f64, 3), any::<bool>()).prop_map(
        |(from, row, left, header)| {
            let mut asked = Asked { from, ..banded() };
            if header {
                asked.bands[0].strip = Some(0.75);
            }
            (asked, row, left)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn strands_to_come_are_counted_row_by_row((asked, row, left) in any_weighing()) {
        let rug = Rug::expected(&asked);
        let row = row.min(rug.rows as u32);
        let note = left.iter().enumerate().fold(Note::rows(row), |note, (colour, grams)| note.left(colour, grams.round()));
        let told = stands(&asked, &[note], &[]);
        prop_assert_eq!(told.colours.len(), 3);
        let all: f64 = (0..3).flat_map(|colour| strands(&asked, colour)).sum();
        let one = rug.weft_grams / all;
        for colour in 0..3 {
            let lasts = of(&told.colours, colour);
            let rows = strands(&asked, colour);
            let to_come: f64 = rows[row as usize..].iter().sum();
            close("strands to come", lasts.strands, to_come, 1e-9);
            prop_assert_eq!(lasts.rows_to_come as usize, rows[row as usize..].iter().filter(|times| **times > 0.0).count());
            prop_assert_eq!(lasts.at_row, row);
            close("the part to come", lasts.part, to_come / rows.iter().sum::<f64>(), 1e-9);
            close("what is left", lasts.left, left[colour].round(), 1e-9);
            // Weighed once: the plan's own weight of a strand.
            close("one strand in one row", lasts.strand, one, 1e-3);
            close("still needed", lasts.needed[1], one * to_come, 1e-3);
            let [low, expected, take] = lasts.needed;
            close("the range is even on the logarithm", low * take, expected * expected, 1e-3 + 0.002 / low.max(0.002));
            close("lacking", lasts.lacking, (take - lasts.left).max(0.0), 1e-6);
            // Each row comes to take / rows of the colour to come.
            let shorter = if take > lasts.left {
                (f64::from(lasts.rows_to_come) * (1.0 - lasts.left / take) - 1e-9).ceil() / rug.rows_per_inch
            } else {
                0.0
            };
            close("shorter by", lasts.shorter_by, shorter, 1e-6);
            prop_assert_eq!(lasts.short, lasts.chance < 0.9);
            runs_out(&lasts, &rows, row as usize)?;
        }
        close("what is needed of all colours at the first row", {
            let none = stands(&asked, &[Note::rows(0).left(0, 1.0).left(1, 1.0).left(2, 1.0)], &[]);
            none.colours.iter().map(|lasts| lasts.needed[1]).sum()
        }, rug.weft_grams, 1e-3);
    }
}

/// The row where what is left ends, at the expected weight; and the one that nine in ten reach, at the take's.
fn runs_out(lasts: &Lasts, rows: &[f64], row: usize) -> Result<(), TestCaseError> {
    let each = lasts.needed[1] / lasts.strands;
    let at = |factor: f64| {
        if lasts.strands > 0.0 { reached(rows, row, lasts.left / each / factor) } else { rows.len() }
    };
    let expected = at(1.0);
    // Milligrams of rounding may move a row.
    let near = |told: u32, wanted: usize| (i64::from(told) - wanted as i64).abs() <= 1;
    let told = lasts.runs_out.unwrap_or(rows.len() as u32);
    let gap = |told: u32, wanted: usize| {
        rows[(told as usize).min(wanted)..(told as usize).max(wanted)].iter().all(|times| *times == 0.0)
    };
    prop_assert!(
        near(told, expected) || gap(told, expected),
        "runs out in row {}, counted {}",
        told,
        expected
    );
    if lasts.strands > 0.0 {
        let safe = at(lasts.needed[2] / lasts.needed[1]);
        prop_assert!(
            near(lasts.safe_until, safe) || gap(lasts.safe_until, safe),
            "safe until {}, counted {}",
            lasts.safe_until,
            safe
        );
    }
    prop_assert!(lasts.safe_until <= told);
    Ok(())
}

/// The doubt of a whole colour is the doubt of all weft, and 5 % between colours; with all weighed before the first row.
#[test]
fn the_range_is_that_of_simulated_rugs() {
    let asked = Asked::small();
    let told = of(&stands(&asked, &[Note::rows(0).left(0, 700.0)], &[]).colours, 0);
    let (_, sd) = log_sd(&asked, |rug| rug.weft_grams);
    let wanted = (1.281_551_565_545 * sd.hypot(0.05)).exp();
    close("take over expected", told.needed[2] / told.needed[1], wanted, 0.015);
    // The chance: half where the rest is what half of such rugs need, nine in ten at nine in ten.
    let chance = |grams: f64| of(&stands(&asked, &[Note::rows(0).left(0, grams)], &[]).colours, 0).chance;
    let (median, _) = log_sd(&asked, |rug| rug.weft_grams);
    for (z, wanted) in [(-1.281_551_565_545, 0.1), (0.0, 0.5), (1.281_551_565_545, 0.9)] {
        let got = chance(median * (z * sd.hypot(0.05)).exp());
        assert!((got - wanted).abs() < 0.03, "{got} where {wanted} of simulated rugs need no more");
    }
}

/// With the length measured only the rows over the rest are in doubt; without it, the place itself is.
#[test]
fn a_measured_length_leaves_less_doubt() {
    let ratio = |note: Note| {
        let told = of(&stands(&banded(), &[note.left(0, 300.0)], &[]).colours, 0);
        told.needed[2] / told.needed[1]
    };
    let by_rows = ratio(Note::rows(100));
    let by_length = ratio(Note { woven: Some(25.0), ..Note::default() });
    assert!(by_length < by_rows, "{by_length} by length, {by_rows} by rows");
    let (_, row) = log_sd(&banded(), |rug| rug.weft_grams / rug.rows);
    let (_, rows) = log_sd(&banded(), |rug| rug.rows);
    let (_, both) = log_sd(&banded(), |rug| rug.weft_grams);
    // Weight of a row, rows of the rest, and how they go together; then 5 % between colours.
    assert!(both < row.hypot(rows), "closer rows are lighter");
    close("by length", by_length, (1.281_551_565_545 * both.hypot(0.05)).exp(), 0.02);
}

/// What a stretch used moves the weight of a strand as far as it leaves less doubt than the plan: by hand.
#[test]
fn weighed_stretches_move_the_weight_of_a_strand() {
    let asked = Asked::small();
    let rug = Rug::expected(&asked);
    let one = rug.weft_grams / 256.0;
    let (_, before) = log_sd(&asked, |rug| rug.weft_grams / rug.rows);
    for (rows, used) in [(20_u32, 1.3), (60, 1.3), (60, 0.8)] {
        let grams = (one * f64::from(rows) * 2.0 * used).round();
        let inches = f64::from(rows) / 4.0;
        let first = Note { woven: Some(0.0), ..Note::default() }.left(0, 900.0);
        let second = Note { woven: Some(inches), ..Note::default() }.left(0, 900.0 - grams);
        let told = of(&stands(&asked, &[first, second], &[]).colours, 0);
        // Two readings of 2 g, one strand, 4 % from stretch to stretch; the length is measured.
        let noise = (8.0_f64.sqrt() / grams).hypot(0.5 / f64::from(rows)).hypot(0.04);
        let weight = before * before / (before * before + noise * noise);
        close("how much was told", told.told, weight, 0.03);
        let wanted = one * (told.told * (grams / f64::from(rows) / 2.0 / one).ln()).exp();
        close("one strand in one row", told.strand, wanted, 1e-3);
    }
    // A ball that weighs more was filled up, and one that weighs the same taught nothing.
    for grams in [200.0, 260.0] {
        let told = of(
            &stands(&asked, &[Note::rows(10).left(0, 200.0), Note::rows(40).left(0, grams)], &[]).colours,
            0,
        );
        assert_eq!(told.told, 0.0);
        close("one strand in one row", told.strand, one, 1e-3);
    }
}

/// The last weighing of each colour counts, at the row that was said with it or last before it.
#[test]
fn the_last_weighing_counts_at_its_row() {
    let log = [
        Note::rows(0).left(0, 400.0).left(1, 500.0),
        Note::rows(20).left(0, 330.0),
        Note::default().left(1, 410.0),
        Note::rows(60),
        Note::rows(50).left(2, 90.0),
    ];
    let told = stands(&banded(), &log, &[]).colours;
    let seen: Vec<_> = told.iter().map(|told| (told.colour, told.at_row, told.left)).collect();
    assert_eq!(seen, [(0, 20, 330.0), (1, 20, 410.0), (2, 50, 90.0)]);
    assert!(stands(&banded(), &[Note::rows(10)], &[]).colours.is_empty());
    let done = stands(&banded(), &[Note::rows(128).left(0, 0.0)], &[]).colours;
    assert_eq!(
        (done[0].chance, done[0].needed, done[0].runs_out, done[0].short),
        (1.0, [0.0; 3], None, false)
    );
    let none = stands(&banded(), &[Note::rows(100).left(0, 0.0)], &[]).colours;
    assert_eq!((none[0].chance, none[0].runs_out, none[0].safe_until), (0.0, Some(100), 100));
}

/// Weft used: first weighing before the first row less the last one later, where every colour has both.
#[test]
fn weft_used_is_first_less_last() {
    let first = Note::rows(0).left(0, 400.0).left(1, 500.0).left(2, 200.0);
    let used = |log: &[Note]| stands(&banded(), log, &[]).used;
    let last = Note::rows(128).left(0, 40.0).left(1, 60.0).left(2, 50.0);
    let between = Note::rows(60).left(0, 300.0).left(1, 600.0);
    assert_eq!(used(&[first.clone(), between.clone(), last.clone()]), Some(950.0));
    assert_eq!(used(&[first.clone(), between.clone()]), None, "colour 2 wasn't weighed later");
    assert_eq!(
        used(&[Note::rows(1).left(0, 400.0).left(1, 500.0).left(2, 200.0), last.clone()]),
        None,
        "no weighing before the first row"
    );
    assert_eq!(
        used(&[first, Note::rows(128).left(0, 400.0).left(1, 60.0).left(2, 50.0)]),
        None,
        "a colour was filled up"
    );
    assert_eq!(used(&[last]), None);
}

/// Rows and length of an inch or more in one entry are a sample that beats a shorter one, and keeps its weight of a row.
#[test]
fn the_longest_counted_stretch_is_the_sample() {
    let both = |rows: u32, inches: f64| Note::rows(rows).woven(inches);
    let of = |sample: Option<(f64, u32, Option<f64>)>, log: &[Note]| {
        measured(&Asked { sample, weft_gsm: None, ..Asked::small() }, log)
    };
    let (rate, sample, _) = of(None, &[both(50, 10.0)]);
    assert_eq!((rate, sample), (5.0, Some((10.0, 50))));
    assert_eq!(of(None, &[both(5, 1.0)]).1, Some((1.0, 5)), "an inch is enough");
    assert_eq!(of(None, &[both(5, 0.984375)]).1, None, "less isn't");
    assert_eq!(of(None, &[both(0, 10.0)]).1, None);
    assert_eq!(
        of(None, &[both(20, 5.0), both(55, 11.0), Note::rows(80)]).1,
        Some((11.0, 55)),
        "the last one counts"
    );
    assert_eq!(of(None, &[both(20, 5.0), both(0, 11.0)]).1, None, "rows of none aren't counted rows");
    for (woven, kept) in [(10.0, true), (9.984375, false), (12.0, true)] {
        let (_, sample, row) = of(Some((woven, 44, Some(264.0))), &[both(50, 10.0)]);
        assert_eq!(sample, Some(if kept { (woven, 44) } else { (10.0, 50) }), "a sample of {woven} in");
        close("weight of a row", row, 6.0, 1e-3);
    }
}
