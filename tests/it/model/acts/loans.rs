//! Frames are handed out with their rods, due days are moved, frames are taken back.
use jiff::ToSpan as _;
use jiff::civil::Date;
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::house::{CONDITIONS, STATES, least_rod};
use crate::model::state::{Back, Loan, State, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    /// From a frame's page or from a rug's; the rods by their place in the list, or none.
    HandOut {
        from_frame: bool,
        frame: Pick,
        rug: Pick,
        rod: Option<Pick>,
        rods: i64,
        days: i64,
    },
    MoveDue {
        loan: Pick,
        days: i64,
        outdated: bool,
    },
    TakeBack {
        loan: Pick,
        condition: Pick,
        rug: Pick,
        bent: i64,
        missing: i64,
    },
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let days = || prop_oneof![5 => 0_i64..6, 1 => Just(-1_i64), 1 => Just(366_i64), 1 => Just(365_i64)];
    let rod = prop_oneof![4 => any::<Pick>().prop_map(Some), 1 => Just(None)];
    let hand_out = (
        any::<bool>(),
        any::<Pick>(),
        any::<Pick>(),
        rod,
        prop_oneof![4 => Just(2_i64), 1 => 0_i64..5],
        days(),
    );
    prop_oneof![
        7 => hand_out.prop_map(|(from_frame, frame, rug, rod, rods, days)| {
            Act::HandOut { from_frame, frame, rug, rod, rods, days }
        }),
        2 => (any::<Pick>(), days(), prop::bool::weighted(0.2))
            .prop_map(|(loan, days, outdated)| Act::MoveDue { loan, days, outdated }),
        5 => (any::<Pick>(), any::<Pick>(), any::<Pick>(), 0_i64..3, 0_i64..2)
            .prop_map(|(loan, condition, rug, bent, missing)| Act::TakeBack { loan, condition, rug, bent, missing }),
    ]
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::HandOut { from_frame, frame, rug, rod, rods, days } => {
                let frame = pick(frame, state.frames.len())?;
                let rug = pick(rug, state.rugs.len())?;
                let rod = rod.and_then(|rod| pick(rod, state.rods.len()));
                Some(hand_out(state, who, from_frame, (frame, rug, rod, rods), days))
            }
            Self::MoveDue { loan, days, outdated } => {
                // The newest come first: they are those that are out.
                let back = pick(loan, state.loans.len())?;
                let loan = state.loans.len() - 1 - back;
                Some(move_due(state, who, loan, days, outdated))
            }
            Self::TakeBack { loan, condition, rug, bent, missing } => {
                let out: Vec<usize> =
                    (0..state.loans.len()).filter(|&n| state.loans[n].back.is_none()).collect();
                let any: Vec<usize> = (0..state.loans.len()).collect();
                // One in eight is a loan of any age.
                let from = if loan % 8 == 7 || out.is_empty() { any } else { out };
                let loan = from[pick(loan, from.len())?];
                let condition = CONDITIONS[[0, 0, 0, 1, 2][usize::from(condition) % 5]];
                let rug = STATES[usize::from(rug) % STATES.len()];
                Some(take_back(state, who, loan, (condition, rug, bent, missing)))
            }
        }
    }
}

/// What is wrong with a due day: it has to lie between today and a year from now.
fn due_wrong(state: &State, due: Date) -> bool {
    due < state.today() || due > state.today() + 1.year()
}

fn hand_out(
    state: &mut State,
    who: Option<usize>,
    from_frame: bool,
    (frame, rug, rod, rods): (usize, usize, Option<usize>, i64),
    days: i64,
) -> Step {
    let due = state.today() + days.days();
    let (frame_id, rug_id) = (state.frames[frame].id.clone(), state.rugs[rug].id.clone());
    let rod_id = rod.map_or("none", |rod| state.rods[rod].id.as_str());
    let (count, due_on) = (rods.to_string(), due.to_string());
    let (path, other) = if from_frame {
        (format!("/frames/{frame_id}/hand-out"), ("rug", rug_id.as_str()))
    } else {
        (format!("/rugs/{rug_id}/hand-out"), ("frame", frame_id.as_str()))
    };
    let step = Step::post(path, &[other, ("rod", rod_id), ("rods", &count), ("due_on", &due_on)]).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let mut wrong = Vec::new();
    // From a rug only frames that can be used are offered; from a frame any rug may be named.
    let offered = from_frame || state.frames[frame].usable();
    if !offered {
        wrong.push("frame");
    }
    if let Some(rod) = rod {
        if !(1..=20).contains(&rods) {
            wrong.push("rods");
        }
        if offered && state.rods[rod].length < least_rod(state.frames[frame].size) {
            wrong.push("rod");
        }
    }
    if due_wrong(state, due) {
        wrong.push("due_on");
    }
    if !wrong.is_empty() {
        return step.wrong(422, &wrong);
    }
    // An error at what the page settles is the form's own.
    let (at_frame, at_rug) = if from_frame { ("", "rug") } else { ("frame", "") };
    let gone = state.people[state.rugs[rug].weaver].left;
    let refused = if !state.frames[frame].usable() {
        Some(at_frame)
    } else if !state.rugs[rug].open() || gone {
        Some(at_rug)
    } else if state.loan_of_frame(frame).is_some() {
        Some(at_frame)
    } else if state.loan_of_rug(rug).is_some() {
        Some(at_rug)
    } else {
        rod.filter(|&rod| state.rods_in(rod) < rods).map(|_| "rods")
    };
    if let Some(field) = refused {
        return step.wrong(409, &[field]);
    }
    let loan = state.loans.len();
    state.loans.push(Loan {
        id: String::new(),
        frame,
        rug,
        rods: rod.map(|rod| (rod, rods)),
        due,
        condition_out: state.frames[frame].condition,
        at: state.now,
        by: who,
        back: None,
    });
    state.set_rug(who, rug, "weaving");
    state.note(Some(who), Thing::Loan(loan), "handed out");
    step.to("/loans/{new}?said=handed-out").learns(Learn::Id(Thing::Loan(loan))).touches(touched(state, loan))
}

