//! Plans, and where rugs stand by their logs, as they were: many rugs of every make, each number of each.
use super::contact::{Asked, Stripe, solve, try_reckon};
use super::contact_log::{Note, stands};
use crate::support::kept::{numbers_in, numbers_of, same_numbers, same_text};
use crate::support::solve::Dice;
use serde_json::json;

const KINDS: [&str; 9] =
    ["percale", "sateen", "flannel", "poplin", "jersey", "interlock", "denim", "fleece", "terry"];

/// In steps of a quarter inch.
fn quarters(dice: &mut Dice, least: u32, most: u32) -> f64 {
    f64::from(dice.within(least * 4, most * 4)) / 4.0
}

fn any(dice: &mut Dice) -> Asked {
    let nails = dice.within(12, 60);
    let width = f64::from(nails - 1) * f64::from(dice.within(7, 12)) / 16.0;
    let span = quarters(dice, 14, 60);
    let every = if dice.once_in(6) { 2 } else { 1 };
    let mut bands = Vec::new();
    if !dice.once_in(4) {
        let mut left = span - 1.0 - quarters(dice, 0, 3);
        for _ in 0..dice.within(1, 5) {
            let height = quarters(dice, 1, 9).min(left);
            if height >= 0.5 {
                let strip = dice.once_in(4).then(|| f64::from(dice.within(5, 14)) / 8.0);
                bands.push(Stripe {
                    height,
                    colours: [dice.below(3) as usize, dice.below(4) as usize],
                    strip,
                });
                left -= height;
            }
        }
    }
    let strip = f64::from(dice.within(5, 18)) / 8.0;
    Asked {
        span,
        width,
        nails,
        pitch: None,
        nail: dice.once_in(5).then_some(0.125),
        strip,
        warp_strip: None,
        kind: KINDS[dice.below(9) as usize],
        warp_kind: KINDS[dice.below(9) as usize],
        unit: dice.within(1, 4),
        length: None,
        rug_width: None,
        bands,
        keep: dice.once_in(2),
        from: if dice.once_in(3) { "both-ends" } else { "one-end" },
        fringe: dice.once_in(2).then(|| quarters(dice, 2, 8)),
        backing: dice.once_in(3).then_some(1.0),
        before: Some(dice.below(4)),
        doubled: dice.once_in(6),
        every,
        wraps: u32::from(dice.once_in(6)),
        warp_gsm: dice.once_in(4).then(|| f64::from(dice.within(90, 260))),
        weft_gsm: dice.once_in(4).then(|| f64::from(dice.within(90, 260))),
        sample: dice.once_in(4).then(|| {
            let inches = dice.within(3, 6);
            (
                f64::from(inches),
                inches * dice.within(3, 5),
                dice.once_in(2).then(|| f64::from(dice.within(60, 180))),
            )
        }),
    }
}

/// Rugs that can be woven, so many of them.
fn rugs(seed: u64, count: usize) -> Vec<Asked> {
    let mut dice = Dice(seed);
    let mut found = Vec::new();
    while found.len() < count {
        let asked = any(&mut dice);
        if try_reckon(&asked).is_ok() {
            found.push(asked);
        }
    }
    found
}

#[test]
fn plans_are_as_they_were() {
    let plans = rugs(41, 60).into_iter().enumerate().map(|(at, asked)| {
        let mut told = try_reckon(&asked).unwrap();
        // These numbers were kept before there were charts, of which these rugs have none.
        let weft = told["weft"].as_object_mut().unwrap();
        assert_eq!((weft["extra_turns"].as_f64(), weft["extra_turn_mm"].as_f64()), (Some(0.0), Some(0.0)));
        weft.retain(|name, _| !["extra_turns", "extra_turn_mm", "twists"].contains(&name.as_str()));
        // The way's strands are many and much alike.
        if at % 10 > 0 {
            told.as_object_mut().unwrap().remove("way");
        }
        (format!("rug {at}"), numbers_of(&told))
    });
    same_numbers("plans.txt", &plans.collect::<Vec<_>>());
}

