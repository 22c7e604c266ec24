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
    /// The warp's own.
    pub warp_strip: Option<f64>,
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
    /// Rugs made before, where it is said.
    pub before: Option<u32>,
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
            warp_strip: None,
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
            before: None,
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
        if let Some(before) = self.before {
            flag("rugs-before", before.to_string());
        }
        flag("every", self.every.to_string());
        flag("extra-wraps", self.wraps.to_string());
        for (name, value) in [
            ("warp-strip", self.warp_strip),
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

fn units(metric: bool) -> thrumhall::units::Units {
    if metric { thrumhall::units::Units::Metric } else { thrumhall::units::Units::Inches }
}

/// A typed length in nanometres.
pub fn read_length(text: &str, metric: bool) -> Result<i64, String> {
    thrumhall::units::Length::parse(text, units(metric)).map(|length| length.nm()).map_err(|e| e.to_string())
}

/// A typed weight in milligrams.
pub fn read_mass(text: &str, metric: bool) -> Result<i64, String> {
    thrumhall::units::Mass::parse(text, units(metric)).map(|mass| mass.mg()).map_err(|e| e.to_string())
}

/// A length as people read it, or as they read long strips.
pub fn shown_length(nm: i64, metric: bool, long: bool) -> String {
    let length = thrumhall::units::Length::from_nm(nm);
    if long { length.show_long(units(metric)) } else { length.show(units(metric)) }
}

/// A weight as people read it.
pub fn shown_mass(mg: i64, metric: bool) -> String {
    thrumhall::units::Mass::from_mg(mg).show(units(metric))
}

/// What is said of a length that must lie between two others: nothing where it does.
pub fn within(nm: i64, min: i64, max: i64) -> &'static str {
    use thrumhall::units::RangeError;
    let [nm, min, max] = [nm, min, max].map(thrumhall::units::Length::from_nm);
    match nm.within(min, max, thrumhall::units::Units::Metric) {
        Ok(_) => "",
        Err(RangeError::Zero { .. }) => "zero",
        Err(RangeError::Negative { .. }) => "negative",
        Err(RangeError::Outside { .. }) => "outside",
    }
}

use thrumhall::planning::{AtRod, Band, Frame, FrameSizes, Kind, Plan, RugSpec, WovenFrom};
use thrumhall::units::{Length, Minutes, Units};

fn inches(value: f64) -> Length {
    Length::inches(value)
}

/// The rug as the program's own choice.
pub fn spec(asked: &Asked) -> RugSpec {
    let sizes = FrameSizes {
        span: inches(asked.span),
        width: inches(asked.width),
        nails: asked.nails,
        pitch: asked.pitch.map(inches),
        nail_diameter: asked.nail.map(inches),
    };
    let band = |band: &Stripe| Band {
        height: inches(band.height),
        colours: band.colours.map(|colour| colour as u16),
        strip: band.strip.map(inches),
        chart: None,
    };
    let kind = |name: &str| name.parse::<Kind>().unwrap();
    RugSpec {
        length: asked.length.map(inches),
        width: asked.rug_width.map(inches),
        bands: asked.bands.iter().map(band).collect(),
        strip_width: inches(asked.strip),
        warp_strip_width: asked.warp_strip.map(inches),
        warp_kind: kind(asked.warp_kind),
        weft_kind: kind(asked.kind),
        unit_size: asked.unit,
        at_rod: if asked.keep { AtRod::Keep } else { AtRod::Trade },
        from: match asked.from {
            "one-end" => WovenFrom::OneEnd,
            "both-ends" => WovenFrom::BothEnds,
            _ => WovenFrom::BothEndsOtherFirst,
        },
        fringe: asked.fringe.map(inches),
        backing: asked.backing.map(inches),
        rugs_before: asked.before,
        ..RugSpec::plain(Frame::new(sizes, Units::Inches).unwrap())
    }
}

pub fn plan(asked: &Asked) -> Plan {
    Plan::of(&spec(asked), Units::Inches).unwrap_or_else(|why| panic!("{asked:?}: {why}"))
}

/// The strand that shows in each row and unit, from the front or the back.
pub fn strands(asked: &Asked, back: bool) -> Vec<Vec<usize>> {
    use thrumhall::planning::Face;
    let pattern = plan(asked).pattern;
    let face = if back { Face::Back } else { Face::Front };
    let row = |row| (0..pattern.row_units(row).units()).map(|unit| pattern.strand(row, unit, face)).collect();
    (0..pattern.rows()).map(row).collect()
}

/// The colour that shows in a row and unit.
pub fn colour(asked: &Asked, row: u32, unit: u32, back: bool) -> Option<u16> {
    use thrumhall::planning::Face;
    plan(asked).pattern.colour(row, unit, if back { Face::Back } else { Face::Front })
}

