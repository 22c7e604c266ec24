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

use std::sync::Arc;

use crate::services::paper_data::{Reader, RugPaper};
use crate::services::rug_plan::{self, RugPlan};
use crate::store::rugs::Rug;
use crate::store::rugs::log::LogEntry;
use crate::store::{Read, RugId};
use crate::units::Units;
use crate::web::http::id::PathId as _;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Result};

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

/// The rug's plan, for a page that takes it apart, and its log.
pub(in crate::web) async fn known(
    read: &mut Read,
    rug: &Rug,
    units: Units,
) -> Result<(RugPlan, Vec<LogEntry>)> {
    let (known, log) = rug_plan::load(read, rug, units).await?;
    Ok((Arc::unwrap_or_clone(known), log))
}

/// The rug of this id, if there is one and the person who asks may see it: another weaver's rug is as good as none.
pub(in crate::web) async fn load(read: &mut Read, me: &CurrentUser, id: RugId) -> Result<Rug> {
    read.rug(id).await?.filter(|rug| me.may_see(rug.weaver_id)).ok_or_else(RugId::none)
}

/// What a rug's papers say to the person who asks, if they may see it; and for whom it is said.
pub(in crate::web) async fn paper(
    app: &App,
    me: &CurrentUser,
    read: &mut Read,
    id: RugId,
) -> Result<(Reader, RugPaper)> {
    let reader = me.reader(app);
    let rug = load(read, me, id).await?;
    let paper = RugPaper::load(read, &reader, rug).await?;
    Ok((reader, paper))
}
