//! `solve colours`: how different colours look, by CIEDE2000.
use crate::planning::colour::Lab;
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"pairs": [{"one": [L, a, b], "other": [L, a, b]}]}, CIELAB
Out: {"differences": [ΔE00]}"#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ColoursRequest {
    pairs: Vec<Pair>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Pair {
    one: [f64; 3],
    other: [f64; 3],
}

#[derive(Serialize)]
pub(super) struct ColoursResponse {
    differences: Vec<f64>,
}

pub(super) fn answer(asked: &ColoursRequest) -> ColoursResponse {
    let lab = |[l, a, b]: [f64; 3]| Lab::new(l, a, b);
    ColoursResponse {
        differences: asked.pairs.iter().map(|pair| lab(pair.one).difference(lab(pair.other))).collect(),
    }
}
