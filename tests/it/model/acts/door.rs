//! In and out: passphrases, personal links, signing out, and how often one may try.
use proptest::prelude::*;

use super::{Pick, Step, pick};
use crate::model::house::{PASSPHRASES, folded};
use crate::model::state::{Link, Role, State};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Door {
    /// Somebody of the staff types their name and a passphrase.
    SignIn {
        person: Pick,
        right: bool,
    },
    /// Somebody opens a personal link, an old one perhaps.
    Enter {
        link: Pick,
    },
    SignOut,
}

pub fn drawn() -> impl Strategy<Value = Door> {
    prop_oneof![
        4 => (any::<Pick>(), prop::bool::weighted(0.7)).prop_map(|(person, right)| Door::SignIn { person, right }),
        5 => any::<Pick>().prop_map(|link| Door::Enter { link }),
        1 => Just(Door::SignOut),
    ]
}

/// The address that all who try come from, as far as the program knows.
const ADDRESS: &str = "from anywhere";

impl Door {
    pub fn step(&self, state: &mut State, browser: usize) -> Option<Step> {
        match *self {
            Self::SignIn { person, right } => {
                let staff: Vec<usize> =
                    (0..state.people.len()).filter(|&n| state.people[n].role != Role::Weaver).collect();
                let person = staff[pick(person, staff.len())?];
                Some(sign_in(state, browser, person, right))
            }
            Self::Enter { link } => {
                let link = pick(link, state.links.len())?;
                let step = Step::post(&state.links[link].path, &[]);
                let Link { person, works, made, .. } = state.links[link];
                if !works || !state.in_term(person, made) {
                    return Some(step.no(404));
                }
                state.open_session(browser, person);
                Some(step.to("/").touches([View::Doors, View::Record]))
            }
            Self::SignOut => {
                if let Some(session) = state.browsers[browser].take() {
                    state.sessions[session].ended = true;
                }
                Some(Step::post("/sign-out", &[]).to("/sign-in?said=signed-out").touches([View::Doors]))
            }
        }
    }
}

fn sign_in(state: &mut State, browser: usize, person: usize, right: bool) -> Step {
    let who = &state.people[person];
    let typed = if right { who.passphrase.as_str() } else { "not this one, no" };
    let step = Step::post("/sign-in", &[("name", &who.name), ("passphrase", typed), ("to", "/me")]);
    let fits = right && !who.left;
    // On a device that they signed in on before, only the tries on it count.
    let known = state.devices[browser].filter(|device| state.known.contains(&(*device, person)));
    let (own, most) = match known {
        Some(device) => (format!("device {device} {person}"), 10),
        None => (folded(&who.name), 5),
    };
    if state.shut(&own, most) || known.is_none() && state.shut(ADDRESS, 30) {
        return step.no(429);
    }
    state.count_try(&own);
    if known.is_none() {
        state.count_try(ADDRESS);
    }
    if !fits {
        return step.wrong(422, &["name"]);
    }
    // What ended well is taken back: all of one's own, and one of everybody's.
    state.failures.remove(&own);
    if known.is_none() {
        let all = state.failures.get_mut(ADDRESS).unwrap();
        all.count -= 1;
        if all.count == 0 {
            state.failures.remove(ADDRESS);
        }
    }
    state.open_session(browser, person);
    step.to("/me").touches([View::Doors, View::Record])
}

/// An instructor who is still here signs in with the first browser, when nobody could do anything any more; not before
/// their name may be tried.
pub fn open_again(state: &mut State) -> Step {
    let here = |n: &usize| state.people[*n].role == Role::Instructor && !state.people[*n].left;
    let person = (0..state.people.len()).find(here).unwrap();
    debug_assert!(PASSPHRASES.contains(&state.people[person].passphrase.as_str()));
    sign_in(state, 0, person, true)
}
