//! `solve pace`: what finished rugs and a log tell of a rug to come: the learnt figures, the weaver's pace, the chances.
use super::{Mm, bad};
use crate::planning::learn::{Belief, Class, Figure, Finished, Outcome};
use crate::planning::pace::Pace;
use crate::planning::progress::{Entry, Progress, measured_by};
use crate::planning::settings::Evidence;
use crate::planning::{Frame, FrameSizes, Kind, Plan, RugSpec};
use crate::units::{Mass, Minutes, Units};
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"rug": RUG, "finished": [RUG with "rows", "woven_mm", "weft_g", "weave_minutes",
      "prepare_minutes", "warp_mm", "finished_length_mm", "finished_width_mm", each
      optional], "log": [{"rows", "woven_mm", "minutes"}], "room_minutes": [MINUTES]}
     RUG: {"weaver", "span_mm", "width_mm", "nails", "kind", "strip_mm", "length_mm", "rugs_before"}
Out: {"learnt": [{"figure", "ratio", "sd", "rugs", "size", "cloth", "weaver"}], "prior", "pace": {"shape",
      "exposure_minutes", "twists_per_minute": {"low", "median", "high"}}, "spell_twists", "timed": {"twists",
      "minutes"}, "left": {"twists", "doubt", "minutes": {"low", "expected", "take"}}, "chances": [CHANCE]}
A ratio is to the default; sd is of its logarithm. Without "rugs_before" the times are a practised weaver's. Each room gives the chance to weave all that is left within it."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PaceRequest {
    rug: Rug,
    #[serde(default, deserialize_with = "super::or_usual")]
    finished: Vec<Done>,
    #[serde(default, deserialize_with = "super::or_usual")]
    log: Vec<Logged>,
    #[serde(default, deserialize_with = "super::or_usual")]
    room_minutes: Vec<f64>,
}

#[derive(Debug, Deserialize)]
struct Rug {
    weaver: String,
    span_mm: Mm,
    width_mm: Mm,
    nails: u32,
    kind: Option<Kind>,
    strip_mm: Option<Mm>,
    length_mm: Option<Mm>,
    rugs_before: Option<u32>,
}

