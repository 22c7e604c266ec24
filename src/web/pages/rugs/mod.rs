//! Rugs: choosing one, its plan, its card. What is computed is in `planning`; the forms and pages are here.
mod any_size;
mod card;
mod choices;
mod cloth;
mod compare;
mod edit;
mod finish;
mod list;
mod log;
mod preview;
mod reading;
mod show;
mod typed;
mod worked;

use crate::services::learning::Learning;
use crate::services::rug_plan::{RugPlan, plan_of};
use crate::store::rugs::Rug;
use crate::store::rugs::log::LogEntry;
use crate::store::terms::Meeting;
use crate::store::{Read, RugId};
use crate::units::Units;
use crate::web::http::id::PathId as _;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{CurrentUser, Result};

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
pub(in crate::web) async fn known(
    read: &mut Read,
    rug: &Rug,
    units: Units,
) -> Result<(RugPlan, Vec<LogEntry>)> {
    let log = read.rug_log(rug.id).await?;
    let learning = Learning::load(read).await?;
    Ok((std::sync::Arc::unwrap_or_clone(plan_of(rug, &learning, &log, units)?), log))
}

/// The rug of this id, if there is one and the person who asks may see it: another weaver's rug is as good as none.
pub(in crate::web) async fn load(read: &mut Read, me: &CurrentUser, id: RugId) -> Result<Rug> {
    read.rug(id).await?.filter(|rug| me.may_see(rug.weaver_id)).ok_or_else(RugId::none)
}

/// The meetings of the rug's term; none without one.
pub(in crate::web) async fn meetings(read: &mut Read, rug: &Rug) -> Result<Vec<Meeting>> {
    match rug.fields.term_id {
        Some(term) => Ok(read.meetings(term).await?),
        None => Ok(Vec::new()),
    }
}
