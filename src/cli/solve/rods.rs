//! `solve rods`: the bars to buy for several frames' edge rods.
use super::{Mm, Steps, bad};
use crate::optimize::bins::Piece;
use crate::optimize::rods::to_buy_within;
use crate::planning::rods::least_length;
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"rods": [{"span_mm" or "length_mm", "count"}], "kerf_mm", "steps"}
Out: {"buy": [{"length_mm", "count"}], "bars": [{"stock_mm", "count", "cuts_mm"}], "bought_mm", "bound_mm"}
A span counts frames, two rods each; a length counts rods. Steps are as in cutting."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RodsRequest {
    rods: Vec<RodInput>,
    #[serde(default, deserialize_with = "super::or_usual")]
    kerf_mm: Mm,
    #[serde(default, deserialize_with = "super::or_usual")]
    steps: Steps,
}

#[derive(Debug, Deserialize)]
#[serde(untagged, deny_unknown_fields, expecting = "a rod needs either span_mm or length_mm, and a count")]
enum RodInput {
    /// So many frames of that span.
    Span { span_mm: Mm, count: u32 },
    /// So many rods of that length.
    Length { length_mm: Mm, count: u32 },
}

#[derive(Serialize)]
pub(super) struct RodsResponse {
    buy: Vec<Bought>,
    bars: Vec<RodsBar>,
    bought_mm: Mm,
    bound_mm: Mm,
}

#[derive(Serialize)]
struct Bought {
    length_mm: Mm,
    count: u32,
}

#[derive(Serialize)]
struct RodsBar {
    stock_mm: Mm,
    count: u32,
    cuts_mm: Vec<Mm>,
}

pub(super) fn answer(asked: &RodsRequest) -> anyhow::Result<RodsResponse> {
    let piece = |rod: &RodInput| match *rod {
        RodInput::Span { span_mm, count } => {
            Piece { length: least_length(span_mm.0), count: count.saturating_mul(2) }
        }
        RodInput::Length { length_mm, count } => Piece { length: length_mm.0, count },
    };
    let pieces: Vec<Piece> = asked.rods.iter().map(piece).collect();
    let bought = to_buy_within(&pieces, asked.kerf_mm.0, asked.steps.0).map_err(|e| bad("rods", &e))?;
    let bars = bought.cutting.bars.iter().map(|bars| RodsBar {
        stock_mm: Mm(bought.stock[bars.stock]),
        count: bars.count,
        cuts_mm: bars.cuts.iter().copied().map(Mm).collect(),
    });
    Ok(RodsResponse {
        buy: bought.buy.iter().map(|&(length, count)| Bought { length_mm: Mm(length), count }).collect(),
        bars: bars.collect(),
        bought_mm: Mm(bought.cutting.used),
        bound_mm: Mm(bought.cutting.bound),
    })
}
