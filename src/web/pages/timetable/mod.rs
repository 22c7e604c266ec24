//! A term's timetable: worked out, looked at, accepted; who is to be told; what is wanted for each turn, and who won't come.
//! What is computed is in `optimize::timetable`.
mod accept;
mod found;
pub(in crate::web) mod page;
mod wishes;

use crate::services::timetable::Options;
use crate::web::Form;
use crate::web::http::route::{Route, Who, get, post};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms/{id}/timetable", Who::Staff, page::show).kept(),
        get("/terms/{id}/timetable/new", Who::Instructor, page::propose),
        post("/terms/{id}/timetable", Who::Instructor, accept::accept),
        post("/terms/{id}/timetable/lock", Who::Instructor, accept::lock),
        post("/terms/{id}/timetable/told", Who::Instructor, accept::told),
        get("/terms/{id}/turns", Who::Instructor, wishes::show),
        post("/terms/{id}/turns", Who::Instructor, wishes::save),
        post("/terms/{id}/absences", Who::Instructor, wishes::save_absences),
    ]
}

/// What an instructor set before a timetable is worked out.
fn read_options(form: &Form) -> Options {
    Options {
        sure: form.value("sure") != "half",
        larger: form.ticked("larger"),
        gap: u32::from(form.value("gap") == "1"),
    }
}
