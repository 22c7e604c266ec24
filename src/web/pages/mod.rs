//! The pages: one file or folder per noun with its routes, handlers, page structs and forms.
pub(super) mod audit_log;
pub(super) mod auth;
mod backups;
mod build;
mod calendar;
mod cautions;
mod cloth;
mod find;
mod frames;
mod guide;
mod hand_out;
mod loans;
mod look;
mod meeting_times;
mod meetings;
mod messages;
mod notices;
mod own_passphrase;
pub mod papers;
pub(super) mod people;
mod personal_data;
mod preferences;
mod prices;
mod receivers;
mod rods;
mod rugs;
mod second_factor;
mod share_out;
mod sheets;
mod sizes;
mod tablets;
mod term_end;
mod terms;
mod timetable;
mod today;
pub(super) mod workroom;

use super::http::route::Route;
use super::http::{assets, health};

/// Every page there is.
pub fn table() -> Vec<Route> {
    [
        assets::routes(),
        backups::routes(),
        build::routes(),
        calendar::routes(),
        cloth::routes(),
        cautions::routes(),
        auth::routes(),
        find::routes(),
        frames::routes(),
        guide::routes(),
        hand_out::routes(),
        health::routes(),
        loans::routes(),
        look::routes(),
        meetings::routes(),
        messages::routes(),
        notices::routes(),
        papers::routes(),
        people::routes(),
        personal_data::routes(),
        receivers::routes(),
        audit_log::routes(),
        rods::routes(),
        rugs::routes(),
        second_factor::routes(),
        share_out::routes(),
        sheets::routes(),
        tablets::routes(),
        term_end::routes(),
        terms::routes(),
        timetable::routes(),
        today::routes(),
        own_passphrase::routes(),
        workroom::routes(),
    ]
    .into_iter()
    .flatten()
    .collect()
}
