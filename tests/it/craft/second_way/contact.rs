//! The only place of these tests that knows the program's types.
use clap::Parser;
use serde_json::{Map, Value};
use std::io::Write as _;
use thrumhall::cli::{reckon as command, solve as solver};

/// A rug in plain numbers: lengths in inches.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    pub span: f64,
    pub width: f64,
    pub nails: u32,
    pub pitch: Option<f64>,
    pub nail: Option<f64>,
    pub strip: f64,
    pub kind: &'static str,
    pub warp_kind: &'static str,
    pub unit: u32,
    pub length: Option<f64>,
    pub rug_width: Option<f64>,
    pub bands: Vec<Stripe>,
    pub keep: bool,
    pub from: &'static str,
    pub fringe: Option<f64>,
    pub backing: Option<f64>,
    pub before: u32,
    pub doubled: bool,
    pub every: u32,
    pub wraps: u32,
    pub warp_gsm: Option<f64>,
    pub weft_gsm: Option<f64>,
    /// Inches, rows, and perhaps grams.
    pub sample: Option<(f64, u32, Option<f64>)>,
}

/// A band: its height, its two colours, and its strip where it has its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stripe {
    pub height: f64,
    pub colours: [usize; 2],
    pub strip: Option<f64>,
}

impl Asked {
    /// The usual small frame. Common practice, no source.
    pub fn small() -> Self {
        Self {
            span: 33.0,
            width: 18.0,
            nails: 33,
            pitch: None,
            nail: None,
            strip: 1.5,
            kind: "percale",
            warp_kind: "percale",
            unit: 2,
            length: None,
            rug_width: None,
            bands: Vec::new(),
            keep: false,
            from: "one-end",
            fringe: None,
            backing: None,
            before: 0,
            doubled: false,
            every: 1,
            wraps: 0,
            warp_gsm: None,
            weft_gsm: None,
            sample: None,
        }
    }

    /// The flags of `reckon`.
    pub fn flags(&self) -> Vec<String> {
        let mut flags: Vec<String> = Vec::new();
        let mut flag = |name: &str, value: String| flags.extend([format!("--{name}"), value]);
        let long = |inches: f64| format!("{inches} in");
        flag("span", long(self.span));
        flag("width", long(self.width));
        flag("nails", self.nails.to_string());
        flag("strip", long(self.strip));
        flag("kind", self.kind.to_owned());
        flag("warp-kind", self.warp_kind.to_owned());
        flag("unit", self.unit.to_string());
        flag("at-rod", if self.keep { "keep" } else { "trade" }.to_owned());
        flag("from", self.from.to_owned());
        flag("rugs-before", self.before.to_string());
        flag("every", self.every.to_string());
        flag("extra-wraps", self.wraps.to_string());
        for (name, value) in [
            ("pitch", self.pitch),
            ("nail-diameter", self.nail),
            ("length", self.length),
            ("rug-width", self.rug_width),
            ("fringe", self.fringe),
            ("backing", self.backing),
        ] {
            value.into_iter().for_each(|value| flag(name, long(value)));
        }
        for (name, value) in [("warp-gsm", self.warp_gsm), ("weft-gsm", self.weft_gsm)] {
            value.into_iter().for_each(|value| flag(name, value.to_string()));
        }
        for Stripe { height, colours: [a, b], strip } in &self.bands {
            let strip = strip.map_or(String::new(), |strip| format!(", {strip} in strips"));
            flag("band", format!("{height} in: c{a}/c{b}{strip}"));
        }
        if let Some((inches, rows, grams)) = self.sample {
            let grams = grams.map_or(String::new(), |grams| format!(", {grams} g"));
            flag("sample", format!("{inches} in, {rows} rows{grams}"));
        }
        if self.doubled {
            flags.push("--doubled".to_owned());
        }
        flags
    }
}

#[derive(Parser)]
struct ReckonLine {
    #[command(flatten)]
    args: command::ReckonArgs,
}

#[derive(Parser)]
struct SolveLine {
    #[command(flatten)]
    args: solver::SolveArgs,
}