#[derive(Debug, Deserialize)]
struct Done {
    #[serde(flatten)]
    rug: Rug,
    rows: Option<u32>,
    woven_mm: Option<Mm>,
    weft_g: Option<f64>,
    weave_minutes: Option<f64>,
    prepare_minutes: Option<f64>,
    warp_mm: Option<Mm>,
    finished_length_mm: Option<Mm>,
    finished_width_mm: Option<Mm>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Logged {
    rows: Option<u32>,
    woven_mm: Option<Mm>,
    minutes: Option<f64>,
}

#[derive(Serialize)]
pub(super) struct PaceResponse {
    learnt: Vec<Learnt>,
    prior: PaceTold,
    pace: PaceTold,
    spell_twists: f64,
    timed: Timed,
    left: Left,
    chances: Vec<f64>,
}

#[derive(Serialize)]
struct Learnt {
    figure: Figure,
    ratio: f64,
    sd: f64,
    #[serde(flatten)]
    evidence: Evidence,
}

#[derive(Serialize)]
struct PaceTold {
    shape: f64,
    exposure_minutes: f64,
    twists_per_minute: Deciles,
}

#[derive(Serialize)]
struct Deciles {
    low: f64,
    median: f64,
    high: f64,
}

#[derive(Serialize)]
struct Timed {
    twists: f64,
    minutes: Minutes,
}

#[derive(Serialize)]
struct Left {
    twists: f64,
    doubt: f64,
    minutes: crate::planning::Range<Minutes>,
}

/// Longer is a slip: a thousand hours.
const MOST_MINUTES: f64 = 60_000.0;

pub(super) fn answer(asked: &PaceRequest) -> anyhow::Result<PaceResponse> {
    let units = Units::Metric;
    let mut spec = spec(&asked.rug, units)?;
    let finished: Vec<Finished> =
        asked.finished.iter().map(|done| finished(done, units)).collect::<Result<_, _>>()?;
    let class = Class::of(&finished, units);
    let rug = spec.check(units).map_err(|e| bad("pace", &e))?;
    let learnt = class.beliefs(&rug, &asked.rug.weaver).into_iter();
    let learnt = learnt.map(|Belief { figure, ratio, sd, evidence }| Learnt { figure, ratio, sd, evidence });
    let learnt = learnt.collect();
    spec.known = class.settings(&spec, &asked.rug.weaver, units);
    let log: Vec<Entry> = asked.log.iter().map(entry).collect::<anyhow::Result<_>>()?;
    let spec = measured_by(&spec, &log, units);
    let plan = Plan::of(&spec, units).map_err(|e| bad("pace", &e))?;
    let progress = Progress::of(&spec, &plan, &log, units).map_err(|e| bad("pace", &e))?;
    let rooms = asked.room_minutes.iter().map(|&room| minutes(room));
    let chances = rooms.map(|room| Ok(progress.work.chance(room?))).collect::<anyhow::Result<_>>()?;
    let (twists, timed) = progress.timed;
    Ok(PaceResponse {
        learnt,
        prior: told(progress.prior),
        pace: told(progress.pace),
        spell_twists: Pace::SPELL,
        timed: Timed { twists, minutes: timed },
        left: Left { twists: progress.work.twists, doubt: progress.work.doubt, minutes: progress.weave_left },
        chances,
    })
}

fn told(pace: Pace) -> PaceTold {
    let [low, median, high] = [0.1, 0.5, 0.9].map(|share| pace.quantile(share));
    let belief = pace.belief();
    PaceTold {
        shape: belief.shape,
        exposure_minutes: belief.exposure,
        twists_per_minute: Deciles { low, median, high },
    }
}

fn spec(rug: &Rug, units: Units) -> anyhow::Result<RugSpec> {
    let sizes = FrameSizes {
        span: rug.span_mm.0,
        width: rug.width_mm.0,
        nails: rug.nails,
        pitch: None,
        nail_diameter: None,
    };
    let plain = RugSpec::plain(Frame::new(sizes, units).map_err(|e| bad("pace", &e))?);
    let kind = rug.kind.unwrap_or(Kind::Percale);
    let spec = RugSpec {
        length: rug.length_mm.map(|length| length.0),
        strip_width: rug.strip_mm.map_or(plain.strip_width, |strip| strip.0),
        warp_kind: kind,
        weft_kind: kind,
        rugs_before: rug.rugs_before,
        ..plain
    };
    spec.check(units).map_err(|e| bad("pace", &e))?;
    Ok(spec)
}

fn finished(done: &Done, units: Units) -> anyhow::Result<Finished> {
    let time = |given: Option<f64>| given.map(minutes).transpose();
    let weft = match done.weft_g {
        Some(grams) if !(grams.is_finite() && (0.0..=1e6).contains(&grams)) => {
            return Err(
                bad("pace", &format!("{grams} g is out of range: at most 1000000 g is allowed")).into()
            );
        }
        weft => weft.map(Mass::from_grams),
    };
    let outcome = Outcome {
        rows: done.rows,
        woven: done.woven_mm.map(|woven| woven.0),
        weft,
        weaving: time(done.weave_minutes)?,
        preparing: time(done.prepare_minutes)?,
        warp: done.warp_mm.map(|warp| warp.0),
        finished_length: done.finished_length_mm.map(|length| length.0),
        finished_width: done.finished_width_mm.map(|width| width.0),
    };
    Ok(Finished { spec: spec(&done.rug, units)?, weaver: done.rug.weaver.clone(), outcome })
}

fn entry(logged: &Logged) -> anyhow::Result<Entry> {
    let woven = logged.woven_mm.map(|woven| woven.0);
    Ok(Entry {
        rows: logged.rows,
        woven,
        minutes: logged.minutes.map(minutes).transpose()?,
        left: Vec::new(),
    })
}

fn minutes(minutes: f64) -> anyhow::Result<Minutes> {
    if minutes.is_finite() && (0.0..=MOST_MINUTES).contains(&minutes) {
        return Ok(Minutes::new(minutes));
    }
    Err(bad("pace", &format!("{minutes} min is out of range: from 0 to {MOST_MINUTES} min is allowed"))
        .into())
}
