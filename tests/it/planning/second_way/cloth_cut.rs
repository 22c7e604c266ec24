//! Strips from sheets, millimetre by millimetre: which cloth is clear, which runs lie in it, which of them are one strip.
use super::contact::{Cloth, Given, Rectangle, cut, list, number, solve};
use super::refused_for;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Every square millimetre between the hems: whether it is clear.
fn clear(cloth: &Cloth) -> Vec<Vec<bool>> {
    let taken = |x: i64, y: i64| {
        let corner = |at: i64, whole: i64| at < cloth.corners || at >= whole - cloth.corners;
        let hem = |at: i64, whole: i64| at < cloth.hem || at >= whole - cloth.hem;
        let stained = |s: &Rectangle| (s[0]..s[1]).contains(&x) && (s[2]..s[3]).contains(&y);
        hem(x, cloth.along)
            || hem(y, cloth.across)
            || (corner(x, cloth.along) && corner(y, cloth.across))
            || cloth.stains.iter().any(stained)
    };
    (0..cloth.across).map(|y| (0..cloth.along).map(|x| !taken(x, y)).collect()).collect()
}

fn turned(cloth: &Cloth) -> Cloth {
    let stains = cloth.stains.iter().map(|s| [s[2], s[3], s[0], s[1]]).collect();
    Cloth { along: cloth.across, across: cloth.along, stains, ..*cloth }
}

/// The clear runs of each lane, found by walking along it.
fn lanes(cloth: &Cloth, width: i64) -> Vec<Vec<Rectangle>> {
    let clear = clear(cloth);
    let mut lanes = Vec::new();
    let mut top = cloth.hem;
    while top + width <= cloth.across - cloth.hem {
        let free = |x: i64| (top..top + width).all(|y| clear[y as usize][x as usize]);
        let (mut runs, mut from) = (Vec::new(), None);
        for x in 0..=cloth.along {
            let here = x < cloth.along && free(x);
            match (here, from) {
                (true, None) => from = Some(x),
                (false, Some(start)) => {
                    runs.push([start, x, top, top + width]);
                    from = None;
                }
                _ => {}
            }
        }
        lanes.push(runs);
        top += width;
    }
    lanes
}

/// Runs that hang together: neighbouring lanes, the same ends, and room to turn in, two strip widths.
fn joined(lanes: &[Vec<Rectangle>], width: i64) -> BTreeSet<Vec<Rectangle>> {
    let mut strips: Vec<Vec<Rectangle>> = Vec::new();
    for run in lanes.iter().flatten() {
        let goes_on = |strip: &&mut Vec<Rectangle>| {
            let last = strip[strip.len() - 1];
            last[..2] == run[..2] && last[3] == run[2] && run[1] - run[0] >= 2 * width
        };
        match strips.iter_mut().find(goes_on) {
            Some(strip) => strip.push(*run),
            None => strips.push(vec![*run]),
        }
    }
    strips.into_iter().collect()
}

fn length(strip: &[Rectangle]) -> i64 {
    strip.iter().map(|run| run[1] - run[0]).sum()
}

fn any_cloth() -> impl Strategy<Value = Cloth> {
    let stain = (0_i64..300, 1_i64..80, 0_i64..200, 1_i64..60);
    (100_i64..300, 60_i64..200, 0_i64..12, 0_i64..30, prop::collection::vec(stain, 0..4)).prop_map(
        |(along, across, hem, corners, stains)| {
            let stain = |(x, wide, y, high): (i64, i64, i64, i64)| {
                let (x, y) = (x.min(along - 1), y.min(across - 1));
                [x, (x + wide).min(along), y, (y + high).min(across)]
            };
            Cloth { along, across, hem, corners, stains: stains.into_iter().map(stain).collect() }
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(120))]

    #[test]
    fn strips_are_what_the_cloth_has_clear(
        cloth in any_cloth(), turn: bool, continuous: bool, width in 5_i64..40, least in 0_i64..120, first in 0_usize..6,
    ) {
        let lying = if turn { turned(&cloth) } else { cloth.clone() };
        let lanes = lanes(&lying, width);
        let all: BTreeSet<Vec<Rectangle>> =
            if continuous { joined(&lanes, width) } else { lanes.iter().flatten().map(|run| vec![*run]).collect() };
        let wanted: BTreeSet<Vec<Rectangle>> = all.into_iter().filter(|strip| length(strip) >= least).collect();
        let Given { strips, total, offcut, waste } = cut(&cloth, turn, continuous, width, least, first);
        prop_assert_eq!(strips.iter().cloned().collect::<BTreeSet<_>>(), wanted.clone(), "{} mm wide", width);
        prop_assert_eq!(strips.len(), wanted.len());
        for strip in strips.iter().filter(|strip| strip.len() > 1) {
            prop_assert!(strip[0][1] - strip[0][0] >= 2 * width, "no room to turn in {:?}", strip);
        }
        let cut_mm: i64 = wanted.iter().map(|strip| length(strip)).sum();
        prop_assert_eq!(total, cut_mm as f64);
        // What is cut and what isn't are the sheet between its hems.
        let [long, deep] = [lying.along, lying.across].map(|side| (side - 2 * lying.hem) as f64);
        prop_assert!((total + offcut - long * deep / width as f64).abs() < 1e-3);
        spoilt(&strips[..first.min(strips.len())], &lanes, &lying, width, waste)?;
    }
}

