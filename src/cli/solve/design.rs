//! `solve design`: designs for a rug that the given bundles cover.
use super::{Mm, bad, unlike};
use crate::optimize::design::{
    Cloth, Design, DesignBand, KeptBand, Lacking, Miss, Mood, Part, Request, USUAL_EFFORT, Use, Wishes,
    suggest,
};
use crate::planning::colour::Hex;
use crate::planning::{Frame, FrameSizes, Kind, RugSpec};
use crate::units::{Length, Units};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::ops::RangeInclusive;
use std::str::FromStr;

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r##"In:  {"frame": {"span_mm", "width_mm", "nails", "pitch_mm"}, "strip_mm", "wishes": {"colours", "build_on": ["#rrggbb"],
      "keep": [{"from_mm", "height_mm", "first": "#rrggbb", "other"}], "avoid": ["#rrggbb"], "mood", "symmetrical", "kind"}, "bundles": [{"id", "kind", "colour": "#rrggbb", "grams"}],
      "count", "max_bundles_per_need", "step_mm", "seed", "effort"}
Out: {"designs": [{"bands": [{"height_mm", "first": "#rrggbb", "other"}], "score", "uses": [{"bundle", "part": "warp" or "weft",
      "colour": "#rrggbb", "grams"}], "warp_kind", "weft_kind", "family", "mirrored", "misses": ["colours" or "#rrggbb"]}],
      "lacking": {"part": "warp" or "weft", "needed_g", "there_g"} or "wishes", "work"}
Every need is covered at its take, as reckon --json has it for the kinds given: the warp's cloth, and each colour's weft. A bundle
serves a colour up to CIEDE2000 5, and a kind that it can stand in for and isn't heavier than; for the warp any colour does, and
what is named is the bundle's own. Grams are strip that can be woven: hems and offcuts are off already; what is taken is whole.
Pitch, wishes and the rest are optional: count is 5 (1 to 24), max_bundles_per_need 2 (1 to 9), step_mm 5, in which heights come
but for one, seed 1, effort 2000000 looks (1000 to 20000000), far more than a thousand bundles take. The rug is as long as the span
less 25.4 mm. Colours: how many, 1 to 8. Build on: every design has these, or the nearest on the shelf up to CIEDE2000 12. Keep: bands
that every design has where they are, from the start of the weaving; where both halves are alike, in both. Avoid:
nothing up to CIEDE2000 20. Mood: calm, lively, light, dark or a list of them. Symmetrical: true, false, or left out for either.
Kind: the weft's cloth. Where fewer designs than count keep the wishes, others follow with another number of colours; misses say
which wishes aren't kept. Score: 0 to 100. Any two designs differ by 6 at least: along both rugs, stretched to one length, the mean
CIEDE2000 of the colours beside each other, where strands may change places and a rug may be turned round. Lacking says why there
is no design. The same question has the same answer on any machine."##;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DesignRequest {
    frame: FrameInput,
    strip_mm: Mm,
    #[serde(default, deserialize_with = "super::or_usual")]
    wishes: WishesInput,
    bundles: Vec<BundleInput>,
    count: Option<usize>,
    max_bundles_per_need: Option<usize>,
    step_mm: Option<Mm>,
    seed: Option<u64>,
    effort: Option<u64>,
}

#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FrameInput {
    span_mm: Mm,
    width_mm: Mm,
    nails: u32,
    pitch_mm: Option<Mm>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WishesInput {
    colours: Option<usize>,
    #[serde(default, deserialize_with = "super::or_usual")]
    build_on: Vec<String>,
    #[serde(default, deserialize_with = "super::or_usual")]
    keep: Vec<KeptInput>,
    #[serde(default, deserialize_with = "super::or_usual")]
    avoid: Vec<String>,
    mood: Option<OneOrMore>,
    symmetrical: Option<bool>,
    kind: Option<String>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeptInput {
    from_mm: Mm,
    height_mm: Mm,
    first: String,
    other: String,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum OneOrMore {
    One(String),
    More(Vec<String>),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BundleInput {
    pub(super) id: Value,
    kind: String,
    colour: String,
    grams: f64,
}

#[derive(Serialize)]
pub(super) struct DesignResponse<'a> {
    designs: Vec<DesignOut<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lacking: Option<Value>,
    work: u64,
}

#[derive(Serialize)]
pub(super) struct DesignOut<'a> {
    bands: Vec<BandOut>,
    score: f64,
    uses: Vec<UseOut<'a>>,
    warp_kind: &'static str,
    weft_kind: &'static str,
    family: &'static str,
    mirrored: bool,
    misses: Vec<String>,
}

#[derive(Serialize)]
struct BandOut {
    height_mm: Mm,
    first: String,
    other: String,
}

#[derive(Serialize)]
struct UseOut<'a> {
    bundle: &'a Value,
    part: &'static str,
    colour: String,
    grams: i64,
}

