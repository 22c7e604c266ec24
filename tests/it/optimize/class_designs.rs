//! Designs for a class: no cloth twice, as different as is said, and the bound on how many can be covered.
use std::collections::BTreeMap;

use serde_json::{Value, json};
use thrumhall::optimize::design::difference;
use thrumhall::planning::colour::{Hex, NAMED};
use thrumhall::planning::{Band, Frame, FrameSizes, Plan, RugSpec};
use thrumhall::units::{Length, Units};

use crate::support::solve::{Dice, bands, solve, solve_or_refuse};

fn ask(rugs: usize, bundles: &[Value], effort: u64) -> Value {
    let frame = json!({"span_mm": 838.2, "width_mm": 457.2, "nails": 33});
    let rugs: Vec<Value> = (0..rugs).map(|at| json!({"id": at, "frame": frame, "strip_mm": 38.1})).collect();
    json!({"rugs": rugs, "bundles": bundles, "effort": effort})
}

fn bundle(id: &str, colour: Hex, grams: usize) -> Value {
    json!({"id": id, "kind": "percale", "colour": colour.to_string(), "grams": grams})
}

#[test]
fn a_class_takes_nothing_twice_and_differs_as_it_says() {
    let shelf: Vec<Value> = NAMED.iter().map(|named| bundle(named.key, named.hex, 900)).collect();
    let asked = ask(8, &shelf, 4_000_000);
    let told = solve("class-designs", &asked);
    assert_eq!((&told["covered"], &told["at_most"]), (&json!(8), &json!(8)), "{told}");
    let designs: Vec<&Value> = told["rugs"].as_array().unwrap().iter().map(|rug| &rug["design"]).collect();
    let mut taken: BTreeMap<&str, i64> = BTreeMap::new();
    for one in designs.iter().flat_map(|design| design["uses"].as_array().unwrap()) {
        *taken.entry(one["bundle"].as_str().unwrap()).or_default() += one["grams"].as_i64().unwrap();
    }
    assert!(taken.values().all(|grams| *grams <= 900), "{taken:?}");
    let mut least = (f64::INFINITY, [0, 0]);
    for (at, one) in designs.iter().enumerate() {
        for (before, other) in designs[..at].iter().enumerate() {
            let apart = difference(&bands(other), &bands(one));
            if apart < least.0 {
                least = (apart, [before, at]);
            }
        }
    }
    assert!(
        (told["difference"].as_f64().unwrap() - least.0).abs() < 0.1,
        "{} is told of {least:?}",
        told["difference"]
    );
    assert_eq!(told["most_alike"], json!(least.1));
    assert!(least.0 > 14.0, "{least:?}");
    assert_eq!(told, solve("class-designs", &asked), "the same question, the same answer");
}

/// Grams of warp, and of weft in one colour with what a design of several may take more, of the rug that is asked for here.
fn needs() -> [i64; 2] {
    let sizes = FrameSizes {
        span: Length::millimetres(838.2),
        width: Length::millimetres(457.2),
        nails: 33,
        pitch: None,
        nail_diameter: None,
    };
    let plain = RugSpec::plain(Frame::new(sizes, Units::Metric).unwrap());
    let bands = vec![Band::plain(Length::millimetres(812.8), [0, 0])];
    let cloth = Plan::of(&RugSpec { bands, length: None, ..plain }, Units::Metric).unwrap().cloth;
    [cloth.warp.p90.grams().ceil() as i64, (cloth.weft.p90.grams() * 1.03).ceil() as i64]
}

/// What a part takes, and the set of bundles that serve it.
type Part = (i64, u32);

/// Whether some choice of so many rugs more can be served beside these parts.
fn any(parts: &[Part], left: usize, ways: &[[Part; 2]], served: &dyn Fn(&[Part]) -> bool) -> bool {
    let more = |at: usize| any(&[parts, &ways[at]].concat(), left - 1, &ways[at..], served);
    served(parts) && (left == 0 || (0..ways.len()).any(more))
}