/// Cloth spoilt: what stays of lanes that are begun; once all are, the edge too narrow for one more.
fn spoilt(
    taken: &[Vec<Rectangle>],
    lanes: &[Vec<Rectangle>],
    lying: &Cloth,
    width: i64,
    waste: f64,
) -> Result<(), TestCaseError> {
    let used: BTreeSet<&Rectangle> = taken.iter().flatten().collect();
    let begun = |lane: &&Vec<Rectangle>| lane.iter().any(|run| used.contains(run));
    let mut wanted: i64 =
        lanes.iter().filter(begun).flatten().filter(|run| !used.contains(run)).map(|r| r[1] - r[0]).sum();
    wanted *= width;
    if lanes.iter().filter(|lane| !lane.is_empty()).all(|lane| begun(&lane)) {
        wanted += (lying.along - 2 * lying.hem) * ((lying.across - 2 * lying.hem) % width);
    }
    prop_assert!(
        (waste * width as f64 - wanted as f64).abs() < 1e-3 * width as f64,
        "{} mm of strip, counted {} mm²",
        waste,
        wanted
    );
    Ok(())
}

/// One way to cut a sheet: strips, worth, waste of the lanes, waste of the edge.
type Part = (usize, i64, f64, f64);

/// Every way to cut some of a sheet: longest strips first, the last perhaps not to its end.
fn parts(cloth: &Cloth, width: i64, join: i64, least: i64, ways: &[bool]) -> Vec<Part> {
    let mut parts = Vec::new();
    for turn in [false, true] {
        let lying = if turn { turned(cloth) } else { cloth.clone() };
        let lanes = lanes(&lying, width);
        for &continuous in ways {
            let strips: BTreeSet<Vec<Rectangle>> = if continuous {
                joined(&lanes, width)
            } else {
                lanes.iter().flatten().map(|run| vec![*run]).collect()
            };
            let mut strips: Vec<_> = strips.into_iter().filter(|strip| length(strip) >= least).collect();
            strips.sort_by_key(|strip| (-length(strip), strip[0][2], strip[0][0]));
            for at in 0..strips.len() {
                for runs in 1..=strips[at].len() {
                    let mut taken = strips[..at].to_vec();
                    taken.push(strips[at][..runs].to_vec());
                    if length(&taken[at]) < least {
                        continue;
                    }
                    let worth = taken.iter().map(|strip| length(strip) - join).sum();
                    let (waste, edge) = waste_of(&taken, &lanes, &lying, width);
                    parts.push((taken.len(), worth, waste, edge));
                }
            }
        }
    }
    parts
}

fn waste_of(taken: &[Vec<Rectangle>], lanes: &[Vec<Rectangle>], lying: &Cloth, width: i64) -> (f64, f64) {
    let used: BTreeSet<&Rectangle> = taken.iter().flatten().collect();
    let begun = |lane: &&Vec<Rectangle>| lane.iter().any(|run| used.contains(run));
    let left: i64 =
        lanes.iter().filter(begun).flatten().filter(|run| !used.contains(run)).map(|r| r[1] - r[0]).sum();
    let all = lanes.iter().filter(|lane| !lane.is_empty()).all(|lane| begun(&lane));
    let edge = (lying.along - 2 * lying.hem) * ((lying.across - 2 * lying.hem) % width);
    (left as f64, if all { edge as f64 / width as f64 } else { 0.0 })
}