fn touched(state: &State, loan: usize) -> Vec<View> {
    let (frame, rug) = (state.loans[loan].frame, state.loans[loan].rug);
    let lists =
        [View::LoansCsv, View::Loans, View::Loan(loan), View::FramesCsv, View::Frames(""), View::Rods];
    let more =
        [View::Frame(frame), View::HandOutFrame(frame), View::HandOutRug(rug), View::Rugs, View::Record];
    lists.into_iter().chain(more).collect()
}

fn move_due(state: &mut State, who: Option<usize>, loan: usize, days: i64, outdated: bool) -> Step {
    let due = state.today() + days.days();
    let was = if outdated { state.loans[loan].due - 1.day() } else { state.loans[loan].due };
    let path = format!("/loans/{}", state.loans[loan].id);
    let fields = [("due_was", was.to_string()), ("due_on", due.to_string())];
    let step = Step { fields: fields.to_vec(), ..Step::post(format!("{path}/due"), &[]) }.keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    // A loan that is over shows no form any more.
    if state.loans[loan].back.is_some() {
        return step.wrong(409, &[""]);
    }
    if due_wrong(state, due) {
        return step.wrong(422, &["due_on"]);
    }
    if outdated {
        return step.wrong(409, &["due_on"]);
    }
    state.loans[loan].due = due;
    state.note(Some(who), Thing::Loan(loan), "due day moved");
    step.to(format!("{path}?said=due-moved")).touches(touched(state, loan))
}

fn take_back(
    state: &mut State,
    who: Option<usize>,
    loan: usize,
    (condition, rug_state, bent, missing): (&'static str, &'static str, i64, i64),
) -> Step {
    let path = format!("/loans/{}", state.loans[loan].id);
    let note = format!("Back no. {loan}");
    let (some_bent, some_missing) = (bent.to_string(), missing.to_string());
    let fields = [
        ("condition", condition),
        ("rug", rug_state),
        ("rods_bent", &some_bent),
        ("rods_missing", &some_missing),
        ("note", &note),
    ];
    let step = Step::post(format!("{path}/take-back"), &fields).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let went = state.loans[loan].rods.map_or(0, |(_, rods)| rods);
    // Of a loan without rods nobody is asked for them.
    let (bent, missing) = if went == 0 { (0, 0) } else { (bent, missing) };
    let mut wrong = Vec::new();
    if bent > went {
        wrong.push("rods_bent");
    }
    if missing > went || (bent <= went && bent + missing > went) {
        wrong.push("rods_missing");
    }
    if !wrong.is_empty() {
        return step.wrong(422, &wrong);
    }
    if state.loans[loan].back.is_some() {
        return step.to(format!("{path}?said=repeated"));
    }
    let (frame, rug) = (state.loans[loan].frame, state.loans[loan].rug);
    state.frames[frame].condition = condition;
    state.frames[frame].revision += 1;
    state.set_rug(who, rug, rug_state);
    state.loans[loan].back = Some(Back { at: state.now, by: who, condition, bent, missing, note });
    if let Some((rod, _)) = state.loans[loan].rods {
        state.rods[rod].bent += bent;
        state.rods[rod].owned -= missing;
        if bent + missing > 0 {
            state.note(Some(who), Thing::Rod(rod), "taken back");
        }
    }
    state.note(Some(who), Thing::Frame(frame), "taken back");
    state.note(Some(who), Thing::Loan(loan), "taken back");
    let touched = touched(state, loan).into_iter().chain([View::PullSheet]);
    step.to(format!("{path}?said=taken-back")).touches(touched)
}
