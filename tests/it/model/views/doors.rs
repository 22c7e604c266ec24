//! Who is signed in: the first page leads each to where they begin.
use super::Seen;
use crate::model::state::{Role, State};

pub fn first_page(state: &State, who: Option<usize>) -> Seen {
    let to = match state.role(who) {
        None => "/sign-in",
        Some(Role::Instructor) => "/today",
        Some(Role::Volunteer) => "/cloth/weigh-in",
        Some(Role::Weaver) => "/my",
    };
    Seen::To(to.into())
}
