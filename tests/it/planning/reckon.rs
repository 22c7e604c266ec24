//! The `reckon` command on the small frame and on bad input.
use clap::Parser;
use serde_json::Value;
use thrumhall::cli::reckon::{BadInput, ReckonArgs, run};

use crate::support::named::assert_names;

#[derive(Parser)]
struct Line {
    #[command(flatten)]
    args: ReckonArgs,
}

fn reckon(line: &[&str]) -> anyhow::Result<String> {
    let args = Line::try_parse_from([&["reckon"], line].concat())?.args;
    let mut out = Vec::new();
    run(&args, &mut out)?;
    Ok(String::from_utf8(out)?)
}

const SMALL: [&str; 6] = ["--span", "33 in", "--width", "18 in", "--nails", "33"];

/// Common practice, no source: see the checks of warp and plan.
#[test]
fn the_small_frame_as_json() {
    let told = reckon(&[&SMALL[..], &["--json"]].concat()).unwrap();
    let plan: Value = serde_json::from_str(&told).unwrap();
    let number =
        |path: &str| plan.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("{path} in {told}"));
    assert_eq!(plan["warp"]["strands"], 65);
    assert_eq!(plan["weft"]["rows"], 128);
    assert!((number("/warp/rule_of_thumb_mm") - 55_321.2).abs() < 1e-9);
    // As the closed form has it by hand, see `plan`; 8 in more than with a warp of 0.06 in.
    assert!((number("/warp/path_mm") / (2_181.206_1 * 25.4) - 1.0).abs() < 0.002);
    // The strip gives a little, so that the ball to take is about the path, and more than what is expected.
    assert!((number("/warp/take_mm") / number("/warp/path_mm") - 1.0).abs() < 0.02);
    assert!(number("/warp/take_mm") > number("/warp/length_mm/expected"));
    assert!((5.1..=6.9).contains(&(number("/minutes/weave") / 60.0)));
    assert!((0.75..=1.25).contains(&(number("/minutes/prepare") / 60.0)));
    assert!(number("/minutes/finish") > 0.0);
    for range in ["/weft/length_mm", "/cloth/mass_g"] {
        let [low, expected, take] = ["low", "expected", "take"].map(|end| number(&format!("{range}/{end}")));
        assert!(0.0 < low && low < expected && expected < take);
    }
}

#[test]
fn the_small_frame_as_a_table() {
    let told = reckon(&SMALL).unwrap();
    assert!(told.starts_with("Rug of 18 in × 32 in: 65 warp strands, 128 rows\n"), "{told}");
    assert!(told.contains("rule of thumb 60.5 yd") && told.contains("take"), "{told}");
    let metric = reckon(&[&SMALL[..], &["--units", "metric"]].concat()).unwrap();
    assert!(
        metric.contains("Rug of 45.7 cm × 81.3 cm") && metric.contains("rule of thumb 55.3 m"),
        "{metric}"
    );
}

#[test]
fn a_given_pitch_is_taken() {
    let spread = reckon(&[&SMALL[..], &["--json"]].concat()).unwrap();
    assert_eq!(reckon(&[&SMALL[..], &["--pitch", "9/16 in", "--json"]].concat()).unwrap(), spread);
    assert_ne!(reckon(&[&SMALL[..], &["--pitch", "1/2 in", "--json"]].concat()).unwrap(), spread);
}

