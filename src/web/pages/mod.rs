//! The pages: one file or folder per noun with its routes, handlers, page structs and forms.
pub(super) mod audit_log;
pub(super) mod auth;
mod build;
mod calendar;
mod cautions;
mod cloth;
mod frames;
mod hand_out;
mod loans;
mod meeting_times;
mod meetings;
mod notices;
pub mod papers;
pub(super) mod people;
mod preferences;
mod receivers;
mod rods;
mod rugs;
mod share_out;
mod sheets;
mod sizes;
mod term_end;
mod terms;
mod timetable;
mod today;
pub(super) mod workroom;

use super::http::assets;
use super::http::route::Route;

/// Every page there is.
pub fn table() -> Vec<Route> {
    [
        assets::routes(),
        build::routes(),
        calendar::routes(),
        cloth::routes(),
        cautions::routes(),
        auth::routes(),
        frames::routes(),
        hand_out::routes(),
        loans::routes(),
        meetings::routes(),
        notices::routes(),
        papers::routes(),
        people::routes(),
        receivers::routes(),
        audit_log::routes(),
        rods::routes(),
        rugs::routes(),
        share_out::routes(),
        sheets::routes(),
        term_end::routes(),
        terms::routes(),
        timetable::routes(),
        today::routes(),
        workroom::routes(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