/// The best choice by trying all: fewest joins, least waste of lanes, fewest sheets, least edge; nothing where all of it is too little.
fn tried(sheets: &[Vec<Part>], need: i64) -> Option<(usize, f64, usize)> {
    let mut open = vec![(0_usize, 0_i64, 0.0_f64, 0_usize, 0.0_f64)];
    for ways in sheets {
        let mut next = open.clone();
        for (strips, worth, waste, opened, edge) in &open {
            next.extend(
                ways.iter()
                    .map(|way| (strips + way.0, worth + way.1, waste + way.2, opened + 1, edge + way.3)),
            );
        }
        open = next;
    }
    let enough = open.into_iter().filter(|choice| choice.0 > 0 && choice.1 >= need);
    let whole = |waste: f64| (waste * 1e3).round() as i64;
    let key = |choice: &(usize, i64, f64, usize, f64)| (choice.0, whole(choice.2), choice.3, whole(choice.4));
    enough.min_by_key(key).map(|choice| (choice.0, choice.2 + choice.4, choice.3))
}

fn asked(cloths: &[Cloth], [wanted, width, join, least]: [i64; 4], ways: &[bool]) -> Value {
    let sheet = |(i, cloth): (usize, &Cloth)| {
        let blocked = |s: &Rectangle| json!({"along_mm": [s[0], s[1]], "across_mm": [s[2], s[3]]});
        json!({
            "id": i.to_string(), "along_mm": cloth.along, "across_mm": cloth.across, "hem_mm": cloth.hem,
            "corners_mm": cloth.corners, "blocked": cloth.stains.iter().map(blocked).collect::<Vec<_>>(),
        })
    };
    let ways: Vec<&str> = ways.iter().map(|way| if *way { "continuous" } else { "straight" }).collect();
    let sheets: Vec<Value> = cloths.iter().enumerate().map(sheet).collect();
    json!({"sheets": sheets, "wanted_mm": wanted, "strip_mm": width, "join_mm": join, "least_mm": least, "ways": ways})
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn no_other_choice_of_stained_sheets_is_better(
        cloths in prop::collection::vec(any_cloth(), 1..4), part in 0.05..1.1_f64, width in 20_i64..45, join in 0_i64..20,
        least in 20_i64..80, which in 0_usize..3,
    ) {
        let least = least.max(join);
        let ways: &[bool] = [&[false][..], &[true], &[false, true]][which];
        let sheets: Vec<Vec<Part>> = cloths.iter().map(|cloth| parts(cloth, width, join, least, ways)).collect();
        let most: i64 = sheets.iter().map(|ways| ways.iter().map(|way| way.1).max().unwrap_or(0).max(0)).sum();
        let wanted = ((most as f64 * part) as i64).max(1);
        let need = wanted - join;
        prop_assume!(sheets.iter().map(|ways| ways.len() + 1).product::<usize>() < 40_000);
        match (solve("sheets", &asked(&cloths, [wanted, width, join, least], ways)), tried(&sheets, need)) {
            (Ok(told), Some((strips, waste, opened))) => {
                let told = &told[0];
                prop_assert_eq!(number(told, "/joins"), strips as f64 - 1.0);
                prop_assert!((number(told, "/waste_mm") - waste).abs() < 0.01, "{} is spoilt, tried {}", told["waste_mm"], waste);
                prop_assert_eq!(list(told, "/cut").len(), opened);
                prop_assert_eq!(&told["proven"], true);
                conserved(told, &cloths, [wanted, width, join, least])?;
            }
            (Err(why), None) => prop_assert!(why.contains("at most"), "{}", why),
            (told, tried) => prop_assert!(false, "{:?} against {:?}", told, tried),
        }
    }
}

/// Every strip lies in clear cloth of its own, is long enough, and together they make what is wanted and what is spare.
fn conserved(
    told: &Value,
    cloths: &[Cloth],
    [wanted, width, join, least]: [i64; 4],
) -> Result<(), TestCaseError> {
    let (mut total, mut strips) = (0.0, 0);
    for sheet in list(told, "/cut") {
        let cloth = &cloths[sheet["sheet"].as_str().unwrap().parse::<usize>().unwrap()];
        let lying = if sheet["turned"] == true { turned(cloth) } else { cloth.clone() };
        let mut clear = clear(&lying);
        for strip in list(sheet, "/strips") {
            strips += 1;
            prop_assert_eq!(number(strip, "/number"), f64::from(strips));
            let mut length = 0.0;
            let runs = list(strip, "/runs");
            for run in runs {
                let at = |side: &str, end: usize| number(run, &format!("/{side}_mm/{end}")) as usize;
                let (from, to, top, bottom) =
                    (at("along", 0), at("along", 1), at("across", 0), at("across", 1));
                prop_assert_eq!(bottom - top, width as usize);
                prop_assert!(runs.len() == 1 || to - from >= 2 * width as usize, "no room to turn in");
                for row in &mut clear[top..bottom] {
                    for cell in &mut row[from..to] {
                        prop_assert!(*cell, "cloth that isn't there, or twice");
                        *cell = false;
                    }
                }
                length += (to - from) as f64;
            }
            prop_assert_eq!(number(strip, "/length_mm"), length);
            prop_assert!(length >= least as f64);
            total += length;
        }
    }
    prop_assert_eq!(number(told, "/strips_mm"), total);
    let spare = total - f64::from(strips - 1) * join as f64 - wanted as f64;
    prop_assert!(spare >= 0.0 && (number(told, "/spare_mm") - spare).abs() < 1e-6);
    Ok(())
}