#[test]
fn any_rug_can_be_asked_for() {
    let flags = [
        "--band",
        "1 in: grey, 3/4 in strips",
        "--band",
        "30 in: cream/rust",
        "--band",
        "1 in: grey, 3/4 in strips",
        "--leave-out",
        "near 12",
        "--from",
        "both-ends",
        "--unit",
        "2",
        "--fringe",
        "3 in",
        "--backing",
        "1 in",
        "--sample",
        "4 in, 17 rows, 98 g",
        "--warp-kind",
        "sateen",
        "--warp-gsm",
        "140",
        "--rugs-before",
        "2",
        "--strips",
        "30 x 90 in, 8 x 66 in",
        "--show",
        "way",
        "--show",
        "reading",
        "--show",
        "worked",
    ];
    let line = [&SMALL[..], &flags, &["--json"]].concat();
    let plan: Value = serde_json::from_str(&reckon(&line).unwrap()).unwrap();
    assert_eq!((&plan["warp"]["strands"], &plan["warp"]["nails"]), (&64.into(), &65.into()));
    assert_eq!(plan["way"]["nails"][0], "far 1");
    assert_eq!(plan["way"]["strands_mm"].as_array().unwrap().len(), 64);
    assert_eq!(plan["weft"]["colours"].as_array().unwrap().len(), 3);
    assert!(plan["halves_match"].is_boolean());
    assert_eq!(plan["reading"].as_array().unwrap().last().unwrap()["from_far_end"], true);
    assert!(plan["worked"].as_array().unwrap().len() > 30);
    assert!(plan["ball"]["left_over_mm"].as_f64().unwrap() > 0.0);
    assert!(plan["finishing"]["fringe_mm"]["expected"].as_f64().unwrap() > 0.0);
    let told = reckon(&[&SMALL[..], &flags].concat()).unwrap();
    for said in [
        "Weft, grey in strips of 3/4 in: take",
        "From the strips there are: 25 strips, 24 joins,",
        "Woven from both ends:",
        "    1  far 1     to near 1    33 in",
        "rows 1–6: grey/grey, strips of 3/4 in; to 1 in",
        "Warp path = ",
        "(measured)",
    ] {
        assert!(told.contains(said), "no “{said}” in {told}");
    }
}

#[test]
fn bad_input_is_named_with_its_flag() {
    let told = |flag: &str, value: &str| {
        let mut line: Vec<&str> = SMALL.to_vec();
        match line.iter().position(|arg| *arg == flag) {
            Some(at) => line[at + 1] = value,
            None => line.extend([flag, value]),
        }
        let error = reckon(&line).unwrap_err();
        assert!(error.downcast_ref::<BadInput>().is_some(), "{error:?}");
        error.to_string()
    };
    assert_eq!(told("--span", "1 mile").split(": ").next(), Some("--span"));
    let cases: &[(&str, &str, &[&str])] = &[
        ("--span", "1760 yd", &["Span", "63360 in", "4 in", "144 in"]),
        ("--width", "-18 in", &["Width", "-18 in", "zero", "4 in", "144 in"]),
        ("--width", "0", &["Width", "zero", "4 in", "144 in"]),
        ("--nails", "many", &["--nails", "many", "3", "600"]),
        ("--strip", "9 in", &["9 in", "1/4 in", "6 in"]),
        ("--rug-width", "20 in", &["20 in", "2 in", "18 in"]),
    ];
    for (flag, value, values) in cases {
        assert_names(&told(flag, value), values);
    }
    assert!(told("--kind", "silk").contains("percale"));
    assert!(told("--pitch", "1,125 in").contains("two ways"));
    assert!(told("--leave-out", "near 99").contains("There is no nail “near 99”: that row has 33."));
    assert!(told("--leave-out", "bent").starts_with("--leave-out: “bent” names no nail"));
    assert!(told("--band", "12 in").contains("isn't a height, a colon and colours"));
    assert!(told("--band", "12 in: cream/").contains("names no colour"));
    assert!(told("--sample", "4 in").contains("4 in, 17 rows, 98 g"));
    assert!(told("--strips", "many").contains("20 x 90 in"));
    assert_eq!(BadInput::EXIT_CODE, 2);
}

