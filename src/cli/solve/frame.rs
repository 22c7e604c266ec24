//! `solve frame`: nail places, members and rods of a frame to build.
use super::{Mm, bad};
use crate::optimize::new_frame::{CAUTION, Corner, NewFrame, Wish};
use crate::units::Units;
use serde::{Deserialize, Serialize};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"width_mm", "span_mm", "pitch_mm", "nail_mm", "staggered": true, "timber_mm", "clearance_mm",
      "corner": "half-lap" or "butt", "board_mm", "kerf_mm"}, all but the first two optional
Out: {"pitch_mm", "nails", "rows_mm", "end_member_mm", "side_member_mm", "outside_mm", "diagonal_mm", "boards",
      "rod_mm", "buy_rods": [{"length_mm", "count"}], "caution"}
Nail places are from the left end of an end member."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FrameRequest {
    width_mm: Mm,
    span_mm: Mm,
    pitch_mm: Option<Mm>,
    nail_mm: Option<Mm>,
    #[serde(default, deserialize_with = "super::or_usual")]
    staggered: bool,
    timber_mm: Option<Mm>,
    clearance_mm: Option<Mm>,
    #[serde(default, deserialize_with = "super::or_usual")]
    corner: CornerInput,
    board_mm: Option<Mm>,
    kerf_mm: Option<Mm>,
}

#[derive(Debug, Default, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum CornerInput {
    #[default]
    HalfLap,
    Butt,
}

#[derive(Serialize)]
pub(super) struct FrameResponse {
    pitch_mm: Mm,
    nails: usize,
    rows_mm: [Vec<Mm>; 2],
    end_member_mm: Mm,
    side_member_mm: Mm,
    outside_mm: [Mm; 2],
    diagonal_mm: Mm,
    boards: u32,
    rod_mm: Mm,
    buy_rods: Vec<Bought>,
    caution: &'static str,
}

#[derive(Serialize)]
struct Bought {
    length_mm: Mm,
    count: u32,
}

pub(super) fn answer(asked: &FrameRequest) -> anyhow::Result<FrameResponse> {
    let usual = Wish::usual(asked.width_mm.0, asked.span_mm.0);
    let given = |mm: Option<Mm>, usual| mm.map_or(usual, |mm| mm.0);
    let wish = Wish {
        pitch: given(asked.pitch_mm, usual.pitch),
        nail: given(asked.nail_mm, usual.nail),
        staggered: asked.staggered,
        timber: given(asked.timber_mm, usual.timber),
        clearance: given(asked.clearance_mm, usual.clearance),
        corner: match asked.corner {
            CornerInput::HalfLap => Corner::HalfLap,
            CornerInput::Butt => Corner::Butt,
        },
        board: given(asked.board_mm, usual.board),
        kerf: given(asked.kerf_mm, usual.kerf),
        ..usual
    };
    let frame = NewFrame::of(&wish, Units::Metric).map_err(|e| bad("frame", &e))?;
    let bought = frame.rods.buy.iter().map(|&(length, count)| Bought { length_mm: Mm(length), count });
    Ok(FrameResponse {
        pitch_mm: Mm(frame.pitch),
        nails: frame.nails(),
        rows_mm: frame.rows.each_ref().map(|row| row.iter().copied().map(Mm).collect()),
        end_member_mm: Mm(frame.end_member),
        side_member_mm: Mm(frame.side_member),
        outside_mm: [Mm(frame.outside.0), Mm(frame.outside.1)],
        diagonal_mm: Mm(frame.diagonal),
        boards: frame.boards.used,
        rod_mm: Mm(frame.rod),
        buy_rods: bought.collect(),
        caution: CAUTION,
    })
}
