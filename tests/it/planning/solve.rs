//! The `solve` command: JSON in, JSON out, and what it says of bad input.
use clap::Parser;
use serde_json::{Value, json};
use std::io::Write;
use thrumhall::cli::reckon::BadInput;
use thrumhall::cli::solve::{SolveArgs, run};

use crate::support::named::assert_names;

#[derive(Parser)]
struct Line {
    #[command(flatten)]
    args: SolveArgs,
}

fn ask(what: &str, asked: &str) -> anyhow::Result<Value> {
    let mut file = tempfile::NamedTempFile::new()?;
    file.write_all(asked.as_bytes())?;
    let args = Line::try_parse_from(["solve", what, file.path().to_str().unwrap()])?.args;
    let mut out = Vec::new();
    run(&args, &mut out)?;
    Ok(serde_json::from_slice(&out)?)
}

/// An answer of several lines.
fn lines(what: &str, asked: &Value) -> Vec<Value> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(asked.to_string().as_bytes()).unwrap();
    let args = Line::try_parse_from(["solve", what, file.path().to_str().unwrap()]).unwrap().args;
    let mut out = Vec::new();
    run(&args, &mut out).unwrap_or_else(|e| panic!("{e:#}"));
    String::from_utf8(out).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

fn solve(what: &str, asked: &Value) -> Value {
    ask(what, &asked.to_string()).unwrap_or_else(|e| panic!("{e:#}"))
}

fn refused(what: &str, asked: &str) -> String {
    ask(what, asked).unwrap_err().downcast::<BadInput>().unwrap().to_string()
}

/// Source: V. Chvátal, Linear Programming, 1983, chapter 13 (from memory); solved again independently.
#[test]
fn cutting_names_each_bar() {
    let piece = |length: f64, count: u32| json!({"length_mm": length, "count": count});
    let told = solve(
        "cutting",
        &json!({
            "stock": [{"id": "raw", "length_mm": 100, "count": 500}],
            "pieces": [piece(45.0, 97), piece(36.0, 610), piece(31.0, 395), piece(14.0, 211)],
            "kerf_mm": 0,
        }),
    );
    assert_eq!((&told["used"], &told["bound"]), (&json!(453), &json!(453)));
    let bars = told["bars"].as_array().unwrap();
    assert_eq!(bars.len(), 453);
    assert!(bars.iter().all(|bar| bar["stock"] == "raw"));
    let cut: usize = bars.iter().map(|bar| bar["cuts_mm"].as_array().unwrap().len()).sum();
    assert_eq!(cut, 97 + 610 + 395 + 211);
}

#[test]
fn cutting_works_to_a_thousandth_of_a_millimetre() {
    let used = |piece: f64| {
        let stock = json!([{"id": 7, "length_mm": 100.002}]);
        let told = solve("cutting", &json!({"stock": stock, "pieces": [{"length_mm": piece, "count": 2}]}));
        assert_eq!(told["bars"][0]["stock"], 7);
        assert_eq!(told["bars"][0]["cuts_mm"][0], piece);
        told["used"].clone()
    };
    assert_eq!((used(50.001), used(50.002)), (json!(1), json!(2)));
}

