//! The strip round the nails, by the coordinates of the points where it touches them; and which nails it takes, by trying.
use super::close;
use super::contact::{Asked, list, number, reckon_text, worked};
use proptest::prelude::*;
use serde_json::Value;
use std::f64::consts::TAU;

/// A nail: in the far row or not, and its place along the row, in inches.
type Nail = (bool, f64);

/// Half a nail of 0.1 in and half a bundle of 1½ in at 130 g/m², 3.5514 mm.
const RHO: f64 = 0.119_910_197;

fn told(asked: &Asked, more: &[&str]) -> Result<Value, String> {
    let mut flags = asked.flags();
    flags.extend(more.iter().map(ToString::to_string));
    flags.extend(["--show", "way", "--show", "worked", "--json"].map(str::to_owned));
    Ok(serde_json::from_str(&reckon_text(&flags)?).unwrap())
}

/// The way of a taut strip of no thickness over circles, from where it touches the first to where it touches the last;
/// and each straight stretch. A strip turns round a nail on the outer side of its bend; at its ends as a wound strip lies.
fn taut(nails: &[Nail], span: f64, rho: f64) -> (f64, Vec<f64>) {
    let at = |i: usize| (nails[i].1, if nails[i].0 { span } else { 0.0 });
    let left_turn = |i: usize| {
        let usual = !nails[i].0;
        if i == 0 || i + 1 == nails.len() {
            return usual;
        }
        let ((ax, ay), (bx, by), (cx, cy)) = (at(i - 1), at(i), at(i + 1));
        let bend = (bx - ax) * (cy - by) - (by - ay) * (cx - bx);
        if bend == 0.0 { usual } else { bend > 0.0 }
    };
    // Where the strip leaves one circle and meets the next, found by turning the radius until it is square to the strip.
    let touch = |i: usize, j: usize| {
        let ((ax, ay), (bx, by)) = (at(i), at(j));
        let (sa, sb) = (if left_turn(i) { 1.0 } else { -1.0 }, if left_turn(j) { 1.0 } else { -1.0 });
        // The strip keeps the centre on its left where it turns left: the touching point is at the right of the centre.
        let mut towards = (by - ay).atan2(bx - ax);
        for _ in 0..100 {
            let point =
                |x: f64, y: f64, side: f64| (x + rho * side * towards.sin(), y - rho * side * towards.cos());
            let ((px, py), (qx, qy)) = (point(ax, ay, sa), point(bx, by, sb));
            towards = (qy - py).atan2(qx - px);
        }
        let point =
            |x: f64, y: f64, side: f64| (x + rho * side * towards.sin(), y - rho * side * towards.cos());
        (point(ax, ay, sa), point(bx, by, sb))
    };
    let (mut whole, mut stretches, mut arrived) = (0.0, Vec::new(), None);
    for i in 0..nails.len() - 1 {
        let (leaves, meets) = touch(i, i + 1);
        if let Some((px, py)) = arrived {
            let (x, y) = at(i);
            let angle = |(px, py): (f64, f64)| f64::atan2(py - y, px - x);
            let turned = (angle(leaves) - angle((px, py))) * if left_turn(i) { 1.0 } else { -1.0 };
            let turned = turned.rem_euclid(TAU);
            whole += rho * if turned > TAU - 1e-6 { 0.0 } else { turned };
        }
        let straight = f64::hypot(meets.0 - leaves.0, meets.1 - leaves.1);
        stretches.push(straight);
        whole += straight;
        arrived = Some(meets);
    }
    (whole, stretches)
}

/// Nails as the program names them, with their places.
fn named(told: &Value, near: &[f64], far: &[f64]) -> Vec<Nail> {
    let nail = |name: &Value| {
        let (row, number) = name.as_str().unwrap().split_once(' ').unwrap();
        let number: usize = number.parse().unwrap();
        if row == "far" { (true, far[number - 1]) } else { (false, near[number - 1]) }
    };
    list(told, "/way/nails").iter().map(nail).collect()
}