/// By hand: a block of three lanes, one and a half widths long, is cut straight; at two widths a strip turns in it.
#[test]
fn a_strip_turns_only_where_there_is_room() {
    let block = |along: i64| Cloth { along, across: 120, hem: 0, corners: 0, stains: Vec::new() };
    for (along, strips) in [(60, 3), (79, 3), (80, 1), (81, 1)] {
        assert_eq!(
            cut(&block(along), false, true, 40, 0, 0).strips.len(),
            strips,
            "{along} mm, strips of 40 mm"
        );
    }
}

/// What a question about sheets may be refused for.
const ENTRIES: [&str; 12] = [
    "Strip width",
    "Wanted length",
    "Join",
    "Least piece",
    "Sheet, along",
    "Sheet, across",
    "Hem",
    "Corners",
    "Blocked, from",
    "Blocked, to",
    "Ways to cut",
    "Sheets",
];

/// By hand: sizes at both ends of what is allowed.
#[test]
fn sizes_beyond_what_is_allowed_are_refused() {
    let cloth = Cloth { along: 2000, across: 1000, hem: 20, corners: 0, stains: Vec::new() };
    let ask = |change: &dyn Fn(&mut Value)| {
        let mut question = asked(std::slice::from_ref(&cloth), [1000, 40, 50, 300], &[false, true]);
        change(&mut question);
        solve("sheets", &question).err().unwrap_or_default()
    };
    assert_eq!(ask(&|_| {}), "");
    let refused = |change: &dyn Fn(&mut Value)| refused_for(&ask(change), &ENTRIES);
    for (field, entry, low, high, least, most) in [
        ("strip_mm", "Strip width", 4.999, 500.001, 5.0, 500.0),
        ("join_mm", "Join", -0.001, 500.001, 0.0, 500.0),
    ] {
        for wrong in [low, high] {
            assert_eq!(refused(&|q| q[field] = json!(wrong)), Some(entry), "{field} {wrong}");
        }
        for right in [least, most] {
            let change = |q: &mut Value| {
                q[field] = json!(right);
                q["least_mm"] = json!(500);
            };
            assert_eq!(refused(&change), None, "{field} {right}");
        }
    }
    for (field, entry, wrong, right) in [
        ("along_mm", "Sheet, along", 49.999, 50.0),
        ("across_mm", "Sheet, across", 49.999, 50.0),
        ("along_mm", "Sheet, along", 10_000.001, 10_000.0),
        ("across_mm", "Sheet, across", 10_000.001, 10_000.0),
        ("hem_mm", "Hem", -0.001, 0.0),
        ("hem_mm", "Hem", 500.001, 500.0),
        ("corners_mm", "Corners", 500.001, 500.0),
    ] {
        assert_eq!(refused(&|q| q["sheets"][0][field] = json!(wrong)), Some(entry), "{field} {wrong}");
        let change = |q: &mut Value| {
            q["sheets"][0]["hem_mm"] = json!(0);
            q["sheets"][0][field] = json!(right);
        };
        assert_eq!(refused(&change), None, "{field} {right}");
    }
    assert_eq!(refused(&|q| q["wanted_mm"] = json!(0.999)), Some("Wanted length"));
    assert_eq!(refused(&|q| q["least_mm"] = json!(10_001)), Some("Least piece"));
    for (count, entry) in [(0, Some("Sheets")), (120, None), (121, Some("Sheets"))] {
        assert_eq!(refused(&|q| q["sheets"][0]["count"] = json!(count)), entry, "{count} sheets");
    }
    assert_eq!(refused(&|q| q["ways"] = json!([])), Some("Ways to cut"));
    for (blocked, entry) in [
        ([[0, 2001], [0, 10]], "Blocked, to"),
        ([[0, 10], [0, 1001]], "Blocked, to"),
        ([[-1, 10], [0, 10]], "Blocked, from"),
        ([[10, 9], [0, 10]], "Blocked, to"),
        ([[0, 10], [10, 9]], "Blocked, to"),
    ] {
        let [along, across] = blocked;
        let stain = json!([{"along_mm": along, "across_mm": across}]);
        assert_eq!(refused(&|q| q["sheets"][0]["blocked"] = stain.clone()), Some(entry), "{blocked:?}");
    }
}