/// What `reckon` prints for those flags, or why it refuses.
pub fn reckon_text(flags: &[String]) -> Result<String, String> {
    let line = std::iter::once("reckon".to_owned()).chain(flags.iter().cloned());
    let args = ReckonLine::try_parse_from(line).map_err(|e| e.to_string())?.args;
    let mut out = Vec::new();
    command::run(&args, &mut out).map_err(|e| e.to_string())?;
    String::from_utf8(out).map_err(|e| e.to_string())
}

/// The plan as `reckon --json` prints it, with everything that it can show.
pub fn reckon(asked: &Asked) -> Value {
    try_reckon(asked).unwrap_or_else(|why| panic!("{asked:?}: {why}"))
}

/// The same, or why it refuses.
pub fn try_reckon(asked: &Asked) -> Result<Value, String> {
    let mut flags = asked.flags();
    for show in ["worked", "reading", "way"] {
        flags.extend(["--show".to_owned(), show.to_owned()]);
    }
    flags.push("--json".to_owned());
    Ok(serde_json::from_str(&reckon_text(&flags)?).unwrap())
}

/// What `solve` answers, line by line, or why it refuses.
pub fn solve(what: &str, asked: &Value) -> Result<Vec<Value>, String> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(asked.to_string().as_bytes()).unwrap();
    let args = SolveLine::try_parse_from(["solve", what, file.path().to_str().unwrap()]).unwrap().args;
    let mut out = Vec::new();
    solver::run(&args, &mut out).map_err(|e| e.to_string())?;
    Ok(String::from_utf8(out).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect())
}

/// The one answer.
#[track_caller]
pub fn solved(what: &str, asked: &Value) -> Value {
    solve(what, asked).unwrap_or_else(|why| panic!("{asked}: {why}")).remove(0)
}

/// The number at a path of JSON.
#[track_caller]
pub fn number(told: &Value, path: &str) -> f64 {
    told.pointer(path).and_then(Value::as_f64).unwrap_or_else(|| panic!("no number at {path} in {told}"))
}

/// Low, expected and take at a path of JSON.
#[track_caller]
pub fn range(told: &Value, path: &str) -> [f64; 3] {
    ["low", "expected", "take"].map(|end| number(told, &format!("{path}/{end}")))
}

/// The list at a path of JSON.
#[track_caller]
pub fn list<'a>(told: &'a Value, path: &str) -> &'a [Value] {
    told.pointer(path).and_then(Value::as_array).unwrap_or_else(|| panic!("no list at {path} in {told}"))
}

/// What the program shows of how it worked numbers out, by key.
pub fn worked(told: &Value) -> Map<String, Value> {
    let of = |one: &Value| (one["key"].as_str().unwrap().to_owned(), one.clone());
    list(told, "/worked").iter().map(of).collect()
}

fn units(metric: bool) -> thrumhall::craft::Units {
    if metric { thrumhall::craft::Units::Metric } else { thrumhall::craft::Units::Inches }
}

/// A typed length in nanometres.
pub fn read_length(text: &str, metric: bool) -> Result<i64, String> {
    thrumhall::craft::Length::parse(text, units(metric)).map(|length| length.nm()).map_err(|e| e.to_string())
}

/// A typed weight in milligrams.
pub fn read_mass(text: &str, metric: bool) -> Result<i64, String> {
    thrumhall::craft::Mass::parse(text, units(metric)).map(|mass| mass.mg()).map_err(|e| e.to_string())
}

/// A length as people read it, or as they read long strips.
pub fn shown_length(nm: i64, metric: bool, long: bool) -> String {
    let length = thrumhall::craft::Length::from_nm(nm);
    if long { length.show_long(units(metric)) } else { length.show(units(metric)) }
}

/// A weight as people read it.
pub fn shown_mass(mg: i64, metric: bool) -> String {
    thrumhall::craft::Mass::from_mg(mg).show(units(metric))
}

/// What is said of a length that must lie between two others: nothing where it does.
pub fn within(nm: i64, min: i64, max: i64) -> &'static str {
    use thrumhall::craft::units::RangeError;
    let [nm, min, max] = [nm, min, max].map(thrumhall::craft::Length::from_nm);
    match nm.within(min, max, thrumhall::craft::Units::Metric) {
        Ok(_) => "",
        Err(RangeError::Zero { .. }) => "zero",
        Err(RangeError::Negative { .. }) => "negative",
        Err(RangeError::Outside { .. }) => "outside",
    }
}
