//! `solve cutting`: the fewest bars for wanted pieces.
use super::{Mm, Steps, bad, unlike};
use crate::optimize::bins::{Job, Piece, Stock, fewest_bars};
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"stock": [{"id", "length_mm", "count"}], "pieces": [{"length_mm", "count"}], "kerf_mm", "steps"}
Out: {"bars": [{"stock", "cuts_mm"}], "used", "bound"}
A stock without a count has as many bars as are wanted. No plan uses fewer bars than the bound.
Steps: how much may be computed before the best so far is given, 1 to 1000000000, by default 60000000."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CuttingRequest {
    stock: Vec<StockInput>,
    pieces: Vec<PieceInput>,
    #[serde(default, deserialize_with = "super::or_usual")]
    kerf_mm: Mm,
    #[serde(default, deserialize_with = "super::or_usual")]
    steps: Steps,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StockInput {
    id: Id,
    length_mm: Mm,
    count: Option<u32>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PieceInput {
    length_mm: Mm,
    count: u32,
}

#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(untagged, expecting = "an id must be text or a whole number")]
enum Id {
    Number(i64),
    Text(String),
}

impl std::fmt::Display for Id {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => write!(f, "{number}"),
            Self::Text(text) => f.write_str(text),
        }
    }
}

#[derive(Serialize)]
pub(super) struct CuttingResponse {
    bars: Vec<CuttingBar>,
    used: u32,
    bound: u32,
}

#[derive(Serialize)]
struct CuttingBar {
    stock: Id,
    cuts_mm: Vec<Mm>,
}

pub(super) fn answer(asked: &CuttingRequest) -> anyhow::Result<CuttingResponse> {
    unlike("stock", asked.stock.iter().map(|stock| &stock.id)).map_err(|why| bad("cutting", &why))?;
    let job = Job {
        stock: (asked.stock.iter()).map(|s| Stock { length: s.length_mm.0, count: s.count }).collect(),
        pieces: (asked.pieces.iter()).map(|p| Piece { length: p.length_mm.0, count: p.count }).collect(),
        kerf: asked.kerf_mm.0,
    };
    let cutting = fewest_bars(&job, asked.steps.0).map_err(|e| bad("cutting", &e))?;
    let bars = cutting.bars.iter().flat_map(|bars| {
        let bar = || CuttingBar {
            stock: asked.stock[bars.stock].id.clone(),
            cuts_mm: bars.cuts.iter().copied().map(Mm).collect(),
        };
        std::iter::repeat_with(bar).take(bars.count as usize)
    });
    Ok(CuttingResponse { bars: bars.collect(), used: cutting.used, bound: cutting.bound })
}
