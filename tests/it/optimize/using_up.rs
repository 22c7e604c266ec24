//! Rugs from rests: the order against every other, the bound, and bands by weight.
use serde_json::{Value, json};
use thrumhall::optimize::using_up::order::{EXACT, shortest};

use crate::support::solve::{Dice, solve, solve_or_refuse};

/// Points by chance on a line and off it, and their distances.
fn apart(dice: &mut Dice, n: usize) -> Vec<f64> {
    let points: Vec<[f64; 2]> = (0..n).map(|_| [0; 2].map(|_| f64::from(dice.below(1_000)))).collect();
    points.iter().flat_map(|a| points.iter().map(move |b| (a[0] - b[0]).hypot(a[1] - b[1]))).collect()
}

/// The shortest of all ways, by trying each.
fn least(apart: &[f64], n: usize, way: &mut Vec<usize>, so_far: f64, best: &mut f64) {
    if way.len() == n {
        *best = best.min(so_far);
    }
    for next in 0..n {
        if !way.contains(&next) {
            let step = way.last().map_or(0.0, |last| apart[last * n + next]);
            way.push(next);
            least(apart, n, way, so_far + step, best);
            way.pop();
        }
    }
}

#[test]
fn no_way_is_shorter_up_to_eight_points() {
    let mut dice = Dice(7);
    for n in 1..=8 {
        for _ in 0..5 {
            let apart = apart(&mut dice, n);
            let way = shortest(&apart, n, 1);
            let mut best = f64::INFINITY;
            least(&apart, n, &mut Vec::new(), 0.0, &mut best);
            assert!((way.length - best).abs() < 1e-9, "{n} points: {way:?}, not {best}");
            assert!((way.bound - way.length).abs() < 1e-12, "it is proven");
        }
    }
}

#[test]
fn many_points_have_a_way_near_their_bound() {
    let mut dice = Dice(11);
    for n in [EXACT + 1, 24, 40] {
        let apart = apart(&mut dice, n);
        let way = shortest(&apart, n, 1);
        let mut points = way.points.clone();
        points.sort_unstable();
        assert!(points.into_iter().eq(0..n), "every point once");
        assert!(way.bound <= way.length && way.length <= 1.05 * way.bound, "{n} points: {way:?}");
    }
}

fn ask(rests: &[(&str, f64)]) -> Value {
    let rests: Vec<Value> = (rests.iter().enumerate())
        .map(|(at, (colour, grams))| json!({"id": at, "colour": colour, "grams": grams}))
        .collect();
    json!({"frame": {"span_mm": 838.2, "width_mm": 457.2, "nails": 33}, "strip_mm": 38.1, "rests": rests})
}

#[test]
fn greys_run_from_light_to_dark_and_each_is_as_high_as_it_lasts() {
    let answer = solve("using-up", &ask(&[("#eeeeee", 90.0), ("#444444", 180.0), ("#999999", 135.0)]));
    let bands = answer["bands"].as_array().unwrap();
    let order: Vec<i64> = bands.iter().map(|band| band["rest"].as_i64().unwrap()).collect();
    assert_eq!(order, [0, 2, 1]);
    let height = |at: usize| bands[at]["height_mm"].as_f64().unwrap();
    assert!((height(2) / height(0) - 2.0).abs() < 0.25, "twice the weight, twice as high but for a row");
    for (band, grams) in bands.iter().zip([90.0, 135.0, 180.0]) {
        let take = band["need_g"]["take"].as_f64().unwrap();
        assert!(take <= grams && take > grams - 20.0, "{band}");
        assert!(band["ends_early"].as_f64().unwrap() <= 0.1, "{band}");
    }
    assert_eq!((bands[0]["goes_on"].as_i64(), bands[2]["goes_on"].as_i64()), (Some(2), Some(2)));
}

#[test]
fn what_finds_no_place_is_told() {
    let answer = solve(
        "using-up",
        &ask(&[("#eeeeee", 10.0), ("#444444", 900.0), ("#999999", 5_000.0), ("#224466", 6_000.0)]),
    );
    assert_eq!((&answer["too_little"], &answer["no_room"]), (&json!([0]), &json!([3])), "{answer}");
    assert_eq!(answer["cut_short"]["rest"], 2);
    let left = answer["cut_short"]["left_g"].as_f64().unwrap();
    let take = answer["bands"].as_array().unwrap().iter().find(|band| band["rest"] == 2).unwrap();
    assert!((left + take["need_g"]["take"].as_f64().unwrap() - 5_000.0).abs() < 1e-3, "{answer}");
    let refused = solve_or_refuse("using-up", &ask(&[("#eeeeee", 60.0)])).unwrap_err();
    assert!(refused.contains("a rug has 7.6 cm at least"), "{refused}");
}

#[test]
fn bands_at_the_expected_need_are_higher_and_surer_to_end_early() {
    let mut asked = ask(&[("#eeeeee", 300.0), ("#444444", 300.0)]);
    let sure = solve("using-up", &asked);
    asked["sure"] = json!("expected");
    let even = solve("using-up", &asked);
    assert!(even["length_mm"].as_f64().unwrap() > 1.1 * sure["length_mm"].as_f64().unwrap());
    let early = |answer: &Value| answer["bands"][0]["ends_early"].as_f64().unwrap();
    assert!(early(&sure) <= 0.1 && (0.3..=0.5).contains(&early(&even)), "{} {}", early(&sure), early(&even));
}