#[test]
fn where_rugs_stand_is_as_it_was() {
    let mut dice = Dice(42);
    let mut told = Vec::new();
    for (at, asked) in rugs(43, 60).into_iter().enumerate() {
        let rows = try_reckon(&asked).unwrap()["weft"]["rows"].as_u64().unwrap() as u32;
        let colours = asked.bands.iter().flat_map(|band| band.colours).max().unwrap_or(0) + 1;
        let mut notes = Vec::new();
        let mut row = 0;
        for _ in 0..dice.below(5) {
            row = (row + dice.below(rows / 3 + 1)).min(rows);
            let mut note = Note::rows(row);
            if dice.once_in(2) {
                note = note.worked(f64::from(dice.within(20, 120)));
            }
            for colour in 0..colours {
                if dice.once_in(2) {
                    note = note.left(colour, f64::from(dice.below(400)));
                }
            }
            notes.push(note);
        }
        if dice.once_in(5) {
            notes.push(Note::default().woven(f64::from(dice.within(1, asked.span as u32 - 2))));
        }
        let rooms = [0.0, 60.0, 180.0, 400.0, 900.0];
        told.push((format!("rug {at}"), numbers_in(&format!("{:?}", stands(&asked, &notes, &rooms)))));
    }
    same_numbers("standing.txt", &told);
}

#[test]
fn colours_are_of_the_families_they_were_of() {
    let steps = || (0..=255_u32).step_by(15);
    let mut told = String::new();
    for red in steps() {
        for green in steps() {
            let family =
                |blue: u32| thrumhall::planning::colour::Hex::rgb(red << 16 | green << 8 | blue).family();
            let keys: Vec<&str> = steps().map(|blue| family(blue).key()).collect();
            told += &format!("{red:02x}{green:02x}: {}\n", keys.join(" "));
        }
    }
    same_text("families.txt", &told);
}

#[test]
fn what_the_class_learns_is_as_it_was() {
    let mut dice = Dice(44);
    let mut told = Vec::new();
    for case in 0..40 {
        let sizes = [(838.2, 457.2, 33), (1117.6, 609.6, 44)];
        let rug = |dice: &mut Dice| {
            let (span, width, nails) = sizes[dice.below(2) as usize];
            json!({"weaver": format!("w{}", dice.below(3)), "span_mm": span, "width_mm": width, "nails": nails,
                "kind": KINDS[dice.below(4) as usize], "strip_mm": 38.1, "rugs_before": dice.below(3)})
        };
        let mut finished = Vec::new();
        for _ in 0..dice.below(7) {
            let mut one = rug(&mut dice);
            let mut some = |dice: &mut Dice, name: &str, least: u32, most: u32| {
                if !dice.once_in(4) {
                    one[name] = json!(dice.within(least, most));
                }
            };
            some(&mut dice, "rows", 110, 150);
            some(&mut dice, "woven_mm", 780, 830);
            some(&mut dice, "weft_g", 700, 1000);
            some(&mut dice, "weave_minutes", 250, 600);
            some(&mut dice, "prepare_minutes", 40, 120);
            some(&mut dice, "warp_mm", 48_000, 60_000);
            finished.push(one);
        }
        let log: Vec<_> = (0..dice.below(4))
            .map(|at| json!({"rows": (at + 1) * 20, "minutes": dice.within(30, 110)}))
            .collect();
        let asked = json!({"rug": rug(&mut dice), "finished": finished, "log": log, "room_minutes": [30, 120, 300, 700]});
        let answer = solve("pace", &asked).unwrap_or_else(|why| panic!("{asked}: {why}")).remove(0);
        told.push((format!("class {case}"), numbers_of(&answer)));
    }
    same_numbers("learnt.txt", &told);
}
