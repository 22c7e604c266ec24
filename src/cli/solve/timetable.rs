//! `solve timetable`: which rug has which frame from which meeting to which.
use super::bad;
use crate::class::timetable::{Frame, Problem, Rug, solve};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::time::Instant;

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"meetings", "frames": [{"id"}],
      "rugs": [{"id", "fits": [frame ids], "meetings", "earliest", "latest", "priority"}]}
Out: {"placed": [{"rug", "frame", "from", "to"}], "unplaced": [rug ids], "score": [priority_sum, last_meeting_sum],
      "bound", "milliseconds"}
A rug takes its meetings one after the other on one frame, within earliest to latest; meetings are numbered from 1.
First the greatest sum of priorities placed, then the least sum of last meetings. No timetable places more priority than
the bound. Priority is a whole number from 0 to 1000000, by default 1."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Asked {
    meetings: u32,
    frames: Vec<AskedFrame>,
    rugs: Vec<AskedRug>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedFrame {
    id: Value,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AskedRug {
    id: Value,
    fits: Vec<Value>,
    meetings: u32,
    earliest: u32,
    latest: u32,
    #[serde(default = "usual")]
    priority: u32,
}

const fn usual() -> u32 {
    1
}

#[derive(Serialize)]
pub(super) struct Answer<'a> {
    placed: Vec<Turn<'a>>,
    unplaced: Vec<&'a Value>,
    score: [u64; 2],
    bound: u64,
    milliseconds: u64,
}

#[derive(Serialize)]
struct Turn<'a> {
    rug: &'a Value,
    frame: &'a Value,
    from: u32,
    to: u32,
}

pub(super) fn answer(asked: &Asked) -> anyhow::Result<Answer<'_>> {
    #[allow(clippy::disallowed_methods, reason = "the answer says how long it took")]
    let began = Instant::now();
    let twice = |ids: &[&Value]| ids.iter().enumerate().any(|(at, id)| ids[..at].contains(id));
    let (frames, rugs): (Vec<_>, Vec<_>) =
        (asked.frames.iter().map(|one| &one.id).collect(), asked.rugs.iter().map(|one| &one.id).collect());
    if twice(&frames) || twice(&rugs) {
        return Err(bad("timetable", &"Each frame and each rug needs an id of its own.").into());
    }
    let frame = |id: &Value| asked.frames.iter().position(|frame| frame.id == *id);
    let mut rugs = Vec::new();
    for rug in &asked.rugs {
        let fits: Option<Vec<usize>> = rug.fits.iter().map(frame).collect();
        let unknown = || bad("timetable", &format!("Rug {} fits a frame that isn't listed.", rug.id));
        rugs.push(Rug {
            fits: fits.ok_or_else(unknown)?,
            meetings: rug.meetings,
            earliest: rug.earliest,
            latest: rug.latest,
            priority: rug.priority,
            ..Rug::default()
        });
    }
    let frames = asked.frames.iter().map(|_| Frame::default()).collect();
    let problem = Problem { meetings: asked.meetings, frames, rugs, ..Problem::default() };
    problem.check().map_err(|e| bad("timetable", &e))?;
    let found = solve(&problem, &mut || true);
    let both = || asked.rugs.iter().zip(&found.placed);
    let placed = both().filter_map(|(rug, placed)| {
        let placed = (*placed)?;
        let frame = &asked.frames[placed.frame].id;
        Some(Turn { rug: &rug.id, frame, from: placed.from, to: placed.to })
    });
    Ok(Answer {
        placed: placed.collect(),
        unplaced: both().filter(|(_, placed)| placed.is_none()).map(|(rug, _)| &rug.id).collect(),
        score: [found.priority, found.last_sum],
        bound: found.bound,
        milliseconds: began.elapsed().as_millis() as u64,
    })
}