/// The most rugs of one colour each that can be made: every choice of up to two bundles for each warp and one for each weft is tried.
fn most_of_one_colour(grams: &[i64], rugs: usize, [warp, weft]: [i64; 2]) -> usize {
    let pairs = (0..grams.len()).flat_map(|a| (a..grams.len()).map(move |b| 1_u32 << a | 1 << b));
    let pairs: Vec<u32> = pairs.collect();
    let ways: Vec<[Part; 2]> = pairs
        .iter()
        .flat_map(|&pair| (0..grams.len()).map(move |one| [(warp, pair), (weft, 1 << one)]))
        .collect();
    // Parts can be served when no set of them wants more than all bundles that serve any of it have.
    let served = |parts: &[Part]| {
        (1_u32..1 << parts.len()).all(|set| {
            let chosen = || parts.iter().enumerate().filter(|(at, _)| set >> at & 1 == 1);
            let serving = chosen().fold(0, |all, (_, (_, bundles))| all | bundles);
            let there: i64 = (0..grams.len()).filter(|at| serving >> at & 1 == 1).map(|at| grams[at]).sum();
            chosen().map(|(_, (grams, _))| grams).sum::<i64>() <= there
        })
    };
    (1..=rugs).take_while(|&count| any(&[], count, &ways, &served)).count()
}

#[test]
fn no_way_to_share_a_small_shelf_covers_more_than_the_bound_or_than_was_found() {
    let colours = ["#f1e7cf", "#22305a", "#b9262d", "#2f7d4f"].map(|hex| Hex::parse(hex).unwrap());
    let needs = needs();
    let mut dice = Dice(20);
    let (mut proven, mut by_hand) = (0, 0);
    for _ in 0..16 {
        let count = 2 + dice.below(3) as usize;
        let grams: Vec<i64> = (0..count).map(|_| 200 + i64::from(dice.below(1_400))).collect();
        let rugs = 2 + dice.below(2) as usize;
        let shelf: Vec<Value> = grams
            .iter()
            .zip(colours)
            .map(|(grams, hex)| bundle(&hex.to_string(), hex, *grams as usize))
            .collect();
        let told = solve("class-designs", &ask(rugs, &shelf, 2_000_000));
        let [covered, at_most] = ["covered", "at_most"].map(|key| told[key].as_u64().unwrap() as usize);
        let every = most_of_one_colour(&grams, rugs, needs);
        assert!(
            every <= covered && covered <= at_most,
            "{every}, {covered}, {at_most} of {rugs} with {grams:?}"
        );
        let without = told["rugs"].as_array().unwrap().iter().filter(|rug| rug["design"].is_null()).count();
        assert_eq!(without, rugs - covered);
        proven += usize::from(covered == at_most);
        by_hand += usize::from(every == at_most);
    }
    assert!(proven >= 14 && by_hand >= 5, "{proven} of 16 are proven, {by_hand} by rugs of one colour alone");
}

#[test]
fn what_cannot_be_asked_for_a_class_is_refused_by_name() {
    let white = bundle("white", NAMED[0].hex, 900);
    let refused = |asked: &Value| solve_or_refuse("class-designs", asked).unwrap_err();
    assert_eq!(
        refused(&ask(0, std::slice::from_ref(&white), 2_000_000)),
        "class-designs: rugs: 0 is out of range: from 1 to 40 is allowed."
    );
    let mut twice = ask(2, &[white], 2_000_000);
    twice["rugs"][1]["id"] = json!(0);
    assert_eq!(refused(&twice), "class-designs: There are two of rug 0: each needs an id of its own.");
}

#[test]
fn a_kept_band_is_in_every_design_where_it_was() {
    let shelf: Vec<Value> = NAMED.iter().map(|named| bundle(named.key, named.hex, 1_500)).collect();
    let kept = json!({"from_mm": 200, "height_mm": 150, "first": "#22305a", "other": "#22305a"});
    for symmetrical in [true, false] {
        let asked = json!({
            "frame": {"span_mm": 838.2, "width_mm": 457.2, "nails": 33},
            "strip_mm": 38.1,
            "wishes": {"keep": [kept], "symmetrical": symmetrical},
            "bundles": shelf,
        });
        let told = solve("design", &asked);
        let designs = told["designs"].as_array().unwrap();
        assert_eq!(designs.len(), 5, "{told}");
        for design in designs {
            let mut from = Length::ZERO;
            let mut found = Vec::new();
            for band in bands(design) {
                let navy = Hex::parse("#22305a").unwrap();
                if band.colours == [navy; 2] && band.height == Length::millimetres(150.0) {
                    found.push(from.mm());
                }
                from += band.height;
            }
            assert!(found.contains(&200.0), "{design}");
            // The rug is 812.8 mm long.
            assert_eq!(symmetrical, found.iter().any(|from| (from - 462.8).abs() < 1e-6), "{design}");
        }
    }
}