/// A list of texts, each read.
fn each<T: FromStr<Err: std::fmt::Display>>(what: &str, texts: &[String]) -> Result<Vec<T>, String> {
    texts.iter().map(|text| text.parse().map_err(|why| format!("{what}: {why}"))).collect()
}

/// Whole grams of a bundle: a tonne at most, as in a share-out.
pub(super) fn whole_grams(number: usize, grams: f64) -> Result<i64, String> {
    let most = crate::optimize::share_out::MOST_GRAMS;
    if (0.0..=most as f64).contains(&grams) {
        return Ok(grams.floor() as i64);
    }
    Err(format!("Bundle {number}: {grams} g is out of range: from 0 to {most} g is allowed."))
}

impl FrameInput {
    /// The plain rug of the frame, whose lengths are written with a point where they aren't whole.
    pub(super) fn rug(self, strip: Mm) -> Result<RugSpec, String> {
        let sizes = FrameSizes {
            span: self.span_mm.0,
            width: self.width_mm.0,
            nails: self.nails,
            pitch: self.pitch_mm.map(|mm| mm.0),
            nail_diameter: None,
        };
        let frame = Frame::new(sizes, Units::Metric).map_err(|why| why.to_string())?;
        Ok(RugSpec { strip_width: strip.0, ..RugSpec::plain(frame) })
    }
}

impl KeptInput {
    fn read(&self) -> Result<KeptBand, String> {
        if self.from_mm.0 < Length::ZERO || self.height_mm.0 <= Length::ZERO {
            return Err("keep: from_mm from 0 on and height_mm above 0 are allowed.".to_owned());
        }
        let hex = |text: &str| text.parse::<Hex>().map_err(|why| format!("keep: {why}"));
        let colours = [hex(&self.first)?, hex(&self.other)?];
        Ok(KeptBand { from: self.from_mm.0, band: DesignBand { height: self.height_mm.0, colours } })
    }
}

impl WishesInput {
    pub(super) fn read(&self) -> Result<Wishes, String> {
        let moods = match &self.mood {
            None => Vec::new(),
            Some(OneOrMore::One(mood)) => each::<Mood>("mood", std::slice::from_ref(mood))?,
            Some(OneOrMore::More(moods)) => each("mood", moods)?,
        };
        Ok(Wishes {
            colours: self.colours,
            build_on: each("build_on", &self.build_on)?,
            keep: self.keep.iter().map(KeptInput::read).collect::<Result<_, _>>()?,
            avoid: each("avoid", &self.avoid)?,
            moods,
            symmetrical: self.symmetrical,
            weft_kind: self
                .kind
                .as_deref()
                .map(str::parse)
                .transpose()
                .map_err(|why| format!("kind: {why}"))?,
        })
    }
}

/// The bundles as a search takes them.
pub(super) fn cloth(bundles: &[BundleInput]) -> Result<Vec<Cloth>, String> {
    unlike("bundle", bundles.iter().map(|one| &one.id))?;
    let one = |(at, one): (usize, &BundleInput)| {
        let wrong = |why: String| format!("Bundle {}: {why}", at + 1);
        Ok(Cloth {
            kind: one.kind.parse::<Kind>().map_err(|why| wrong(why.to_string()))?,
            hex: one.colour.parse::<Hex>().map_err(|why| wrong(why.to_string()))?,
            grams: whole_grams(at + 1, one.grams)?,
        })
    };
    bundles.iter().enumerate().map(one).collect()
}

