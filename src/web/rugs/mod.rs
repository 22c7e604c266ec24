//! Rugs: choosing one, its plan, its card. What is computed is in `craft`; the forms, pages and dates are here.
mod any_size;
pub(super) mod calendar;
mod card;
mod cloth;
mod compare;
mod edit;
mod finish;
pub(super) mod learning;
mod list;
mod log;
mod preview;
mod reading;
pub(super) mod show;
pub(super) mod spec;
pub(super) mod standing;
mod typed;
mod worked;

use axum::extract::Path;

use super::route::{Route, Who, get, post};
use super::{App, Error, Me, Result};
use crate::craft::Units;
use crate::store::RugId;
use crate::store::rug_log::LogEntry;
use crate::store::rugs::Rug;
use learning::Learning;
use spec::{Known, plan_of};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/rugs", Who::Staff, list::all),
        get("/my", Who::SignedIn, list::mine),
        get("/rugs/any-size", Who::SignedIn, any_size::look),
        post("/rugs/any-size", Who::SignedIn, any_size::plan),
        get("/rugs/any-size/worked", Who::SignedIn, any_size::worked::worked),
        get("/rugs/new", Who::SignedIn, edit::new),
        post("/rugs", Who::SignedIn, edit::add),
        get("/rugs/{id}", Who::SignedIn, show::show),
        post("/rugs/{id}", Who::SignedIn, edit::save),
        get("/rugs/{id}/edit", Who::SignedIn, edit::edit),
        get("/rugs/{id}/worked", Who::SignedIn, worked::worked),
        get("/rugs/{id}/card", Who::SignedIn, card::card),
        get("/rugs/{id}/cloth", Who::SignedIn, cloth::choose),
        post("/rugs/{id}/cloth", Who::SignedIn, cloth::save),
        get("/rugs/{id}/reading", Who::SignedIn, reading::reading),
        get("/rugs/{id}/way", Who::SignedIn, reading::way),
        post("/rugs/{id}/state", Who::SignedIn, edit::set_state),
        get("/rugs/{id}/log", Who::SignedIn, log::new),
        post("/rugs/{id}/log", Who::SignedIn, log::add),
        post("/rugs/{id}/log/undo", Who::SignedIn, log::undo),
        get("/rugs/{id}/finish", Who::SignedIn, finish::form),
        post("/rugs/{id}/finish", Who::SignedIn, finish::finish),
    ]
}

/// The rug's plan by what the class has learnt and by its own log, and that log.
pub(super) async fn known(app: &App, rug: &Rug, units: Units) -> Result<(Known, Vec<LogEntry>)> {
    let mut read = app.store.read().await?;
    let log = read.rug_log(rug.id).await?;
    let learning = Learning::load(&mut read).await?;
    Ok((plan_of(rug, &learning, &log, units)?, log))
}

const WHAT: Error = Error::NotFound("rug");

/// The rug in a path, if there is one and it may be shown to whoever asks: another weaver's rug is as good as none.
pub(super) async fn load(app: &App, me: &Me, Path(id): Path<String>) -> Result<Rug> {
    let id: RugId = id.parse().map_err(|_| WHAT)?;
    let rug = app.store.read().await?.rug(id).await?.ok_or(WHAT)?;
    if me.may_see(rug.weaver_id) { Ok(rug) } else { Err(WHAT) }
}
