//! The list of those who are here, and each person's page.
use super::{Part, Seen};
use crate::model::house::folded;
use crate::model::state::{Role, State};

/// Who is here, by role and then name; of one name the one who came first.
pub fn list(state: &State) -> Seen {
    let mut here: Vec<_> = state.people.iter().filter(|person| !person.left).collect();
    here.sort_by_key(|person| (person.role, folded(&person.name)));
    let row = |person: &&crate::model::state::Person| {
        vec![person.name.clone(), person.role.word().to_owned(), person.contact.clone()]
    };
    Seen::Html(vec![Part::Rows("main tbody tr", here.iter().map(row).collect())])
}

pub fn one(state: &State, person: usize, me: usize) -> Seen {
    let it = &state.people[person];
    let here = usize::from(!it.left);
    let (weaver, staff) =
        (usize::from(it.role == Role::Weaver) * here, usize::from(it.role != Role::Weaver) * here);
    Seen::Html(vec![
        Part::Texts("h1", vec![it.name.clone()]),
        Part::Attrs("main [name=name]", "value", vec![it.name.clone()]),
        Part::Texts("main [name=contact]", if it.left { Vec::new() } else { vec![it.contact.clone()] }),
        Part::Attrs("main [name=revision]", "value", vec![it.revision.to_string()]),
        Part::Count("main form[action$='/link']", weaver),
        Part::Count("main form[action$='/passphrase']", staff),
        Part::Count("main form[action$='/leave']", if person == me { 0 } else { here }),
    ])
}
