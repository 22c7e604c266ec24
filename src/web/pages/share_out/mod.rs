//! The share-out: the instructor picks rugs, the program finds cloth for them, the instructor accepts; then the pull sheet.
//! What is computed is in `optimize::share_out`.
mod act;
mod choose;
mod lack;
mod page;
mod pull;
mod start;

use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/share-out", Who::Instructor, start::start),
        post("/share-out", Who::Instructor, start::begin),
        get("/share-out/{id}", Who::Instructor, page::show),
        post("/share-out/{id}/stop", Who::Instructor, act::stop),
        post("/share-out/{id}/accept", Who::Instructor, act::accept),
        post("/share-out/{id}/again", Who::Instructor, act::again),
        post("/share-out/{id}/drop", Who::Instructor, act::set_aside),
        get("/share-out/{id}/choose/{number}", Who::Instructor, choose::choose),
        post("/share-out/{id}/choose/{number}", Who::Instructor, choose::save),
        get("/pull", Who::Staff, pull::sheet),
        post("/pull", Who::Staff, pull::pull_all),
        get("/promises/{id}", Who::Staff, pull::show),
        post("/promises/{id}/pull", Who::Staff, pull::pull),
        post("/promises/{id}/back", Who::Staff, pull::back),
        post("/promises/{id}/release", Who::Instructor, pull::release),
    ]
}
