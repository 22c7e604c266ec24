//! Designs: what they take is there, they differ, they keep the wishes; and what stands in the way of any is told.
use std::collections::BTreeMap;

use serde_json::{Value, json};
use thrumhall::optimize::design::{DesignBand, UNLIKE, difference};
use thrumhall::planning::colour::{Hex, NAMED};
use thrumhall::units::Length;

use crate::support::solve::{bands, solve, solve_or_refuse};

/// A bundle of each named colour, from 600 g of the first to 2.9 kg of the last.
fn shelf() -> Vec<Value> {
    let bundle = |(at, named): (usize, &thrumhall::planning::colour::Named)| json!({"id": named.key, "kind": "percale", "colour": named.hex.to_string(), "grams": 600 + 100 * at});
    NAMED.iter().enumerate().map(bundle).collect()
}

fn ask(wishes: &Value, bundles: &[Value]) -> Value {
    json!({
        "frame": {"span_mm": 838.2, "width_mm": 457.2, "nails": 33},
        "strip_mm": 38.1,
        "wishes": wishes,
        "bundles": bundles,
        "count": 5,
    })
}

fn designs(answer: &Value) -> &Vec<Value> {
    answer["designs"].as_array().unwrap()
}

/// The colours of a design, each once.
fn colours(design: &Value) -> Vec<Hex> {
    let mut found: Vec<Hex> = bands(design).iter().flat_map(|band| band.colours).collect();
    found.sort_unstable();
    found.dedup();
    found
}

#[test]
fn five_designs_take_no_more_than_there_is_and_differ() {
    let shelf = shelf();
    let answer = solve("design", &ask(&json!({}), &shelf));
    assert_eq!(designs(&answer).len(), 5);
    for design in designs(&answer) {
        let mut taken: BTreeMap<&str, i64> = BTreeMap::new();
        for one in design["uses"].as_array().unwrap() {
            *taken.entry(one["bundle"].as_str().unwrap()).or_default() += one["grams"].as_i64().unwrap();
        }
        for (bundle, grams) in taken {
            let at = NAMED.iter().position(|named| named.key == bundle).unwrap();
            assert!(grams <= 600 + 100 * at as i64, "{bundle} gives {grams} g");
        }
        let height: Length = bands(design).iter().map(|band| band.height).sum();
        assert_eq!(height, Length::millimetres(838.2 - 25.4));
    }
    for (at, one) in designs(&answer).iter().enumerate() {
        for other in &designs(&answer)[..at] {
            assert!(difference(&bands(one), &bands(other)) >= UNLIKE, "{one} and {other}");
        }
    }
    assert_eq!(answer, solve("design", &ask(&json!({}), &shelf)), "the same question, the same answer");
}

#[test]
fn wishes_are_kept_where_the_shelf_can() {
    let shelf = shelf();
    let (navy, red) = (Hex::parse("#22305a").unwrap(), Hex::parse("#b9262d").unwrap());
    let wishes = json!({"colours": 3, "build_on": ["#22305a"], "avoid": ["#b9262d"], "symmetrical": true});
    let answer = solve("design", &ask(&wishes, &shelf));
    assert_eq!(designs(&answer).len(), 5);
    for design in designs(&answer) {
        let colours = colours(design);
        assert_eq!(colours.len(), 3);
        assert!(colours.contains(&navy), "{design}");
        assert!(colours.iter().all(|hex| hex.difference(red) >= 20.0), "{design}");
        let bands = bands(design);
        assert!(bands.iter().eq(bands.iter().rev()), "{design}");
        assert_eq!(design["misses"], json!([]));
    }
    let lightness = |mood: &str| {
        let answer = solve("design", &ask(&json!({"mood": mood}), &shelf));
        let all: Vec<DesignBand> = designs(&answer).iter().flat_map(bands).collect();
        let length: Length = all.iter().map(|band| band.height).sum();
        let light =
            |band: &DesignBand| band.colours.map(|hex| hex.lab().parts()[0]).iter().sum::<f64>() / 2.0;
        all.iter().map(|band| band.height.ratio(length) * light(band)).sum::<f64>()
    };
    assert!(lightness("light") > lightness("dark") + 25.0);
}

#[test]
fn a_colour_that_the_shelf_lacks_is_missed_and_said_so() {
    let shelf = &shelf()[..4];
    let answer = solve("design", &ask(&json!({"build_on": ["#00ff66"]}), shelf));
    assert!(!designs(&answer).is_empty());
    for design in designs(&answer) {
        assert_eq!(design["misses"], json!(["#00ff66"]));
    }
}

#[test]
fn what_is_lacking_is_told() {
    let none = solve("design", &ask(&json!({}), &[]));
    assert_eq!((designs(&none).len(), none["lacking"]["part"].as_str()), (0, Some("weft")));
    let jersey = [json!({"id": 1, "kind": "jersey", "colour": "#22305a", "grams": 9000})];
    let answer = solve("design", &ask(&json!({}), &jersey));
    assert_eq!((designs(&answer).len(), &answer["lacking"]["part"]), (0, &json!("warp")), "jersey stretches");
    // Enough in all, but not of a colour that a rug of one colour needs.
    let greys: Vec<Value> = (0..12)
        .map(|at| json!({"id": at, "kind": "percale", "colour": format!("#{:02x}0000", 20 * at), "grams": 450}))
        .collect();
    let answer = solve("design", &ask(&json!({"colours": 1}), &greys));
    assert!(designs(&answer).iter().all(|design| design["misses"] == json!(["colours"])), "{answer}");
}

#[test]
fn numbers_out_of_range_are_refused_by_name() {
    let with = |key: &str, value: Value| {
        let mut asked = ask(&json!({}), &shelf());
        asked[key] = value;
        solve_or_refuse("design", &asked).unwrap_err()
    };
    assert_eq!(with("count", json!(0)), "design: count: 0 is out of range: from 1 to 24 is allowed.");
    assert_eq!(
        with("max_bundles_per_need", json!(10)),
        "design: max_bundles_per_need: 10 is out of range: from 1 to 9 is allowed."
    );
    assert_eq!(
        with("wishes", json!({"mood": "sad"})),
        "design: mood: “sad” isn't a mood: calm, lively, light or dark is allowed."
    );
}
