//! Rods are listed by size and counted.
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::house::{RODS, inches};
use crate::model::state::{Rod, State, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    Add { length: Pick, owned: i64 },
    Count { rod: Pick, act: &'static str, rods: i64 },
    Correct { rod: Pick, length: Pick, outdated: bool },
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let act = prop::sample::select(vec!["bought", "found bent", "straightened", "scrapped", "lost", "eaten"]);
    prop_oneof![
        3 => (any::<Pick>(), -1_i64..8).prop_map(|(length, owned)| Act::Add { length, owned }),
        5 => (any::<Pick>(), act, 0_i64..5).prop_map(|(rod, act, rods)| Act::Count { rod, act, rods }),
        1 => (any::<Pick>(), any::<Pick>(), prop::bool::weighted(0.3))
            .prop_map(|(rod, length, outdated)| Act::Correct { rod, length, outdated }),
    ]
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Add { length, owned } => Some(add(state, who, RODS[pick(length, RODS.len())?], owned)),
            Self::Count { rod, act, rods } => {
                Some(count(state, who, pick(rod, state.rods.len())?, act, rods))
            }
            Self::Correct { rod, length, outdated } => {
                let rod = pick(rod, state.rods.len())?;
                Some(correct(state, who, rod, RODS[pick(length, RODS.len())?], outdated))
            }
        }
    }
}

fn add(state: &mut State, who: Option<usize>, length: i64, owned: i64) -> Step {
    let (long, number) = (inches(length), owned.to_string());
    let step = Step::post("/rods", &[("length", &long), ("diameter", "1/8 in"), ("owned", &number)]).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if owned < 1 {
        return step.wrong(422, &["owned"]);
    }
    if state.rods.iter().any(|rod| rod.length == length) {
        return step.wrong(422, &["length"]);
    }
    let rod = state.rods.len();
    state.rods.push(Rod { id: String::new(), length, owned, bent: 0, revision: 1 });
    state.note(Some(who), Thing::Rod(rod), "added");
    let step = step.to("/rods/{new}?said=added").learns(Learn::Id(Thing::Rod(rod)));
    step.touches([View::Rods, View::Rod(rod), View::Record])
}

fn count(state: &mut State, who: Option<usize>, rod: usize, act: &'static str, rods: i64) -> Step {
    let path = format!("/rods/{}", state.rods[rod].id);
    let step = Step::post(format!("{path}/count"), &[("act", act), ("rods", &rods.to_string())]).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let mut wrong = Vec::new();
    if act == "eaten" {
        wrong.push("act");
    }
    if rods < 1 {
        wrong.push("rods");
    }
    if !wrong.is_empty() {
        return step.wrong(422, &wrong);
    }
    let (straight, bent) = (state.rods_in(rod), state.rods[rod].bent);
    let there = match act {
        "bought" => rods,
        "found bent" | "lost" => straight,
        _ => bent,
    };
    if rods > there {
        return step.wrong(422, &["rods"]);
    }
    let it = &mut state.rods[rod];
    match act {
        "bought" => it.owned += rods,
        "found bent" => it.bent += rods,
        "straightened" => it.bent -= rods,
        "scrapped" => (it.owned, it.bent) = (it.owned - rods, it.bent - rods),
        _ => it.owned -= rods,
    }
    state.note(Some(who), Thing::Rod(rod), act);
    step.to(format!("{path}?said=counted")).touches([View::Rods, View::Rod(rod), View::Record])
}

fn correct(state: &mut State, who: Option<usize>, rod: usize, length: i64, outdated: bool) -> Step {
    let path = format!("/rods/{}", state.rods[rod].id);
    let (long, revision) = (inches(length), (state.rods[rod].revision - i64::from(outdated)).to_string());
    let fields = [("length", long.as_str()), ("diameter", "1/8 in"), ("revision", revision.as_str())];
    let step = Step::post(&path, &fields);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if outdated {
        return step.wrong(409, &[if state.rods[rod].length == length { "" } else { "length" }]);
    }
    if state.rods.iter().enumerate().any(|(n, other)| n != rod && other.length == length) {
        return step.wrong(422, &["length"]);
    }
    state.rods[rod].length = length;
    state.rods[rod].revision += 1;
    state.note(Some(who), Thing::Rod(rod), "changed");
    step.to(format!("{path}?said=saved")).touches([View::Rods, View::Rod(rod), View::LoansCsv, View::Record])
}
