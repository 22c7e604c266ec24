//! `solve timetable`: which rug has which frame from which meeting to which.
use super::bad;
use crate::optimize::timetable::{Frame, MOST_MEETINGS, Problem, Rug, USUAL_NODES, solve};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::time::{Duration, Instant};

/// The shape of question and answer, for the help.
pub(super) const SHAPE: &str = r#"In:  {"meetings", "gap", "frames": [{"id", "closed": [meetings], "rods": rod ids}], "rods": [{"id", "pairs"}],
      "rugs": [{"id", "fits": [frame ids], "meetings", "earliest", "latest", "priority", "haste", "absent": [meetings],
                "rods": rod ids, "fixed": {"frame", "from"}, "before": {"frame", "from"}}], "nodes"}
Out: {"placed": [{"rug", "frame", "from", "to", "rods"}], "unplaced": [rug ids], "score": [priority_sum, last_meeting_sum],
      "changes", "bound", "late", "late_bound", "gaps": [of priority, of late], "most", "proven", "milliseconds"}
A rug takes its meetings one after the other on one frame, within earliest to latest; meetings are numbered from 1. It doesn't
begin at a meeting that its weaver is absent from, and one within its stretch makes that longer by one. A frame isn't used at
meetings at which it is closed, and after each rug it stays free and open for so many meetings as the gap says. A rug takes a
pair of the rods that it names, or else of those that its frame names, at every meeting of its stretch; of several named, one
id or a list of them, any serves and one pair is kept to the end. Pairs are a number, or a list with a number for each
meeting, the last of which holds for all later ones. A fixed rug keeps its frame from that meeting on, whatever it fits,
however few rods there are, and is cut off at the last meeting; where two fixed rugs want one frame, the one that begins later
goes without.
First the greatest sum of priorities placed, then the fewest changes of what was promised before, then the least sum of last
meetings, each times its haste: late, without those of fixed rugs, which nothing moves. The score counts last meetings
without haste. No timetable places more priority than the bound, and none that places as much and changes no more is less late
than late_bound; a gap is 0 where that is proven. Most says that none places more priority, proven that none is better by all
three aims in their order. Priority is a whole number from 0 to 1000000, haste from 0 to 100 (0 is as 1), both by default 1;
earliest is by default the first meeting, latest the last.
Nodes: how much work goes into each aim before the best so far is given, from 1 to 1000000, by default 2500: nodes of branch
and bound, with 24 steps of the search for each. After ten seconds the best so far is given whatever the work."#;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TimetableRequest {
    meetings: u32,
    #[serde(default, deserialize_with = "super::or_usual")]
    gap: u32,
    frames: Vec<FrameInput>,
    #[serde(default, deserialize_with = "super::or_usual")]
    rods: Vec<RodsInput>,
    rugs: Vec<RugInput>,
    nodes: Option<u64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct FrameInput {
    id: Value,
    #[serde(default, deserialize_with = "super::or_usual")]
    closed: Vec<u32>,
    rods: Option<OneOrMore>,
}

/// Rods, or several any of which serve.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum OneOrMore {
    More(Vec<Value>),
    One(Value),
}