/// How far the weaving has grown after each number of rows, in inches, and whether from the far end.
pub fn grown(asked: &Asked) -> Vec<(f64, bool)> {
    let pattern = plan(asked).pattern;
    (0..=pattern.rows()).map(|rows| pattern.woven_to(rows)).map(|(at, far)| (at.in_inches(), far)).collect()
}

/// Steps placed into slots: slots in which each begins and ends, rows by slot, minutes lacking.
pub type Placed = (Vec<(Option<usize>, Option<usize>)>, Vec<u32>, f64);

/// Steps of so many minutes, some of them rows of weaving, in slots of so many minutes.
pub fn schedule(steps: &[(u32, f64)], slots: &[f64]) -> Placed {
    use thrumhall::planning::schedule::{Slot, place};
    use thrumhall::planning::steps::{Step, StepKind};
    let mut woven = 0;
    let step = |&(rows, minutes): &(u32, f64)| {
        let from_row = woven;
        woven += rows;
        let weave = StepKind::Weave { band: 0, from_row, to_row: woven };
        Step { kind: if rows > 0 { weave } else { StepKind::TakeOff }, minutes: Minutes::new(minutes) }
    };
    let steps: Vec<Step> = steps.iter().map(step).collect();
    let slot =
        |(meeting, &minutes): (usize, &f64)| Slot { meeting, home: false, minutes: Minutes::new(minutes) };
    let slots: Vec<Slot> = slots.iter().enumerate().map(slot).collect();
    let told = place(&steps, &slots);
    assert!(told.steps.iter().enumerate().all(|(i, placed)| placed.step == i));
    let steps = told.steps.iter().map(|placed| (placed.begins, placed.ends)).collect();
    (steps, told.rows_by_slot, told.lacking.get())
}

/// The slots of meetings of so many minutes: which meeting, at home or not, minutes.
pub fn slots(meetings: &[f64], home: Option<f64>) -> Vec<(usize, bool, f64)> {
    let meetings: Vec<Minutes> = meetings.iter().copied().map(Minutes::new).collect();
    let slots = thrumhall::planning::schedule::slots(&meetings, home.map(Minutes::new));
    slots.iter().map(|slot| (slot.meeting, slot.home, slot.minutes.get())).collect()
}

/// A rectangle in whole millimetres: from and to along, from and to across.
pub type Rectangle = [i64; 4];

/// A sheet in whole millimetres.
#[derive(Debug, Clone)]
pub struct Cloth {
    pub along: i64,
    pub across: i64,
    pub hem: i64,
    pub corners: i64,
    pub stains: Vec<Rectangle>,
}

/// What a sheet gives: the runs of each strip, total length of strip, offcut.
pub struct Given {
    pub strips: Vec<Vec<Rectangle>>,
    pub total: f64,
    pub offcut: f64,
    pub waste: f64,
}

fn millimetres(value: i64) -> Length {
    Length::from_nm(value * 1_000_000)
}

/// The sheet cut into strips of that width, and the cloth spoilt when only the first strips are.
pub fn cut(cloth: &Cloth, turned: bool, continuous: bool, width: i64, least: i64, first: usize) -> Given {
    use thrumhall::optimize::cutting::{Blocked, Sheet, Way};
    let pair = |from: i64, to: i64| (millimetres(from), millimetres(to));
    let stain = |s: &Rectangle| Blocked { along: pair(s[0], s[1]), across: pair(s[2], s[3]) };
    let sheet = Sheet {
        along: millimetres(cloth.along),
        across: millimetres(cloth.across),
        hem: millimetres(cloth.hem),
        corners: millimetres(cloth.corners),
        stains: cloth.stains.iter().map(stain).collect(),
    };
    let sheet = if turned { sheet.turned() } else { sheet };
    let way = if continuous { Way::Continuous } else { Way::Straight };
    let told = sheet.cut(way, millimetres(width), millimetres(least));
    let whole = |length: Length| {
        assert_eq!(length.nm() % 1_000_000, 0);
        length.nm() / 1_000_000
    };
    let run = |run: &thrumhall::optimize::cutting::Run| {
        [whole(run.along.0), whole(run.along.1), whole(run.across.0), whole(run.across.1)]
    };
    let taken = &told.strips[..first.min(told.strips.len())];
    Given {
        waste: sheet.waste(millimetres(width), taken).mm(),
        strips: told.strips.iter().map(|strip| strip.runs.iter().map(run).collect()).collect(),
        total: told.total.mm(),
        offcut: told.offcut.mm(),
    }
}
