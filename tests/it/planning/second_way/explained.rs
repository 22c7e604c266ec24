//! "How this was worked out": each shown formula, put to work on the shown inputs, gives the shown result; each input that
//! another number gives is that number; each figure says rightly where it is from.
use super::close;
use super::contact::{Asked, Stripe, reckon, try_reckon, worked};
use super::named::{figure, measured};
use super::plans::any_rug;
use proptest::prelude::*;
use serde_json::{Map, Value};
use std::collections::HashSet;
use std::f64::consts::PI;

/// A number of the program in inches, grams, g/m², minutes, or plain.
fn plain(quantity: &Value) -> f64 {
    let value = quantity["value"].as_f64().unwrap();
    match quantity["kind"].as_str().unwrap() {
        "length" => value / 25_400_000.0,
        "mass" => value / 1e3,
        _ => value,
    }
}

/// One shown derivation.
struct Shown<'a> {
    one: &'a Value,
    all: &'a Map<String, Value>,
}

impl Shown<'_> {
    fn key(&self) -> &str {
        self.one["key"].as_str().unwrap()
    }

    fn inputs(&self) -> &[Value] {
        self.one["inputs"].as_array().unwrap()
    }

    fn find(&self, name: &str) -> Option<f64> {
        let input = self.inputs().iter().find(|input| input["name"] == name);
        input.map(|input| plain(&input["value"]))
    }

    /// The input of that name; a factor that does nothing isn't shown.
    fn get(&self, name: &str) -> f64 {
        self.find(name).unwrap_or_else(|| panic!("{} has no input “{name}”: {}", self.key(), self.one))
    }

    fn factor(&self, name: &str) -> f64 {
        self.find(name).unwrap_or(1.0)
    }

    fn result(&self) -> f64 {
        plain(&self.one["result"])
    }

    fn other(&self, key: &str) -> Shown<'_> {
        Shown { one: &self.all[key], all: self.all }
    }
}

fn up(value: f64) -> f64 {
    (value - 1e-9).ceil()
}

/// Grams of strip: inches long, inches wide, g/m².
fn grams(length: f64, width: f64, gsm: f64) -> f64 {
    length * width * 0.0254 * 0.0254 * gsm
}