#[test]
fn input_that_can_not_be_used_is_told() {
    let told = refused("cutting", r#"{"stock": [{"id": "a", "length_mm": 5, "count": -1}], "pieces": []}"#);
    assert!(told.starts_with("cutting: ") && told.contains("invalid value: integer `-1`"), "{told}");
    let told = refused("cutting", r#"{"stock": [], "pieces": [], "saw": 3}"#);
    assert!(told.contains("unknown field `saw`"), "{told}");
    let told = refused("cutting", r#"{"stock": [{"id": "a", "length_mm": 1e99}], "pieces": []}"#);
    assert_names(&told, &["cutting", "10000000 mm"]);
    let told = refused(
        "cutting",
        r#"{"stock": [{"id": "a", "length_mm": 1, "count": 1}], "pieces": [{"length_mm": 2, "count": 1}]}"#,
    );
    assert_names(&told, &["cutting", "2 mm", "1 mm"]);
    assert!(refused("panels", "").contains("EOF"));
    let missing = Line::try_parse_from(["solve", "rods", "/no/such/file"]).unwrap().args;
    let told = run(&missing, &mut Vec::new()).unwrap_err();
    assert!(told.downcast::<BadInput>().unwrap().why.starts_with("/no/such/file can't be read"));
}

#[test]
fn rods_sheets_panels_and_frame_answer() {
    let rods = solve("rods", &json!({"rods": [{"span_mm": 838.2, "count": 3}]}));
    assert_eq!(rods["buy"], json!([{"length_mm": 1828.8, "count": 3}]));
    let sheet = json!({"id": "B1", "along_mm": 2000, "across_mm": 1000, "hem_mm": 20});
    let sheets =
        solve("sheets", &json!({"sheets": [sheet], "wanted_mm": 9000, "strip_mm": 40, "draw": true}));
    assert_eq!((&sheets["joins"], &sheets["proven"]), (&json!(0), &json!(true)));
    assert_eq!(sheets["cut"][0]["way"], "continuous");
    assert!(sheets["cut"][0]["svg"].as_str().unwrap().starts_with("<svg"));
    let size = json!({"id": "small", "width_mm": 450, "length_mm": 800});
    let wanted = json!({"width_mm": 900, "length_mm": 800});
    let panels = solve("panels", &json!({"wanted": wanted, "sizes": [size], "tolerance_mm": 10}));
    assert_eq!((panels["panels"].as_array().unwrap().len(), &panels["seam_mm"]), (2, &json!(800)));
    let frame = solve("frame", &json!({"width_mm": 457.2, "span_mm": 838.2}));
    assert_eq!((&frame["nails"], &frame["rod_mm"]), (&json!(66), &json!(914.4)));
}

#[test]
fn share_out_says_who_gets_what() {
    let bundle = |id: &str, grams: i64, light: f64| json!({"id": id, "grams": grams, "lab": [light, 0, 0], "warp_worthy": true});
    let need = |id: i64, grams: i64, light: f64| json!({"id": id, "grams": grams, "lab": [light, 0, 0], "warp": true});
    let mut asked = json!({
        "max_bundles_per_need": 2,
        "bundles": [bundle("B1", 500, 90.0), bundle("B2", 300, 20.0)],
        "needs": [need(1, 300, 90.0), need(2, 400, 20.0)],
        "seconds": 0.2,
    });
    let told = solve("share-out", &asked);
    let mut assign: Vec<String> = (told["assign"].as_array().unwrap().iter())
        .map(|one| format!("{} {} {}", one["need"], one["bundle"], one["grams"]))
        .collect();
    assign.sort();
    assert_eq!(assign, ["1 \"B1\" 300", "2 \"B1\" 100", "2 \"B2\" 300"]);
    assert_eq!(told["unmet"], json!([]));
    // Three pairs, and 100 g that are off by the CIEDE2000 of those two greys.
    assert!(
        (told["cost"].as_f64().unwrap() - 60.0).abs() < 70.0
            && told["bound"].as_f64() <= told["cost"].as_f64()
    );
    assert!(told["gap"].is_number() && told["milliseconds"].is_u64());
    asked["weights"] = json!({"unmet_gram": 0.0});
    assert_eq!(
        solve("share-out", &asked)["unmet"],
        json!([{"need": 1, "grams": 300}, {"need": 2, "grams": 400}])
    );
    asked["max_bundles_per_need"] = json!(0);
    assert_names(&refused("share-out", &asked.to_string()), &["1", "99"]);
}

/// Common practice, no source: 33 nails per end on a 33 in span take 2·33·33 = 2178 in, 55 321.2 mm.
#[test]
fn many_rugs_are_planned_at_once_with_the_flags_of_reckon() {
    let small = json!({"span": "33 in", "width": "18 in", "nails": 33});
    let narrow = json!({"span": "838.2 mm", "width": "45.72 cm", "nails": "33", "strip": "1 in", "kind": "denim", "json": true, "pitch": null});
    let told = lines("rugs", &json!({"rugs": [small, narrow]}));
    assert_eq!(told.len(), 2);
    for plan in &told {
        assert_eq!(plan["warp"]["rule_of_thumb_mm"], 55_321.2);
        assert_eq!(plan["warp"]["strands"], 65);
    }
    assert_ne!(told[0]["cloth"], told[1]["cloth"]);
    assert!(lines("rugs", &json!({"rugs": []})).is_empty());
    let told = refused(
        "rugs",
        r#"{"rugs": [{"span": "33 in", "width": "18 in", "nails": 33}, {"span": "33 in", "width": "18 in", "nails": 1}]}"#,
    );
    assert_names(&told, &["rugs", "rug 2", "3", "600"]);
    let told = refused("rugs", r#"{"rugs": [{"colour": "blue"}]}"#);
    assert!(told.contains("--colour"), "{told}");
}

/// Source: Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21–30, Table 1, first pair.
#[test]
fn colours_and_areal_masses_answer() {
    let pair = json!({"one": [50.0, 2.6772, -79.7751], "other": [50.0, 0.0, -82.7485]});
    let told = solve("colours", &json!({"pairs": [pair]}));
    assert!((told["differences"][0].as_f64().unwrap() - 2.0425).abs() < 0.00005, "{told}");
    let bundle = json!({"mass_g": 1.3, "sheets": 1, "length_mm": 100, "width_mm": 100, "scale_g": 0.001, "tape_mm": 0.5});
    let told = lines("areal", &json!({"bundles": [bundle]}));
    assert!((told[0]["gsm"].as_f64().unwrap() - 130.0).abs() < 1e-9, "{told:?}");
    assert!(told[0]["low_gsm"].as_f64() < Some(130.0) && told[0]["high_gsm"].as_f64() > Some(130.0));
    let told =
        refused("areal", r#"{"bundles": [{"mass_g": -1, "sheets": 1, "length_mm": 100, "width_mm": 100}]}"#);
    assert_names(&told, &["areal", "bundle 1", "-1 g", "0", "1000000 g"]);
}

#[test]
fn pace_learns_from_finished_rugs_and_the_log() {
    let rug = json!({"weaver": "Ana", "span_mm": 838.2, "width_mm": 457.2, "nails": 33});
    let bare = solve("pace", &json!({"rug": rug, "room_minutes": [0, 390, 5000]}));
    assert_eq!((&bare["learnt"], &bare["timed"]["twists"]), (&json!([]), &json!(0.0)));
    let chances: Vec<f64> = bare["chances"].as_array().unwrap().iter().map(|c| c.as_f64().unwrap()).collect();
    assert!(chances[0] < 1e-9 && (0.4..0.6).contains(&chances[1]) && chances[2] > 0.99, "{chances:?}");
    let mut done = rug.clone();
    for (key, value) in [("rows", 140.0), ("woven_mm", 812.8), ("weft_g", 850.0), ("weave_minutes", 500.0)] {
        done[key] = if key == "rows" { json!(140) } else { json!(value) };
    }
    let log = json!([{"rows": 20, "minutes": 120}]);
    let told = solve("pace", &json!({"rug": rug, "finished": [done], "log": log, "room_minutes": [390]}));
    let figures: Vec<&str> =
        told["learnt"].as_array().unwrap().iter().map(|figure| figure["figure"].as_str().unwrap()).collect();
    assert_eq!(figures, ["rows", "grams", "weaving"]);
    assert!(told["learnt"][0]["ratio"].as_f64().unwrap() > 1.0);
    assert_eq!(told["learnt"][0]["weaver"], 1);
    let number = |path: &str| told.pointer(path).unwrap().as_f64().unwrap();
    assert!(number("/pace/twists_per_minute/median") < number("/prior/twists_per_minute/median"));
    assert!(number("/pace/shape") - number("/prior/shape") - number("/timed/twists") / 160.0 < 1e-9);
    assert!(number("/chances/0") < chances[1]);
    let told = refused("pace", r#"{"rug": {"weaver": "A", "span_mm": 1, "width_mm": 457, "nails": 33}}"#);
    assert!(told.starts_with("pace: Span: "), "{told}");
    let told = refused(
        "pace",
        r#"{"rug": {"weaver": "A", "span_mm": 838, "width_mm": 457, "nails": 33}, "room_minutes": [-1]}"#,
    );
    assert_names(&told, &["pace", "-1 min", "0", "60000 min"]);
}
