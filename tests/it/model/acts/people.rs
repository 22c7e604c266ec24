//! People come, change, get links and passphrases, and leave.
use proptest::prelude::*;

use super::{For, Learn, Pick, Step, pick};
use crate::model::house::{NAMES, PASSPHRASES, folded};
use crate::model::state::{Link, Person, Role, State, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    Add { role: Role, name: Pick, passphrase: Pick },
    Change { person: Pick, name: Pick, outdated: bool },
    NewLink { person: Pick },
    NewPassphrase { person: Pick, passphrase: Pick, same: bool },
    OwnPassphrase { passphrase: Pick, known: bool },
    Leave { person: Pick },
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let role = prop_oneof![2 => Just(Role::Instructor), 2 => Just(Role::Volunteer), 5 => Just(Role::Weaver)];
    let two = || (any::<Pick>(), any::<Pick>());
    prop_oneof![
        6 => (role, two()).prop_map(|(role, (name, passphrase))| Act::Add { role, name, passphrase }),
        2 => (two(), prop::bool::weighted(0.3)).prop_map(|((person, name), outdated)| Act::Change { person, name, outdated }),
        4 => any::<Pick>().prop_map(|person| Act::NewLink { person }),
        2 => (two(), prop::bool::weighted(0.8))
            .prop_map(|((person, passphrase), same)| Act::NewPassphrase { person, passphrase, same }),
        1 => (any::<Pick>(), prop::bool::weighted(0.7))
            .prop_map(|(passphrase, known)| Act::OwnPassphrase { passphrase, known }),
        1 => any::<Pick>().prop_map(|person| Act::Leave { person }),
    ]
}

/// Whether somebody else of the staff, of now or of before, signs in with this name.
fn name_taken(state: &State, name: &str, but: Option<usize>) -> bool {
    let staff = |(n, person): (usize, &Person)| {
        Some(n) != but && person.role != Role::Weaver && folded(&person.name) == folded(name)
    };
    state.people.iter().enumerate().any(staff)
}

impl Act {
    pub fn step(&self, state: &mut State, browser: usize, who: Option<usize>) -> Option<Step> {
        match *self {
            Self::Add { role, name, passphrase } => Some(add(state, who, role, name, passphrase)),
            Self::Change { person, name, outdated } => {
                let person = pick(person, state.people.len())?;
                Some(change(state, who, person, NAMES[pick(name, NAMES.len())?], outdated))
            }
            Self::NewLink { person } => Some(new_link(state, who, pick(person, state.people.len())?)),
            Self::NewPassphrase { person, passphrase, same } => {
                let person = pick(person, state.people.len())?;
                let phrase = PASSPHRASES[pick(passphrase, PASSPHRASES.len())?];
                Some(new_passphrase(state, who, person, phrase, same))
            }
            Self::OwnPassphrase { passphrase, known } => Some(own_passphrase(
                state,
                browser,
                who,
                PASSPHRASES[pick(passphrase, PASSPHRASES.len())?],
                known,
            )),
            Self::Leave { person } => Some(leave(state, who, pick(person, state.people.len())?)),
        }
    }
}

/// Whether another weaver is here who is called the same: it is asked whether that is meant.
fn has_twin(state: &State, name: &str, but: Option<usize>) -> bool {
    let twin = |one: &Person| one.role == Role::Weaver && !one.left && folded(&one.name) == folded(name);
    state.people.iter().enumerate().any(|(n, one)| Some(n) != but && twin(one))
}

fn add(state: &mut State, who: Option<usize>, role: Role, name: Pick, passphrase: Pick) -> Step {
    let name = NAMES[usize::from(name) % NAMES.len()];
    let phrase = PASSPHRASES[usize::from(passphrase) % PASSPHRASES.len()];
    let contact = format!("boat {}", state.people.len());
    let mut fields = vec![("role", role.word()), ("name", name), ("contact", &contact)];
    if role != Role::Weaver {
        fields.extend([("passphrase", phrase), ("again", phrase)]);
    }
    let step = Step::post("/people", &fields).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if role != Role::Weaver && name_taken(state, name, None) {
        return step.wrong(422, &["name"]);
    }
    if role == Role::Weaver && has_twin(state, name, None) {
        return step.wrong(422, &["name"]);
    }
    let person = state.people.len();
    state.people.push(Person {
        id: String::new(),
        name: name.to_owned(),
        contact,
        role,
        passphrase: if role == Role::Weaver { String::new() } else { phrase.to_owned() },
        given: role != Role::Weaver,
        left: false,
        revision: 1,
    });
    state.note(Some(who), Thing::Person(person), "added");
    step.to("/people/{new}?said=added").learns(Learn::Id(Thing::Person(person))).touches([
        View::People,
        View::Person(person),
        View::Record,
    ])
}