fn compare(asked: &Asked, told: &Value, near: &[f64], far: &[f64]) {
    let nails = named(told, near, far);
    let (whole, stretches) = taut(&nails, asked.span, RHO);
    let inner = nails.len() as f64 - 2.0;
    let wraps = inner * TAU * RHO * f64::from(asked.wraps);
    let times = if asked.doubled { 2.0 } else { 1.0 };
    // A plain warp has its own closed form, with half a circle at each nail: within a thousandth. It is plain where the nails that
    // are taken lie opposite each other, whatever the others do.
    let taken = |row: bool| nails.iter().filter(move |nail| nail.0 == row).map(|nail| nail.1);
    let plain = taken(false).zip(taken(true)).all(|(one, other)| one == other);
    close(
        "warp path",
        number(told, "/warp/path_mm") / 25.4,
        times * (whole + wraps + 12.0),
        if plain { 2e-3 } else { 1e-7 },
    );
    let strands = list(told, "/way/strands_mm");
    assert_eq!(strands.len(), stretches.len());
    for (told, wanted) in strands.iter().zip(stretches) {
        close("a strand", told.as_f64().unwrap() / 25.4, wanted, 1e-6);
    }
    assert_eq!(number(told, "/warp/nails") as usize, nails.len());
    assert_eq!(number(told, "/warp/strands"), times * (nails.len() as f64 - 1.0));
}

/// Every choice of as many nails of the longer row as the strip can take, and its length.
fn shortest(longer: &[f64], other: &[f64], far_begins: bool, span: f64) -> f64 {
    let take = other.len() + 1;
    let mut best = f64::INFINITY;
    for mask in 0_u32..1 << longer.len() {
        if mask.count_ones() as usize != take {
            continue;
        }
        let taken = (0..longer.len()).filter(|i| mask >> i & 1 == 1).map(|i| longer[i]);
        let mut nails = Vec::new();
        for (i, place) in taken.enumerate() {
            nails.push((far_begins, place));
            nails.extend(other.get(i).map(|place| (!far_begins, *place)));
        }
        best = best.min(taut(&nails, span, RHO).0);
    }
    best
}

