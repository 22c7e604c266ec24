//! Frames are listed, changed, retired and put back into use.
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::house::{CONDITIONS, SIZES, Size, TAGS, Tag, inches};
use crate::model::state::{Frame, State, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    Add { tag: Pick, size: Pick, condition: Pick },
    Change { frame: Pick, tag: Pick, size: Pick, condition: Pick, outdated: bool },
    Retire { frame: Pick, outdated: bool },
    Restore { frame: Pick, outdated: bool },
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let three = || (any::<Pick>(), any::<Pick>(), any::<Pick>());
    let outdated = || prop::bool::weighted(0.2);
    prop_oneof![
        5 => three().prop_map(|(tag, size, condition)| Act::Add { tag, size, condition }),
        2 => (any::<Pick>(), three(), outdated())
            .prop_map(|(frame, (tag, size, condition), outdated)| Act::Change { frame, tag, size, condition, outdated }),
        2 => (any::<Pick>(), outdated()).prop_map(|(frame, outdated)| Act::Retire { frame, outdated }),
        1 => (any::<Pick>(), outdated()).prop_map(|(frame, outdated)| Act::Restore { frame, outdated }),
    ]
}

/// Sound twice as often as not.
fn condition(which: Pick) -> &'static str {
    CONDITIONS[[0, 0, 0, 1, 2][usize::from(which) % 5]]
}

fn fields(tag: &str, size: Size, condition: &'static str) -> Vec<(&'static str, String)> {
    let (span, width, nails) = SIZES[size];
    let texts = [("tag", tag.to_owned()), ("span", inches(span)), ("width", inches(width))];
    let more = [
        ("nails", nails.to_string()),
        ("condition", condition.to_owned()),
        ("note", "By the door".to_owned()),
    ];
    texts.into_iter().chain(more).collect()
}

fn taken(state: &State, tag: Tag, but: Option<usize>) -> bool {
    state.frames.iter().enumerate().any(|(n, frame)| frame.tag == tag && Some(n) != but)
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Add { tag, size, condition: how } => {
                let (tag, size) = (usize::from(tag) % TAGS.len(), usize::from(size) % SIZES.len());
                Some(add(state, who, tag, size, condition(how)))
            }
            Self::Change { frame, tag, size, condition: how, outdated } => {
                let frame = pick(frame, state.frames.len())?;
                let (tag, size) = (usize::from(tag) % TAGS.len(), usize::from(size) % SIZES.len());
                Some(change(state, who, frame, (tag, size, condition(how)), outdated))
            }
            Self::Retire { frame, outdated } => {
                Some(retire(state, who, pick(frame, state.frames.len())?, outdated))
            }
            Self::Restore { frame, outdated } => {
                Some(restore(state, who, pick(frame, state.frames.len())?, outdated))
            }
        }
    }
}

fn add(state: &mut State, who: Option<usize>, tag: Tag, size: Size, condition: &'static str) -> Step {
    // A tag is taken however it is written.
    let clash = taken(state, tag, None);
    let text = if clash { TAGS[tag].to_uppercase() } else { TAGS[tag].to_owned() };
    let step = Step { fields: fields(&text, size, condition), ..Step::post("/frames", &[]) }.keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if clash {
        return step.wrong(422, &["tag"]);
    }
    let frame = state.frames.len();
    state.frames.push(Frame {
        id: String::new(),
        tag,
        size,
        condition,
        note: "By the door".to_owned(),
        retired: false,
        revision: 1,
    });
    state.note(Some(who), Thing::Frame(frame), "added");
    step.to("/frames/{new}?said=added").learns(Learn::Id(Thing::Frame(frame))).touches([
        View::FramesCsv,
        View::Frames(""),
        View::Frame(frame),
        View::Record,
    ])
}

fn change(
    state: &mut State,
    who: Option<usize>,
    frame: usize,
    (tag, size, condition): (Tag, Size, &'static str),
    outdated: bool,
) -> Step {
    let id = state.frames[frame].id.clone();
    let mut step =
        Step { fields: fields(TAGS[tag], size, condition), ..Step::post(format!("/frames/{id}"), &[]) };
    step.fields.push(("revision", (state.frames[frame].revision - i64::from(outdated)).to_string()));
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let now = &state.frames[frame];
    let clash = taken(state, tag, Some(frame));
    if outdated {
        let (a, b) = (SIZES[now.size], SIZES[size]);
        let differs = [now.tag != tag, a.0 != b.0, a.1 != b.1, a.2 != b.2, now.condition != condition];
        let names = ["tag", "span", "width", "nails", "condition"];
        let mut changed: Vec<_> =
            names.into_iter().zip(differs).filter(|(_, d)| *d).map(|(name, _)| name).collect();
        if changed.is_empty() {
            changed.push("");
        }
        return step.wrong(409, &changed);
    }
    if clash {
        return step.wrong(422, &["tag"]);
    }
    let now = &mut state.frames[frame];
    (now.tag, now.size, now.condition) = (tag, size, condition);
    now.revision += 1;
    state.note(Some(who), Thing::Frame(frame), "changed");
    step.to(format!("/frames/{id}?said=saved")).touches([
        View::FramesCsv,
        View::Frame(frame),
        View::HandOutFrame(frame),
        View::LoansCsv,
        View::Record,
    ])
}

fn retire(state: &mut State, who: Option<usize>, frame: usize, outdated: bool) -> Step {
    let (id, revision) = (&state.frames[frame].id, state.frames[frame].revision - i64::from(outdated));
    let path = format!("/frames/{id}");
    let step = Step::post(format!("{path}/retire"), &[("revision", &revision.to_string())]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if outdated || state.frames[frame].retired {
        return step.no(409);
    }
    if state.loan_of_frame(frame).is_some() {
        return step.wrong(409, &[""]);
    }
    state.frames[frame].retired = true;
    state.frames[frame].revision += 1;
    state.note(Some(who), Thing::Frame(frame), "retired");
    let step = step.to(format!("{path}?said=retired"));
    step.touches([
        View::FramesCsv,
        View::Frames(""),
        View::Frame(frame),
        View::HandOutFrame(frame),
        View::Record,
    ])
}

fn restore(state: &mut State, who: Option<usize>, frame: usize, outdated: bool) -> Step {
    let (id, revision) = (&state.frames[frame].id, state.frames[frame].revision - i64::from(outdated));
    let path = format!("/frames/{id}");
    let step = Step::post(format!("{path}/restore"), &[("revision", &revision.to_string())]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if outdated || !state.frames[frame].retired {
        return step.no(409);
    }
    state.frames[frame].retired = false;
    state.frames[frame].revision += 1;
    state.note(Some(who), Thing::Frame(frame), "put back into use");
    let step = step.to(format!("{path}?said=restored"));
    step.touches([View::FramesCsv, View::Frames("retired"), View::Frame(frame), View::Record])
}