/// The result by the shown formula; nothing where the formula is of more than what is shown.
fn again(shown: &Shown, asked: &Asked) -> Option<f64> {
    let get = |name: &str| shown.get(name);
    let header = asked.bands.iter().any(|band| band.strip.is_some_and(|strip| strip != asked.strip));
    let sampled = asked.sample.is_some_and(|sample| sample.2.is_some());
    let (rpi, gsm, join) =
        ("rows to the inch", "mass per area of the weft cloth", "strip lost in a join, both ends together");
    let (sheet, warp_gsm) = ("length of a strip from a sheet", "mass per area of the warp cloth");
    Some(match shown.key() {
        "size.length" => shown.find("woven length").unwrap_or_else(|| get("span") - get("allowance")),
        "size.width" => get("width"),
        "frame.pitch" => shown.find("pitch").unwrap_or_else(|| get("width") / (get("nails per end") - 1.0)),
        "warp.nails" => match shown.find("pitch") {
            Some(pitch) => ((get("rug width") / pitch).round() + 1.0).min(get("nails per end of the frame")),
            None => return None,
        },
        "warp.strands" => match shown.find("nails per end") {
            Some(nails) => 2.0 * nails - 1.0,
            None => (get("nails taken of both rows") - 1.0) * if asked.doubled { 2.0 } else { 1.0 },
        },
        "warp.units" => up(get("strands") / get("strands in a unit")),
        "warp.path" if !asked.doubled && asked.wraps == 0 => {
            let rho = (get("nail diameter") + get("thickness of the strip")) / 2.0;
            let (strands, span, pitch) =
                (get("strands S"), get("span"), get("pitch") * f64::from(asked.every));
            let way = |d: f64| (d * d - 4.0 * rho * rho).sqrt();
            let slanting = (strands - 1.0) / 2.0;
            (strands - slanting) * way(span)
                + slanting * way(span.hypot(pitch))
                + (strands - 1.0) * PI * rho
                + 2.0 * get("tail for tying at each end of the warp")
        }
        "warp.path" => return None,
        "warp.rule_of_thumb" => {
            get("nails taken of both rows") * get("span") * if asked.doubled { 2.0 } else { 1.0 }
        }
        "warp.length" => get("path") / (1.0 + get("give of the warp strip under tension")),
        // The ball to take is the range's, so that its strips follow from `warp.length`'s take.
        "warp.strips" => up((get("ball to take") - get(join)) / (get(sheet) - get(join))).max(1.0),
        "warp.joins" => get("strips") - 1.0,
        "warp.left_over" => {
            get("strips") * get(sheet) - (get("strips") - 1.0) * get(join) - get("ball to take")
        }
        "weft.rows_per_inch" => match shown.find("strip width") {
            Some(strip) => get("rows per inch") * (1.5 * 130.0 / (strip * get(gsm))).sqrt(),
            None => get("rows per inch") * shown.factor("closer rows, which are lighter rows"),
        },
        "weft.rows" if header => return None,
        "weft.rows" => ((get("length") * get(rpi)) + 1e-9).round(),
        "warp.locking.near" | "warp.locking.far" => {
            let lacks = "strands that the first unit lacks, so that the fewest loops stay open";
            up((get("strands") + get(lacks)) / get("strands in a unit"))
        }
        "weft.twists" => {
            let far = get("rows as at the far end");
            (get("rows") - far) * get("crossings of a row as at the near end")
                + far * get("crossings of a row as at the far end")
                + get("units split at the nails")
        }
        "weft.take_up" => {
            let (unit, warp) = (get("width") / get("units"), get("thickness of the warp"));
            // mm² of cloth at half a gram per cubic centimetre, as the diameter of a circle, in inches.
            let thick = |strip: f64, gsm: f64| (4.0 / PI * gsm * strip * 0.0254 / 0.5).sqrt() / 25.4;
            let c = |p: f64, d: f64| (p * p + (PI * d / 2.0).powi(2)).sqrt() / p - 1.0;
            let usual = c(18.0 / 33.0, 2.0 * thick(1.5, 130.0));
            let own = c(unit, thick(get("strip width"), get(gsm)) + warp);
            get("weft take-up") * own / usual
        }
        "warp.thickness" => {
            let thick = (4.0 / PI * get(warp_gsm) * get("strip width") * 0.0254 / 0.5).sqrt() / 25.4;
            let packed =
                "thickness of bundles of strip, against cloth packed to half a gram per cubic centimetre";
            thick * get(packed)
        }
        "weft.strand" => match shown.find("take-up") {
            Some(take_up) => get("width") * (1.0 + take_up) + get("weft strip for a turn about the edge rod"),
            None => {
                let piece = get("length that weft is worked in");
                let packing = shown.factor("closer rows, which are lighter rows");
                let cut = get("weight of one row") / packing / grams(1.0, get("strip width"), get(gsm));
                cut / 2.0 * (piece - get(join)) / piece
            }
        },
        "weft.length" | "cloth.weft" if header => return None,
        "weft.length" => 2.0 * get("rows") * get("one strand, one row"),
        "weft.cut" => get("weft strip") + get("joins") * get(join),
        "weft.joins" => {
            // Each of two strands, or four where both ends are begun, has at most a piece more for each change.
            let pieces = get("weft strip") / (get("length that weft is worked in") - get(join));
            let (joins, runs) = (shown.result(), 4.0 * asked.stripes().len() as f64);
            assert!(joins <= pieces + runs && joins >= pieces - 4.0, "{joins} joins in {pieces} pieces");
            return None;
        }
        "cloth.warp" => {
            let joins = up((get("warp ball") - get(join)) / (get(sheet) - get(join))).max(1.0) - 1.0;
            grams(get("warp ball") + joins * get(join), get("strip width"), get(warp_gsm))
        }
        "cloth.weft" if sampled => {
            get("rows") * get("weight of one row") / shown.factor("closer rows, which are lighter rows")
        }
        "cloth.weft" => grams(get("weft strip to cut"), get("strip width"), get(gsm)),
        "cloth.fringe" => grams(get("fringe strip"), get("strip width"), get(gsm)),
        "cloth.total" => {
            get("warp cloth")
                + get("weft cloth")
                + if asked.fringe.is_some() { get("fringe cloth") } else { 0.0 }
        }
        "strips" => {
            let fringe = if asked.fringe.is_some() { shown.other("finish.fringe").result() } else { 0.0 };
            up(((get("warp ball") - get(join)) / (get(sheet) - get(join))).max(1.0))
                + up(get("weft strip to cut") / get(sheet))
                + up(fringe / get(sheet))
        }
        "minutes.weave" => weaving(shown),
        "minutes.cut" => get("strips") * get("cutting or tearing one strip") / 60.0,
        "minutes.ball" => {
            (get("warp joins, for the expected ball") * get("one join at the table")
                + get("warp ball") / 36.0 * get("winding one yard into a ball"))
                / 60.0
        }
        "minutes.wind_on" => get("nails taken of both rows") * get("winding on, for each nail") / 60.0,
        "minutes.take_off" => get("taking off and hiding the ends") / 60.0,
        "minutes.fringe" => get("fringe strips") * get("tying in one fringe strip") / 60.0,
        "minutes.backing" => get("backing edge") * get("slip stitching one inch") / 60.0,
        "minutes.prepare" | "minutes.finish" => {
            shown.inputs().iter().map(|input| plain(&input["value"])).sum()
        }
        "rods.least" => get("span") + 2.0 * get("overhang"),
        "rods.tie_every" => {
            let (d, bow) = (get("rod diameter") * 0.0254, get("bow allowed") * 0.0254);
            let inertia = PI * d.powi(4) / 64.0;
            (384.0 * 200e9 * inertia * bow / (5.0 * 9.0)).powf(0.25) / 0.0254
        }
        "rods.ties" => up(get("span") / get("distance")) - 1.0,
        "rods.bars" => up(2.0 / (get("bar") / get("shortest rod") + 1e-9).floor()),
        "finish.fringe_strips" => get("nails taken of both rows"),
        "finish.fringe" => get("fringe strips") * (2.0 * get("fringe") + get("strip lost in a fringe knot")),
        "finish.backing_edge" => {
            2.0 * (get("length") - 2.0 * get("margin") + get("width") - 2.0 * get("margin"))
        }
        "finished.length" => get("woven") * (1.0 - get("length lost off the frame and in the wash")),
        "finished.width" => get("woven") * (1.0 - get("width lost off the rods and in the wash")),
        "finish.thread" => {
            let sewn = get("edge") * get("slip-stitch thread for each length of edge");
            sewn + get("tail") * up(sewn / (get("length of a thread") - get("tail")))
        }
        key => return by_part(key, shown, asked),
    })
}