impl OneOrMore {
    fn numbered(&self, rods: &[&Value]) -> Option<Vec<usize>> {
        let all = match self {
            Self::More(all) => all.as_slice(),
            Self::One(one) => std::slice::from_ref(one),
        };
        all.iter().map(|of| rods.iter().position(|known| *known == of)).collect()
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RodsInput {
    id: Value,
    pairs: Pairs,
}

#[derive(Debug, Deserialize)]
#[serde(untagged, expecting = "pairs must be a whole number, or a list of whole numbers")]
enum Pairs {
    Always(u32),
    ByMeeting(Vec<u32>),
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct RugInput {
    id: Value,
    fits: Vec<Value>,
    meetings: u32,
    earliest: Option<u32>,
    latest: Option<u32>,
    #[serde(default = "usual")]
    priority: u32,
    #[serde(default = "usual")]
    haste: u32,
    #[serde(default, deserialize_with = "super::or_usual")]
    absent: Vec<u32>,
    rods: Option<OneOrMore>,
    fixed: Option<Start>,
    before: Option<Start>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Start {
    frame: Value,
    from: u32,
}

const fn usual() -> u32 {
    1
}

#[derive(Serialize)]
pub(super) struct TimetableResponse<'a> {
    placed: Vec<Turn<'a>>,
    unplaced: Vec<&'a Value>,
    score: [u64; 2],
    changes: u32,
    bound: u64,
    late: u64,
    late_bound: u64,
    gaps: [f64; 2],
    most: bool,
    proven: bool,
    milliseconds: u64,
}

#[derive(Serialize)]
struct Turn<'a> {
    rug: &'a Value,
    frame: &'a Value,
    from: u32,
    to: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    rods: Option<&'a Value>,
}

/// The last stop; mostly the work is done long before.
const LONGEST: Duration = Duration::from_secs(10);

pub(super) fn answer(asked: &TimetableRequest) -> anyhow::Result<TimetableResponse<'_>> {
    #[allow(clippy::disallowed_methods, reason = "the answer says how long it took, and stops by it")]
    let began = Instant::now();
    let problem = asked.problem().map_err(|why| bad("timetable", &why))?;
    let nodes = asked.nodes.unwrap_or(USUAL_NODES);
    if !(1..=1_000_000).contains(&nodes) {
        return Err(bad("timetable", &"nodes: from 1 to 1000000 is allowed.").into());
    }
    let found = solve(&problem, nodes, &mut || began.elapsed() < LONGEST);
    let both = || asked.rugs.iter().zip(&found.placed);
    let placed = both().zip(&found.rods).filter_map(|((rug, placed), rods)| {
        let placed = (*placed)?;
        let frame = &asked.frames[placed.frame].id;
        let rods = rods.map(|kind| &asked.rods[kind].id);
        Some(Turn { rug: &rug.id, frame, from: placed.from, to: placed.to, rods })
    });
    Ok(TimetableResponse {
        placed: placed.collect(),
        unplaced: both().filter(|(_, placed)| placed.is_none()).map(|(rug, _)| &rug.id).collect(),
        score: [found.priority, found.last_sum],
        changes: found.changes,
        bound: found.bound,
        late: found.late,
        late_bound: found.late_bound,
        gaps: found.gaps(),
        most: found.most,
        proven: found.proven,
        milliseconds: began.elapsed().as_millis() as u64,
    })
}

impl TimetableRequest {
    /// The question in numbers, or why it can't be asked.
    fn problem(&self) -> Result<Problem, String> {
        let frames: Vec<&Value> = self.frames.iter().map(|one| &one.id).collect();
        let rods: Vec<&Value> = self.rods.iter().map(|one| &one.id).collect();
        let rugs: Vec<&Value> = self.rugs.iter().map(|one| &one.id).collect();
        let twice = |ids: &[&Value]| ids.iter().enumerate().any(|(at, id)| ids[..at].contains(id));
        if [&frames, &rods, &rugs].into_iter().any(|ids| twice(ids)) {
            return Err("Each frame, each rug and each kind of rods needs an id of its own.".into());
        }
        let problem = Problem {
            meetings: self.meetings,
            frames: self.frames.iter().map(|one| one.numbered(&rods)).collect::<Result<_, _>>()?,
            rugs: self
                .rugs
                .iter()
                .map(|rug| rug.numbered(self.meetings, &frames, &rods))
                .collect::<Result<_, _>>()?,
            rods: self.rods.iter().map(RodsInput::by_meeting).collect::<Result<_, _>>()?,
            gap: self.gap,
        };
        problem.check().map_err(|e| e.to_string())?;
        for (what, meetings) in (self.frames.iter().map(|frame| (&frame.id, &frame.closed)))
            .chain(self.rugs.iter().map(|rug| (&rug.id, &rug.absent)))
        {
            if let Some(meeting) = meetings.iter().find(|at| !(1..=self.meetings).contains(at)) {
                let last = self.meetings;
                return Err(format!("{what}: there is no meeting {meeting}: they go from 1 to {last}."));
            }
        }
        Ok(problem)
    }
}

impl RodsInput {
    fn by_meeting(&self) -> Result<Vec<u32>, String> {
        let pairs = match &self.pairs {
            Pairs::Always(pairs) => vec![*pairs],
            Pairs::ByMeeting(pairs) => pairs.clone(),
        };
        if pairs.is_empty() || pairs.len() > MOST_MEETINGS as usize || pairs.iter().any(|n| *n > 10_000) {
            let id = &self.id;
            return Err(format!("Rods {id}: pairs are one number or one for each meeting, from 0 to 10000."));
        }
        Ok(pairs)
    }
}

impl FrameInput {
    fn numbered(&self, rods: &[&Value]) -> Result<Frame, String> {
        let kinds = self.rods.as_ref().map(|named| {
            let id = &self.id;
            named.numbered(rods).ok_or_else(|| format!("Frame {id} takes rods that aren't listed."))
        });
        Ok(Frame { closed: self.closed.clone(), rods: kinds.transpose()?.unwrap_or_default() })
    }
}

impl RugInput {
    fn numbered(&self, meetings: u32, frames: &[&Value], rods: &[&Value]) -> Result<Rug, String> {
        let id = &self.id;
        let frame = |of: &Value| frames.iter().position(|known| *known == of);
        let fits: Option<Vec<usize>> = self.fits.iter().map(frame).collect();
        let start = |what: &str, start: &Option<Start>| match start {
            None => Ok(None),
            Some(Start { frame: of, from }) => match frame(of) {
                Some(frame) if *from >= 1 => Ok(Some((frame, *from))),
                Some(_) => Err(format!("Rug {id}: {what} begins at a meeting numbered from 1.")),
                None => Err(format!("Rug {id}: {what} names a frame that isn't listed.")),
            },
        };
        let kinds = self.rods.as_ref().map(|named| {
            named.numbered(rods).ok_or_else(|| format!("Rug {id} needs rods that aren't listed."))
        });
        Ok(Rug {
            fits: fits.ok_or_else(|| format!("Rug {id} fits a frame that isn't listed."))?,
            meetings: self.meetings,
            earliest: self.earliest.unwrap_or(1),
            latest: self.latest.unwrap_or(meetings.max(1)),
            priority: self.priority,
            absent: self.absent.clone(),
            fixed: start("its fixed place", &self.fixed)?,
            before: start("its place before", &self.before)?,
            haste: self.haste,
            rods: kinds.transpose()?,
        })
    }
}
