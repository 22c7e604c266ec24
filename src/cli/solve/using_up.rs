//! `solve using-up`: a rug from small rests, each a band as high as it lasts.
use super::design::FrameInput;
use super::{Mm, bad, unlike};
use crate::optimize::using_up::{Rest, RestBand, Sure, use_up};
use crate::planning::colour::Hex;
use crate::planning::{Kind, RugSpec};
use crate::units::{Mass, Units};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r##"In:  {"frame": {"span_mm", "width_mm", "nails", "pitch_mm"}, "strip_mm", "kind", "sure": "take" or "expected",
      "rests": [{"id", "colour": "#rrggbb", "grams"}]}
Out: {"bands": [{"rest", "rows", "height_mm", "need_g": {"low", "expected", "take"}, "ends_early", "short_rows", "goes_on": rest}],
      "length_mm", "warp_g", "way", "bound", "too_little": [rests], "no_room": [rests], "cut_short": {"rest", "left_g"}}
Each rest is a band of both strands, as many whole rows as it lasts at the need's take, or at the expected need; its joins are
counted. The smallest are used up first where there is no room for all. Way: the CIEDE2000 from each band to the next, together; no
order has less than the bound, which is the way itself up to 15 bands. Ends early: the chance that a rest doesn't last; short rows:
what is lacking in the one case in ten in which most is; goes on: the neighbour whose colour is nearest, to weave on with. Grams are
strip that can be woven. Kind is percale where none is given. Up to 60 rests."##;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct UsingUpRequest {
    frame: FrameInput,
    strip_mm: Mm,
    kind: Option<String>,
    #[serde(default, deserialize_with = "super::or_usual")]
    sure: SureInput,
    rests: Vec<RestInput>,
}

#[derive(Debug, Default, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum SureInput {
    #[default]
    Take,
    Expected,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RestInput {
    id: Value,
    colour: String,
    grams: f64,
}

#[derive(Serialize)]
pub(super) struct UsingUpResponse<'a> {
    bands: Vec<BandOut<'a>>,
    length_mm: f64,
    warp_g: f64,
    way: f64,
    bound: f64,
    too_little: Vec<&'a Value>,
    no_room: Vec<&'a Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cut_short: Option<CutShort<'a>>,
}

#[derive(Serialize)]
struct BandOut<'a> {
    rest: &'a Value,
    rows: u32,
    height_mm: f64,
    need_g: NeedOut,
    ends_early: f64,
    short_rows: u32,
    goes_on: Option<&'a Value>,
}

#[derive(Serialize)]
struct NeedOut {
    low: f64,
    expected: f64,
    take: f64,
}

#[derive(Serialize)]
struct CutShort<'a> {
    rest: &'a Value,
    left_g: f64,
}

pub(super) fn answer(asked: &UsingUpRequest) -> anyhow::Result<UsingUpResponse<'_>> {
    let wrong = |why: &dyn std::fmt::Display| bad("using-up", why);
    unlike("rest", asked.rests.iter().map(|rest| &rest.id)).map_err(|e| wrong(&e))?;
    let kind = asked.kind.as_deref().map_or(Ok(Kind::Percale), str::parse).map_err(|e| wrong(&e))?;
    let plain = asked.frame.rug(asked.strip_mm).map_err(|e| wrong(&e))?;
    let rest = |(at, rest): (usize, &RestInput)| {
        let hex = rest.colour.parse::<Hex>().map_err(|why| format!("Rest {}: {why}", at + 1))?;
        let most = crate::optimize::share_out::MOST_GRAMS as f64;
        if !(0.0..=most).contains(&rest.grams) {
            let given = rest.grams;
            return Err(format!(
                "Rest {}: {given} g is out of range: from 0 to {most} g is allowed.",
                at + 1
            ));
        }
        Ok(Rest { hex, strip: Mass::from_grams(rest.grams) })
    };
    let rests: Vec<Rest> =
        asked.rests.iter().enumerate().map(rest).collect::<Result<_, String>>().map_err(|e| wrong(&e))?;
    let sure = match asked.sure {
        SureInput::Take => Sure::Take,
        SureInput::Expected => Sure::Expected,
    };
    let base = RugSpec { warp_kind: kind, weft_kind: kind, ..plain };
    let made = use_up(&rests, &base, sure, Units::Metric).map_err(|e| wrong(&e))?;
    let id = |rest: usize| &asked.rests[rest].id;
    let band = |band: &RestBand| BandOut {
        rest: id(band.rest),
        rows: band.rows,
        height_mm: band.height.mm(),
        need_g: NeedOut {
            low: band.need.low.grams(),
            expected: band.need.expected.grams(),
            take: band.need.p90.grams(),
        },
        ends_early: band.early,
        short_rows: band.short_rows,
        goes_on: band.goes_on.map(|at| id(made.bands[at].rest)),
    };
    Ok(UsingUpResponse {
        bands: made.bands.iter().map(band).collect(),
        length_mm: made.plan.length.mm(),
        warp_g: made.plan.cloth.warp.p90.grams(),
        way: made.way,
        bound: made.bound,
        too_little: made.too_little.iter().map(|&rest| id(rest)).collect(),
        no_room: made.no_room.iter().map(|&rest| id(rest)).collect(),
        cut_short: made.cut_short.map(|(rest, left)| CutShort { rest: id(rest), left_g: left.grams() }),
    })
}