/// Bands, colours and steps, each with a number in its key.
fn by_part(key: &str, shown: &Shown, asked: &Asked) -> Option<f64> {
    let get = |name: &str| shown.get(name);
    let header = asked.bands.iter().any(|band| band.strip.is_some_and(|strip| strip != asked.strip));
    let words: Vec<&str> = key.split('.').collect();
    Some(match words[..] {
        ["band", _, "end"] => get("start") + get("height"),
        ["band", _, "rows"] if header => return None,
        ["band", _, "rows"] => {
            let rows = |place: f64| (place * get("rows to the inch") + 1e-9).round();
            rows(get("end")) - rows(get("start"))
        }
        ["weft", "colour", _, "length"] => {
            let strands = shown.result() / get("one strand, one row");
            assert!(header || (strands - strands.round()).abs() < 1e-4, "{strands} strands in {key}");
            return None;
        }
        ["weft", "colour", _, "joins"] => {
            let pieces = get("strip") / 52.0;
            let joins = shown.result();
            assert!(
                (-4.0..=4.0 * asked.stripes().len() as f64).contains(&(joins - pieces)),
                "{joins} {pieces}"
            );
            return None;
        }
        // What a join takes is the plan's.
        ["weft", "colour", _, "cut"] => {
            get("strip")
                + get("joins") * shown.other("weft.cut").get("strip lost in a join, both ends together")
        }
        ["weft", "colour", _, "mass"] if header => return None,
        ["weft", "colour", _, "mass"] => get("weft weight") * get("strip to cut") / get("weft strip to cut"),
        ["minutes", "band", ..] => {
            let whole = shown.other("minutes.weave");
            let steady = get("weaving") - slow(&whole);
            let part = steady * rows_of(shown) / get("all rows");
            let last = shown.result() - part;
            let is_last = last > 1e-6;
            if is_last { part + slow(&whole) } else { part }
        }
        _ => panic!("nobody wrote down how {key} is worked out again"),
    })
}

/// The rows of a band, or of its part in one half.
fn rows_of(shown: &Shown) -> f64 {
    shown.find("rows of the band").unwrap_or_else(|| shown.get("rows of the band in this half"))
}

fn practice(shown: &Shown) -> f64 {
    let rate = shown.get("time left at each doubling of rugs made");
    let before = shown
        .find("rugs finished before")
        .unwrap_or_else(|| shown.get("rugs finished before, as a practised weaver has"));
    ((before + 1.0) / 8.0).powf(rate.log2()) * shown.factor("weaving time against the sum of its acts")
}

/// Minutes that the slow last stretch adds.
fn slow(shown: &Shown) -> f64 {
    let rows = (shown.get("last stretch, with no room for the hand") * shown.get("rows to the inch"))
        .min(shown.get("rows"));
    let more = rows * shown.get("units") * (shown.get("times as slow in the last stretch") - 1.0);
    more * shown.get("one twist of the weft") / 60.0 * practice(shown)
}