/// The least and the most step of heights.
const STEPS: [Length; 2] = [Length::from_nm(1_000), Length::from_nm(1_000_000_000)];

/// The step of heights that is asked for, or the usual one.
pub(super) fn read_step(step: Option<Mm>) -> Result<Length, String> {
    let step = step.map_or(Length::millimetres(5.0), |mm| mm.0);
    if (STEPS[0]..=STEPS[1]).contains(&step) {
        return Ok(step);
    }
    Err("step_mm: from 0.001 to 1000 is allowed.".to_owned())
}

/// Looks that may be asked for.
const EFFORT: RangeInclusive<u64> = 1_000..=20_000_000;

pub(super) fn answer(asked: &DesignRequest) -> anyhow::Result<DesignResponse<'_>> {
    let wrong = |why: &dyn std::fmt::Display| bad("design", why);
    let wishes = asked.wishes.read().map_err(|e| wrong(&e))?;
    let cloth = cloth(&asked.bundles).map_err(|e| wrong(&e))?;
    let plain = asked.frame.rug(asked.strip_mm).map_err(|e| wrong(&e))?;
    let step = read_step(asked.step_mm).map_err(|e| wrong(&e))?;
    let effort = read_effort(asked.effort, USUAL_EFFORT, &EFFORT).map_err(|e| wrong(&e))?;
    let base = |warp_kind, weft_kind| RugSpec { warp_kind, weft_kind, ..plain.clone() };
    let found = suggest(&Request {
        cloth: &cloth,
        wishes: &wishes,
        base: &base,
        count: asked.count.unwrap_or(5),
        most: asked.max_bundles_per_need.unwrap_or(2),
        step,
        unlike: &[],
        seed: asked.seed.unwrap_or(1),
        effort,
    })
    .map_err(|e| wrong(&e))?;
    Ok(DesignResponse {
        designs: found.designs.iter().map(|design| told(&asked.bundles, &cloth, design)).collect(),
        lacking: found.lacking.map(lacking),
        work: found.work,
    })
}

/// What a search may look at most, or why that can't be.
pub(super) fn read_effort(
    given: Option<u64>,
    usual: u64,
    range: &RangeInclusive<u64>,
) -> Result<u64, String> {
    let effort = given.unwrap_or(usual);
    let refused = || format!("effort: from {} to {} is allowed.", range.start(), range.end());
    range.contains(&effort).then_some(effort).ok_or_else(refused)
}

pub(super) fn told<'a>(bundles: &'a [BundleInput], cloth: &[Cloth], design: &Design) -> DesignOut<'a> {
    let band = |band: &DesignBand| BandOut {
        height_mm: Mm(band.height),
        first: band.colours[0].to_string(),
        other: band.colours[1].to_string(),
    };
    let used = |one: &Use| UseOut {
        bundle: &bundles[one.cloth].id,
        part: if one.part == Part::Warp { "warp" } else { "weft" },
        colour: match one.part {
            Part::Warp => cloth[one.cloth].hex.to_string(),
            Part::Weft(hex) => hex.to_string(),
        },
        grams: one.grams,
    };
    let missed = |miss: &Miss| match miss {
        Miss::Colours => "colours".to_owned(),
        Miss::BuildOn(hex) => hex.to_string(),
    };
    DesignOut {
        bands: design.bands.iter().map(band).collect(),
        score: (design.score.total() * 10.0).round() / 10.0,
        uses: design.uses.iter().map(used).collect(),
        warp_kind: design.warp_kind.key(),
        weft_kind: design.weft_kind.key(),
        family: design.family.key(),
        mirrored: design.mirrored,
        misses: design.misses.iter().map(missed).collect(),
    }
}

pub(super) fn lacking(lacking: Lacking) -> Value {
    let part = |part: &str, needed: i64, there: i64| serde_json::json!({ "part": part, "needed_g": needed, "there_g": there });
    match lacking {
        Lacking::Warp { needed, there } => part("warp", needed, there),
        Lacking::Weft { needed, there } => part("weft", needed, there),
        Lacking::Wishes => "wishes".into(),
    }
}