fn evenly(nails: u32, pitch: f64, from: f64) -> Vec<f64> {
    (0..nails).map(|i| from + f64::from(i) * pitch).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn a_set_off_row_is_wound_as_a_taut_strip_lies(
        near in 9_u32..16, far in 5_i32..9, by in prop::option::of(-40_i32..40), span in 6.0..40.0_f64, doubled: bool, wraps in 0_u32..4,
    ) {
        let pitch = 0.5;
        let far = (near as i32 + far - 6) as u32;
        let asked = Asked {
            span: (span * 64.0).round() / 64.0, width: f64::from(near - 1) * pitch, nails: near, doubled, wraps, ..Asked::small()
        };
        let set_off = by.map(|by| format!("{} in", f64::from(by) / 64.0));
        let mut more = vec!["--far-nails".to_owned(), far.to_string()];
        more.extend(set_off.into_iter().flat_map(|by| ["--set-off".to_owned(), by]));
        let told = told(&asked, &more.iter().map(String::as_str).collect::<Vec<_>>()).unwrap();
        // Not measured, the rows are centred on each other.
        let by = by.map_or((f64::from(near) - f64::from(far)) * pitch / 2.0, |by| f64::from(by) / 64.0);
        let (near, far) = (evenly(near, pitch, 0.0), evenly(far, pitch, by));
        compare(&asked, &told, &near, &far);
        let nails = named(&told, &near, &far);
        prop_assert!(nails.windows(2).all(|pair| pair[0].0 != pair[1].0), "from row to row");
        let far_begins = far.len() > near.len();
        prop_assert_eq!(nails[0].0, far_begins);
        let (longer, other) = if far_begins { (&far, &near) } else { (&near, &far) };
        let idle = (longer.len() - other.len()).saturating_sub(1);
        prop_assert_eq!(list(&told, "/way/empty").len(), idle);
        prop_assert_eq!(number(&told, "/warp/empty_nails") as usize, idle);
        prop_assert_eq!(nails.len() + idle, near.len() + far.len());
        if idle > 0 {
            // By least squares of the steps, which is the shortest while the steps are small.
            close("the shortest choice", taut(&nails, asked.span, RHO).0, shortest(longer, other, far_begins, asked.span), 2e-3);
        }
    }

    #[test]
    fn measured_nails_are_wound_where_they_stand(
        steps in prop::collection::vec((20_u32..60, 20_u32..60), 6..14), every in 1_u32..4, left_out in 1_usize..7, far: bool,
    ) {
        let places = |one: fn(&(u32, u32)) -> u32| {
            let mut at = 0.0;
            let place = |step: &(u32, u32)| { at += f64::from(one(step)) / 64.0; at };
            steps.iter().map(place).collect::<Vec<f64>>()
        };
        let (near, far_row) = (places(|step| step.0), places(|step| step.1));
        let width = near.last().unwrap().max(*far_row.last().unwrap());
        let asked = Asked { width: width.max(4.0), nails: near.len() as u32, every, ..Asked::small() };
        let text = |row: &[f64]| row.iter().map(|place| format!("{place} in")).collect::<Vec<_>>().join("; ");
        let out = format!("{} {left_out}", if far { "far" } else { "near" });
        let more = ["--near-places", &text(&near), "--far-places", &text(&far_row), "--leave-out", &out];
        let told = match told(&asked, &more) {
            Ok(told) => told,
            Err(why) => {
                prop_assert!(why.contains("two of each") || why.contains("nails, each"), "{why}");
                return Ok(());
            }
        };
        compare(&asked, &told, &near, &far_row);
        // Every second (or third …) nail of each row from the first on, except the one left out.
        let kept = |row: &[f64], here: bool| -> Vec<f64> {
            let every = (0..row.len()).step_by(every as usize);
            every.filter(|i| !(here && i + 1 == left_out)).map(|i| row[i]).collect()
        };
        let nails = named(&told, &near, &far_row);
        for (is_far, row) in [(false, kept(&near, !far)), (true, kept(&far_row, far))] {
            let taken: Vec<f64> = nails.iter().filter(|nail| nail.0 == is_far).map(|nail| nail.1).collect();
            prop_assert_eq!(taken, row);
        }
    }
}

/// By hand: a rug of part of the width takes the middle nails, as many to the left as to the right, or one fewer.
#[test]
fn a_narrower_rug_is_wound_in_the_middle() {
    for (rug, first, last) in [
        (18.0, 1, 33),
        (17.9, 1, 33),
        (17.4375, 1, 32),
        (9.0, 9, 25),
        (9.25, 9, 25),
        (9.5625, 8, 25),
        (2.0, 15, 19),
    ] {
        let asked = Asked { rug_width: Some(rug), ..Asked::small() };
        let told = told(&asked, &[]).unwrap();
        let nails = list(&told, "/way/nails");
        assert_eq!(
            (nails[0].as_str(), nails[1].as_str()),
            (Some(format!("near {first}").as_str()), Some(format!("far {first}").as_str())),
            "{rug} in"
        );
        assert_eq!(nails[nails.len() - 1], format!("far {last}"), "{rug} in");
        let key = worked(&told);
        assert_eq!(key["warp.nails"]["result"]["value"].as_f64(), Some(f64::from(last - first + 1)));
    }
}

/// A nail of hardly any thickness: straight lines from nail to nail. Three times as large, three times as long.
#[test]
fn thin_nails_are_wound_in_straight_lines() {
    let asked = Asked { span: 20.0, width: 10.0, nails: 11, nail: Some(0.02), ..Asked::small() };
    let told = told(&asked, &[]).unwrap();
    let straight = 11.0 * 20.0 + 10.0 * 20.0_f64.hypot(1.0);
    let path = number(&told, "/warp/path_mm") / 25.4 - 12.0;
    // 20 turns of half a circle: half a nail of 0.02 in and half the strip's bundle.
    close("the path", path, straight + 20.0 * std::f64::consts::PI * (RHO - 0.04), 1e-4);
}