fn weaving(shown: &Shown) -> f64 {
    let seconds = shown.get("twists") * shown.get("one twist of the weft")
        + shown.get("rows") * shown.get("one turn at the rod")
        + shown.get("joins") * shown.get("one join at the frame");
    seconds / 60.0 * practice(shown) + slow(shown)
}

fn check(asked: &Asked, told: &Value) {
    let all = worked(told);
    let shown_list = told["worked"].as_array().unwrap();
    assert_eq!(shown_list.len(), all.len(), "two derivations have one key");
    let book = asked.book();
    let mut seen = HashSet::new();
    for one in shown_list {
        let shown = Shown { one, all: &all };
        // Lengths are rounded to a nanometre, weights to a milligram.
        if let Some(wanted) = again(&shown, asked) {
            let part =
                3e-6 + 0.004 / wanted.abs().max(0.004) * f64::from(u8::from(one["result"]["kind"] == "mass"));
            close(shown.key(), shown.result(), wanted, part);
        }
        for input in shown.inputs() {
            let (name, origin) = (input["name"].as_str().unwrap(), &input["origin"]);
            let value = plain(&input["value"]);
            match origin["from"].as_str().unwrap() {
                "worked" => {
                    let of = &all[origin["key"].as_str().unwrap()];
                    let wanted = if name == "ball to take" { &of["range"]["take"] } else { &of["result"] };
                    close(&format!("{name} of {}", shown.key()), value, plain(wanted), 1e-9);
                }
                "chosen" => {}
                from => {
                    let wanted = figure(&book, name).unwrap_or_else(|| panic!("nobody knows “{name}”"));
                    let is = measured(asked, name);
                    assert_eq!(from, if is { "measured" } else { "default" }, "{name} of {}", shown.key());
                    assert!(is || !origin["source"].as_str().unwrap().is_empty());
                    let told = [plain(&origin["low"]), value, plain(&origin["high"])];
                    for (told, wanted) in told.into_iter().zip(wanted) {
                        close(
                            &format!("{name} of {}", shown.key()),
                            told,
                            wanted,
                            2e-3 * f64::from(u8::from(is)) + 1e-6,
                        );
                    }
                    seen.insert(name.to_owned());
                }
            }
        }
        if let Some(range) = one["range"].as_object() {
            close(shown.key(), plain(&range["expected"]), shown.result(), 0.0);
        }
    }
    for (_, name) in
        [(asked.fringe, "strip lost in a fringe knot"), (asked.backing, "slip stitching one inch")]
            .iter()
            .filter(|one| one.0.is_some())
    {
        assert!(seen.contains(*name), "{name} isn't shown");
    }
    assert!(seen.contains("one twist of the weft") && seen.contains("mass per area of the warp cloth"));
}

/// Which step's time is which: the last woven part alone has the slow stretch.
fn bands_add_up(told: &Value) {
    let steps: Vec<&Value> = told["worked"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|one| one["key"].as_str().unwrap().starts_with("minutes.band."))
        .collect();
    let all = worked(told);
    let sum: f64 = steps.iter().map(|one| plain(&one["result"])).sum();
    let whole = Shown { one: &all["minutes.weave"], all: &all };
    close("bands' weaving together", sum, whole.result(), 1e-9);
    let last = Shown { one: steps[steps.len() - 1], all: &all };
    let steady = rows_of(&last) / last.get("all rows") * (whole.result() - slow(&whole));
    close("the slow stretch is the last part's", last.result() - steady, slow(&whole), 1e-6);
}

#[test]
fn the_small_frame_can_be_followed_to_its_inputs() {
    let asked = Asked {
        bands: vec![
            Stripe { height: 14.0, colours: [0, 1], strip: None },
            Stripe { height: 18.0, colours: [1, 1], strip: None },
        ],
        fringe: Some(3.0),
        backing: Some(1.0),
        before: Some(2),
        ..Asked::small()
    };
    for from in ["one-end", "both-ends"] {
        for sample in [None, Some((4.0, 15, None)), Some((4.0, 15, Some(90.0)))] {
            for weft_gsm in [None, Some(140.0)] {
                let asked = Asked { from, sample, weft_gsm, nail: Some(0.11), ..asked.clone() };
                let told = reckon(&asked);
                check(&asked, &told);
                bands_add_up(&told);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn any_rug_can_be_followed_to_its_inputs(asked in any_rug()) {
        if let Ok(told) = try_reckon(&asked) {
            check(&asked, &told);
            bands_add_up(&told);
        }
    }
}
