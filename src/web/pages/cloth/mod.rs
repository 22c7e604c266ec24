//! Cloth: weighing it in, the shelf, a bundle and its ledger. How weights are added up is the store's.
mod act;
mod bundle;
mod columns;
mod correct;
mod count;
mod import;
mod list;
pub(in crate::web) mod reading;
mod shelf;
mod weigh_in;
mod went;

use crate::web::http::route::{Route, Who, get, post};
use crate::web::http::upload;
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/cloth", Who::SignedIn, shelf::shelf).kept(),
        get("/cloth.csv", Who::Staff, shelf::table),
        get("/cloth/import", Who::Staff, import::page),
        get("/cloth/import.csv", Who::Staff, import::template),
        post("/cloth/import", Who::Staff, import::look_or_take).up_to(upload::LARGEST),
        get("/cloth/weigh-in", Who::Staff, weigh_in::station).at_scale(),
        post("/cloth/weigh-in", Who::Staff, weigh_in::weigh).at_scale(),
        get("/cloth/went", Who::Staff, went::went),
        get("/cloth/went.csv", Who::Staff, went::table),
        get("/cloth/count", Who::Staff, count::counts),
        post("/cloth/count", Who::Staff, count::begin),
        get("/cloth/count/{id}", Who::Staff, count::count),
        post("/cloth/count/{id}/line", Who::Staff, count::line),
        get("/cloth/count/{id}/close", Who::Staff, count::closing),
        post("/cloth/count/{id}/close", Who::Staff, count::close),
        get("/b/{tag}", Who::Staff, bundle::by_tag),
        get("/cloth/{id}", Who::Staff, bundle::show),
        get("/cloth/{id}/correct", Who::Staff, correct::form),
        post("/cloth/{id}/correct", Who::Staff, correct::correct),
        post("/cloth/{id}/state", Who::Staff, act::state),
        post("/cloth/{id}/pull", Who::Staff, act::pull),
        post("/cloth/{id}/put-back", Who::Staff, act::put_back),
        post("/cloth/{id}/cut", Who::Staff, act::cut),
        post("/cloth/{id}/scrap", Who::Staff, act::scrap),
        post("/cloth/{id}/count", Who::Staff, act::count),
        post("/cloth/{id}/undo", Who::Staff, act::undo).at_scale(),
        post("/cloth/{id}/place", Who::Staff, act::place),
    ]
}