/// By hand: both rods of 36 in from a bar of 72 in; 16 × 30 in of a piece of 24 × 60 in, a third.
#[test]
fn what_a_rug_costs_is_told_where_prices_are_given() {
    let prices = [
        "--backing",
        "1 in",
        "--warp-yarn",
        "125 m, 200 g",
        "--rod-price",
        "4,50, 72 in",
        "--liner-price",
        "12, 24 in x 60 in",
        "--thread-price",
        "2.50, 100 m",
        "--yarn-price",
        "9, 500 g",
    ];
    let free: Value = serde_json::from_str(&reckon(&[&SMALL[..], &["--json"]].concat()).unwrap()).unwrap();
    assert!(free.get("cost").is_none(), "no price, no cost");
    let line = [&SMALL[..], &prices, &["--json"]].concat();
    let plan: Value = serde_json::from_str(&reckon(&line).unwrap()).unwrap();
    let cost = |key: &str| plan["cost"][key].as_f64().unwrap();
    assert_eq!((cost("rods"), cost("liner")), (4.5, 4.0));
    let yarn = plan["warp"]["yarn"]["mass_g"]["take"].as_f64().unwrap();
    assert!((cost("yarn") - yarn / 500.0 * 9.0).abs() <= 0.005, "{}", cost("yarn"));
    let thread = plan["finishing"]["thread_mm"]["take"].as_f64().unwrap();
    assert!((cost("thread") - thread / 100_000.0 * 2.5).abs() <= 0.005, "{}", cost("thread"));
    let sum: f64 = ["rods", "liner", "thread", "yarn"].map(cost).iter().sum();
    assert!((cost("total") - sum).abs() < 1e-9);
    let table = reckon(&[&SMALL[..], &prices].concat()).unwrap();
    assert!(table.contains("Cost: Edge rods 4.50, Non-slip liner 4.00,"), "{table}");
    for (flag, typed, why) in [
        ("--rod-price", "4.50", "isn't a price and for how much it is"),
        ("--rod-price", "much, 72 in", "isn't an amount such as 4.50"),
        ("--rod-price", "4.50, 0 in", "--rod-price"),
        ("--liner-price", "12, 24 in", "isn't a width and a length"),
        ("--yarn-price", "9, 3 in", "--yarn-price"),
    ] {
        let refused = reckon(&[&SMALL[..], &[flag, typed]].concat()).unwrap_err().to_string();
        assert!(refused.contains(why), "{flag} {typed}: {refused}");
    }
}

/// By hand: rows from the first are `.xx.`, twice; two pairs of units alike beside each other within it, and where it repeats one more.
#[test]
fn a_chart_is_read_woven_and_told() {
    let frame =
        ["--span", "6", "--width", "4", "--nails", "4", "--band", "2 in: cream/navy", "--show", "face"];
    let json =
        [&frame[..], &["--show", "reading", "--chart", "1: .xx./x..x, 1 right, 1 up", "--json"]].concat();
    let plan: Value = serde_json::from_str(&reckon(&json).unwrap()).unwrap();
    // Up by a row the lower line is the second row; to the right by a unit `.xx.` is `..xx`, and `x..x` is `xx..`.
    let front = plan["face"]["front"].as_array().unwrap();
    assert_eq!((&front[7], &front[6]), (&"AABB".into(), &"BBAA".into()));
    assert_eq!(plan["face"]["back"][7], "AABB", "the other strand behind, left for right");
    assert_eq!(plan["reading"][0]["across"][0], serde_json::json!({ "units": 2, "strand": 0 }));
    assert!(plan["weft"]["extra_turns"].as_u64().unwrap() >= 14, "two in each row");
    assert!(plan["weft"]["extra_turn_mm"].as_f64().unwrap() > 1.0);
    let table = reckon(&[&frame[..], &["--show", "reading", "--chart", "1: xx../..xx"]].concat()).unwrap();
    assert!(table.contains("By the charts the strands turn"), "{table}");
    assert!(table.contains("row 1: cream/navy, from the left 2\u{a0}cream, 2\u{a0}navy"), "{table}");
    for (chart, says) in [
        ("xx", "isn't a band's number"),
        ("2: xx", "names no band: there are 1"),
        ("1: xo", "has “o”"),
        ("1: x./x", "Line 2 of the chart is 1 units wide"),
        ("1: x., 3 left", "doesn't say how far"),
        ("1:", "The chart is empty"),
    ] {
        let refused = reckon(&[&frame[..], &["--chart", chart]].concat()).unwrap_err().to_string();
        assert!(refused.starts_with("--chart:") && refused.contains(says), "{chart}: {refused}");
    }
}
