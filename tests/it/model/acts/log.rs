//! The log of a rug under way: rows so far, corrected downwards too, rows counted one by one, and entries undone.
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::state::{Entry, Role, State, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    /// So many rows so far.
    Rows {
        rug: Pick,
        rows: i64,
    },
    /// So many rows more, or fewer, by the counter: from a page as it is now, or from one before anything was written.
    Count {
        rug: Pick,
        more: i64,
        old: bool,
    },
    Undo {
        entry: Pick,
    },
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let rows = prop_oneof![6 => 0_i64..60, 1 => Just(-1_i64)];
    prop_oneof![
        3 => (any::<Pick>(), rows).prop_map(|(rug, rows)| Act::Rows { rug, rows }),
        3 => (any::<Pick>(), -2_i64..4, prop::bool::weighted(0.1))
            .prop_map(|(rug, more, old)| Act::Count { rug, more, old }),
        1 => any::<Pick>().prop_map(|entry| Act::Undo { entry }),
    ]
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Rows { rug, rows } => Some(log(state, who, pick(rug, state.rugs.len())?, rows)),
            Self::Count { rug, more, old } => {
                Some(count(state, who, pick(rug, state.rugs.len())?, more, old))
            }
            Self::Undo { entry } => {
                let said: Vec<usize> =
                    (0..state.log.len()).filter(|&n| state.log[n].undoes.is_none()).collect();
                Some(undo(state, who, said[pick(entry, said.len())?]))
            }
        }
    }
}

/// Whether the person who acts may see a rug: the staff sees all, a weaver their own.
fn may_see(state: &State, who: usize, rug: usize) -> bool {
    state.people[who].role != Role::Weaver || state.rugs[rug].weaver == who
}

fn log(state: &mut State, who: Option<usize>, rug: usize, rows: i64) -> Step {
    let path = format!("/rugs/{}", state.rugs[rug].id);
    let step = Step::post(format!("{path}/log"), &[("rows", &rows.to_string())]).keyed();
    let who = match For::SignedIn.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !may_see(state, who, rug) {
        return step.no(404);
    }
    let wrong: Vec<&str> = [(!state.rugs[rug].open()).then_some(""), (rows < 0).then_some("rows")]
        .into_iter()
        .flatten()
        .collect();
    if !wrong.is_empty() {
        return step.wrong(422, &wrong);
    }
    let entry = state.log.len();
    state.log.push(Entry { id: String::new(), rug, at: state.now, who, rows, undoes: None, counted: false });
    if rows > 0 && state.rugs[rug].state == "planned" {
        state.set_rug(who, rug, "weaving");
    }
    state.note(Some(who), Thing::Rug(rug), "logged");
    let touched = [View::Rug(rug), View::Rugs, View::Record];
    step.to(format!("{path}?said=logged#standing")).learns(Learn::Entry(entry)).touches(touched)
}

/// A count that rests for longer is another's.
const EVENING: i64 = 4;

fn count(state: &mut State, who: Option<usize>, rug: usize, more: i64, old: bool) -> Step {
    let path = format!("/rugs/{}", state.rugs[rug].id);
    let counts = |n: &usize| state.log[*n].undoes.is_none() && !state.undone(*n);
    let own: Vec<usize> = (0..state.log.len()).filter(|&n| state.log[n].rug == rug).collect();
    let written = own.iter().rev().copied().filter(counts).find(|&n| !state.log[n].counted);
    let before = own.iter().rev().copied().find(counts).map_or(0, |n| state.log[n].rows);
    let from = written.filter(|_| !old).map_or(String::new(), |n| state.log[n].id.clone());
    let step = Step::post(format!("{path}/rows"), &[("more", &more.to_string()), ("from", &from)]).keyed();
    let who = match For::SignedIn.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !may_see(state, who, rug) {
        return step.no(404);
    }
    if !state.rugs[rug].open() {
        return step.wrong(422, &[""]);
    }
    if more == 0 {
        return step.no(400);
    }
    if old && written.is_some() {
        return step.wrong(422, &["rows"]);
    }
    let rows = (before + more).max(0);
    let step = step.to(format!("{path}#count"));
    if rows == before {
        return step;
    }
    let (now, weaving) = (state.now, state.rugs[rug].state == "weaving");
    let goes_on = own.last().copied().filter(counts).filter(|&n| {
        let entry = &state.log[n];
        weaving && entry.counted && entry.who == who && now.duration_since(entry.at).as_hours() < EVENING
    });
    if let Some(n) = goes_on {
        (state.log[n].rows, state.log[n].at) = (rows, now);
        return step.touches([View::Rug(rug), View::Rugs]);
    }
    let entry = state.log.len();
    state.log.push(Entry { id: String::new(), rug, at: now, who, rows, undoes: None, counted: true });
    if rows > 0 && state.rugs[rug].state == "planned" {
        state.set_rug(who, rug, "weaving");
    }
    state.note(Some(who), Thing::Rug(rug), "logged");
    step.learns(Learn::Entry(entry)).touches([View::Rug(rug), View::Rugs, View::Record])
}

fn undo(state: &mut State, who: Option<usize>, entry: usize) -> Step {
    let rug = state.log[entry].rug;
    let path = format!("/rugs/{}", state.rugs[rug].id);
    let step = Step::post(format!("{path}/log/undo"), &[("entry", &state.log[entry].id)]).keyed();
    let who = match For::SignedIn.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if !may_see(state, who, rug) {
        return step.no(404);
    }
    let step = step.to(format!("{path}?said=log-undone#standing"));
    // Undone before: nothing is left to do.
    if state.undone(entry) {
        return step;
    }
    state.log.push(Entry {
        id: String::new(),
        rug,
        at: state.now,
        who,
        rows: 0,
        undoes: Some(entry),
        counted: false,
    });
    state.note(Some(who), Thing::Rug(rug), "log undone");
    step.touches([View::Rug(rug), View::Record])
}
