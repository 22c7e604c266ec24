//! `solve areal`: the areal mass of bundles of sheets that were counted, measured and weighed, with its range.
use super::{Mm, bad};
use crate::planning::usable::{CutUp, Hems, SizeFrom, Usable};
use crate::planning::weighed::{USUAL_SCALE, USUAL_TAPE, Weighed};
use crate::units::{Areal, Mass, Units};
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"bundles": [{"mass_g", "sheets", "length_mm", "width_mm", "scale_g", "tape_mm", "hem_mm", "top_hem_mm",
      "labelled"}]}, the last five optional: what the scale and the tape may be off by, the hems at the sheet's ends, usual
      ones without them, and whether the size is the label's, before hemming
Out: a line for each: {"gsm", "low_gsm", "high_gsm", "usable"}, in g/m²; one case in ten lies under low, one over high;
      "usable" is {"low", "share", "high", "counted", "basis"}, what of the weight becomes strip"#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ArealRequest {
    bundles: Vec<Bundle>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Bundle {
    mass_g: f64,
    sheets: u32,
    length_mm: Mm,
    width_mm: Mm,
    scale_g: Option<f64>,
    tape_mm: Option<Mm>,
    hem_mm: Option<Mm>,
    top_hem_mm: Option<Mm>,
    #[serde(default)]
    labelled: bool,
}

#[derive(Serialize)]
pub(super) struct ArealResponse {
    gsm: f64,
    low_gsm: f64,
    high_gsm: f64,
    usable: UsableTold,
}

#[derive(Serialize)]
struct UsableTold {
    #[serde(flatten)]
    usable: Usable,
    /// The share that is counted on.
    counted: f64,
}

pub(super) fn answer(asked: &ArealRequest) -> anyhow::Result<Vec<ArealResponse>> {
    let one = |(at, bundle): (usize, &Bundle)| {
        let wrong = |why: &dyn std::fmt::Display| bad("areal", &format!("bundle {}: {why}", at + 1));
        let weighed = Weighed {
            mass: mass(bundle.mass_g).map_err(|e| wrong(&e))?,
            sheets: bundle.sheets,
            length: bundle.length_mm.0,
            width: bundle.width_mm.0,
            scale: bundle.scale_g.map_or(Ok(USUAL_SCALE), mass).map_err(|e| wrong(&e))?,
            tape: bundle.tape_mm.map_or(USUAL_TAPE, |mm| mm.0),
            hems: match (bundle.hem_mm, bundle.top_hem_mm) {
                (None, Some(_)) => return Err(wrong(&"top_hem_mm without hem_mm").into()),
                (hem, top) => hem.map(|hem| Hems { hem: hem.0, top: top.map(|top| top.0) }),
            },
            size: if bundle.labelled { SizeFrom::Label } else { SizeFrom::Measured },
        };
        let areal = weighed.areal(Units::Metric).map_err(|e| wrong(&e))?;
        let [gsm, low_gsm, high_gsm] = [areal.areal, areal.low, areal.high].map(Areal::gsm);
        let by_hems = weighed
            .hems
            .and_then(|hems| Usable::of_sheets(weighed.length, weighed.width, hems, weighed.size));
        let usable = by_hems.unwrap_or_else(|| Usable::of_kind(CutUp::default()));
        let usable = UsableTold { usable, counted: usable.counted() };
        Ok(ArealResponse { gsm, low_gsm, high_gsm, usable })
    };
    asked.bundles.iter().enumerate().map(one).collect()
}

/// More is a slip: a tonne.
const MOST_GRAMS: f64 = 1e6;

fn mass(grams: f64) -> Result<Mass, String> {
    if (0.0..=MOST_GRAMS).contains(&grams) {
        return Ok(Mass::from_grams(grams));
    }
    Err(format!("{grams} g is out of range: from 0 to {MOST_GRAMS} g is allowed"))
}
