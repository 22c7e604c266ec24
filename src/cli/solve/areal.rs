//! `solve areal`: the areal mass of bundles of sheets that were counted, measured and weighed, with its range.
use super::{Mm, bad};
use crate::planning::weighed::{USUAL_SCALE, USUAL_TAPE, Weighed};
use crate::units::{Areal, Mass, Units};
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"bundles": [{"mass_g", "sheets", "length_mm", "width_mm", "scale_g", "tape_mm"}]}, the last two optional: what the
      scale and the tape may be off by
Out: a line for each: {"gsm", "low_gsm", "high_gsm"}, in g/m²; one case in ten lies under low, one over high"#;

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
}

#[derive(Serialize)]
pub(super) struct ArealResponse {
    gsm: f64,
    low_gsm: f64,
    high_gsm: f64,
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
        };
        let areal = weighed.areal(Units::Metric).map_err(|e| wrong(&e))?;
        let [gsm, low_gsm, high_gsm] = [areal.areal, areal.low, areal.high].map(Areal::gsm);
        Ok(ArealResponse { gsm, low_gsm, high_gsm })
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
