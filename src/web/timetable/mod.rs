//! A term's timetable: worked out, looked at, accepted; who is to be told; what is wanted for each turn, and who won't come.
//! What is computed is in `class::timetable`.
mod accept;
mod board;
mod found;
pub(super) mod page;
pub(super) mod turn;
mod wishes;

use super::route::{Route, Who, get, post};
use super::{App, Asked, Error, Form, Me, Posted, Result, Shell};
use crate::store::TermId;

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms/{id}/timetable", Who::Staff, page::show),
        get("/terms/{id}/timetable/new", Who::Instructor, page::propose),
        post("/terms/{id}/timetable", Who::Instructor, accept::accept),
        post("/terms/{id}/timetable/lock", Who::Instructor, accept::lock),
        post("/terms/{id}/timetable/told", Who::Instructor, accept::told),
        get("/terms/{id}/turns", Who::Instructor, wishes::show),
        post("/terms/{id}/turns", Who::Instructor, wishes::save),
        post("/terms/{id}/absences", Who::Instructor, wishes::save_absences),
    ]
}

fn term_id(text: &str) -> Result<TermId> {
    text.parse().map_err(|_| board::WHAT)
}