fn change(state: &mut State, who: Option<usize>, person: usize, name: &str, outdated: bool) -> Step {
    let now = &state.people[person];
    let (id, contact) = (now.id.clone(), now.contact.clone());
    let revision = (now.revision - i64::from(outdated)).to_string();
    let fields =
        [("name", name), ("contact", contact.as_str()), ("units", ""), ("revision", revision.as_str())];
    let step = Step::post(format!("/people/{id}"), &fields);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let renamed = now.role == Role::Weaver && !now.left && folded(&now.name) != folded(name);
    if renamed && has_twin(state, name, Some(person)) {
        return step.wrong(422, &["name"]);
    }
    if outdated {
        return step.wrong(409, &[if now.name == name { "" } else { "name" }]);
    }
    if now.role != Role::Weaver && name_taken(state, name, Some(person)) {
        return step.wrong(422, &["name"]);
    }
    name.clone_into(&mut state.people[person].name);
    state.people[person].revision += 1;
    state.note(Some(who), Thing::Person(person), "changed");
    step.to(format!("/people/{id}?said=saved")).touches([
        View::People,
        View::Person(person),
        View::LoansCsv,
        View::Record,
    ])
}

fn new_link(state: &mut State, who: Option<usize>, person: usize) -> Step {
    let step = Step::post(format!("/people/{}/link", state.people[person].id), &[]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if state.people[person].role != Role::Weaver || state.people[person].left {
        return step.no(404);
    }
    for link in state.links.iter_mut().filter(|link| link.person == person) {
        link.works = false;
    }
    state.end_sessions_only(person);
    for feed in state.feeds.iter_mut().filter(|feed| feed.person == person) {
        feed.replaced = true;
    }
    state.links.push(Link { path: String::new(), person, works: true, made: state.now });
    state.note(Some(who), Thing::Person(person), "link replaced");
    let learn = Learn::Link(state.links.len() - 1);
    let feeds = (0..state.feeds.len()).map(View::Feed);
    step.answers(super::Answer::Page).learns(learn).touches(feeds.chain([View::Doors, View::Record]))
}

fn new_passphrase(state: &mut State, who: Option<usize>, person: usize, phrase: &str, same: bool) -> Step {
    let again = if same { phrase } else { "something else altogether" };
    let path = format!("/people/{}", state.people[person].id);
    let step = Step::post(format!("{path}/passphrase"), &[("passphrase", phrase), ("again", again)]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if state.people[person].role == Role::Weaver || state.people[person].left {
        return step.no(404);
    }
    if !same {
        return step.wrong(422, &["again"]);
    }
    set_passphrase(state, who, person, phrase);
    state.people[person].given = who != person;
    step.to(format!("{path}?said=passphrase-given")).touches([View::Doors, View::Record])
}

/// One's own is changed by those who know the old one, also by those who may do nothing else before. Their sessions end but for a
/// new one here.
fn own_passphrase(state: &mut State, browser: usize, who: Option<usize>, phrase: &str, known: bool) -> Step {
    let old = who.filter(|_| known).map_or("not this one, no", |who| state.people[who].passphrase.as_str());
    let old = old.to_owned();
    let step = Step::post("/me/passphrase", &[("old", &old), ("passphrase", phrase), ("again", phrase)]);
    let given = who.is_some_and(|who| std::mem::take(&mut state.people[who].given));
    let gate = For::Staff.gate(state, who);
    if let Some(who) = who {
        state.people[who].given = given;
    }
    let who = match gate {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let door = format!("person {who}");
    if state.shut(&door, 10) {
        return step.no(429);
    }
    state.count_try(&door);
    if !known {
        return step.wrong(422, &["old"]);
    }
    if old == phrase {
        return step.wrong(422, &["passphrase"]);
    }
    set_passphrase(state, who, who, phrase);
    state.failures.remove(&door);
    state.people[who].given = false;
    state.open_session(browser, who);
    step.to("/me?said=passphrase").touches([View::Doors, View::Record])
}

fn set_passphrase(state: &mut State, who: usize, person: usize, phrase: &str) {
    phrase.clone_into(&mut state.people[person].passphrase);
    state.people[person].revision += 1;
    state.end_sessions(person);
    state.note(Some(who), Thing::Person(person), "passphrase set");
}

fn leave(state: &mut State, who: Option<usize>, person: usize) -> Step {
    let step = Step::post(format!("/people/{}/leave", state.people[person].id), &[]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if who == person {
        return step.no(400);
    }
    if state.people[person].left {
        return step.no(409);
    }
    state.people[person].left = true;
    state.people[person].contact.clear();
    state.people[person].revision += 1;
    for link in state.links.iter_mut().filter(|link| link.person == person) {
        link.works = false;
    }
    state.end_sessions(person);
    state.note(Some(who), Thing::Person(person), "left");
    step.to("/people?said=removed").touches([View::People, View::Person(person), View::Doors, View::Record])
}
