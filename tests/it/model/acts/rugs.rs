//! Rugs are planned, by weavers for themselves and by the staff for a weaver, and said to be so far.
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::house::{SIZES, STATES, Size, inches};
use crate::model::state::{Role, Rug, State, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    Plan { weaver: Pick, size: Pick },
    Say { rug: Pick, state: Pick },
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let two = || (any::<Pick>(), any::<Pick>());
    prop_oneof![
        4 => two().prop_map(|(weaver, size)| Act::Plan { weaver, size }),
        2 => two().prop_map(|(rug, state)| Act::Say { rug, state }),
    ]
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Plan { weaver, size } => {
                let weavers: Vec<usize> =
                    (0..state.people.len()).filter(|&n| state.people[n].role == Role::Weaver).collect();
                let weaver = weavers[pick(weaver, weavers.len())?];
                Some(plan(state, who, weaver, usize::from(size) % SIZES.len()))
            }
            Self::Say { rug, state: how } => {
                let rug = pick(rug, state.rugs.len())?;
                // One word in five is unknown.
                let word = STATES.get(usize::from(how) % 5).copied();
                Some(say(state, who, rug, word))
            }
        }
    }
}

fn plan(state: &mut State, who: Option<usize>, weaver: usize, size: Size) -> Step {
    let name = format!("Rug {}", state.rugs.len() + 1);
    let (span, width, nails) = SIZES[size];
    let (span, width, nails) = (inches(span), inches(width), nails.to_string());
    let fields = [
        ("name", name.as_str()),
        ("weaver", &state.people[weaver].id),
        ("size", "other"),
        ("span", &span),
        ("width", &width),
        ("nails", &nails),
        ("strip_width", "1 1/2 in"),
        ("warp_kind", "percale"),
        ("weft_kind", "percale"),
        ("strands", "trade"),
        ("unit_size", "2"),
        ("rugs_before", "0"),
        ("home_minutes", "0"),
        ("band-1-height", "30 in"),
        ("band-1-first", "white"),
        ("band-1-other", "navy"),
    ];
    let step = Step::post("/rugs", &fields).keyed();
    let who = match For::SignedIn.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    // A weaver plans for themselves, whatever the form says.
    let weaver = if state.people[who].role == Role::Weaver { who } else { weaver };
    if state.people[weaver].left {
        return step.wrong(422, &["weaver"]);
    }
    let rug = state.rugs.len();
    state.rugs.push(Rug { id: String::new(), weaver, name, size, state: "planned" });
    state.note(Some(who), Thing::Rug(rug), "planned");
    step.to("/rugs/{new}?said=added").learns(Learn::Id(Thing::Rug(rug))).touches([
        View::Rugs,
        View::My,
        View::HandOutRug(rug),
        View::Record,
    ])
}

fn say(state: &mut State, who: Option<usize>, rug: usize, word: Option<&'static str>) -> Step {
    let path = format!("/rugs/{}", state.rugs[rug].id);
    let step = Step::post(format!("{path}/state"), &[("state", word.unwrap_or("eaten"))]);
    let who = match For::SignedIn.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if state.people[who].role == Role::Weaver && state.rugs[rug].weaver != who {
        return step.no(404);
    }
    let Some(word) = word else { return step.no(400) };
    state.set_rug(who, rug, word);
    // What is promised to it ends with it, or stands again.
    let touched = [View::Rugs, View::My, View::HandOutRug(rug), View::PullSheet, View::Record];
    step.to(format!("{path}?said=saved")).touches(touched)
}
