//! In and out: passphrases, personal links, signing out, and how often one may try.
use jiff::ToSpan as _;
use proptest::prelude::*;

use super::{Pick, Step, pick};
use crate::model::house::{PASSPHRASES, folded};
use crate::model::state::{Failures, Role, Session, State, Thing};
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
                let step = Step::get(&state.links[link].path);
                if !state.links[link].works {
                    return Some(step.no(404));
                }
                open(state, browser, state.links[link].person, 180);
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

/// A new session of so many days, in the place of whatever this browser held.
fn open(state: &mut State, browser: usize, person: usize, days: i64) {
    let ends = state.now + (days * 24).hours();
    state.browsers[browser] = Some(state.sessions.len());
    state.sessions.push(Session { person, ends, ended: false });
    state.note(Some(person), Thing::Person(person), "signed in");
}

fn sign_in(state: &mut State, browser: usize, person: usize, right: bool) -> Step {
    let who = &state.people[person];
    let typed = if right { who.passphrase.as_str() } else { "not this one, no" };
    let step = Step::post("/sign-in", &[("name", &who.name), ("passphrase", typed), ("to", "/me")]);
    let name = folded(&who.name);
    let fits = right && !who.left;
    let window = 15.minutes();
    let shut = |door: &str, tries: i64| {
        state.failures.get(door).is_some_and(|f| f.count >= tries && f.since + window > state.now)
    };
    if shut(&name, 5) || shut(ADDRESS, 30) {
        return step.no(429);
    }
    if fits {
        state.failures.remove(&name);
        open(state, browser, person, 14);
        return step.to("/me").touches([View::Doors, View::Record]);
    }
    for door in [name.as_str(), ADDRESS] {
        let fresh = Failures { count: 0, since: state.now };
        let counted = state.failures.get(door).copied().filter(|f| f.since + window >= state.now);
        let counted = counted.unwrap_or(fresh);
        state.failures.insert(door.to_owned(), Failures { count: counted.count + 1, ..counted });
    }
    step.wrong(422, &["name"])
}

/// An instructor who is still here signs in with the first browser, when nobody could do anything any more; not before
/// their name may be tried.
pub fn open_again(state: &mut State) -> Step {
    let here = |n: &usize| state.people[*n].role == Role::Instructor && !state.people[*n].left;
    let person = (0..state.people.len()).find(here).unwrap();
    debug_assert!(PASSPHRASES.contains(&state.people[person].passphrase.as_str()));
    sign_in(state, 0, person, true)
}
