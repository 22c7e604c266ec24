//! Rugs: choosing one, its plan, its card. What is computed is in `planning`; the forms and pages are here.
mod any_size;
mod board;
mod card;
mod choices;
mod cloth;
mod coming;
mod compare;
mod edit;
mod finish;
pub(in crate::web::pages) mod list;
mod log;
mod noted;
mod preview;
mod reading;
mod rows;
mod show;
mod suggest;
mod typed;
mod worked;

use crate::services::attendance::Attendance;
use crate::services::paper_data::{Reader, RugPaper};
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::RugPlan;
use crate::store::rugs::Rug;
use crate::store::terms::Meeting;
use crate::store::{Read, RugId};
use crate::web::http::id::PathId as _;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Result};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/rugs", Who::Staff, list::all).kept(),
        get("/my", Who::SignedIn, list::mine).kept(),
        post("/my/coming", Who::SignedIn, coming::say),
        get("/rugs/any-size", Who::SignedIn, any_size::look),
        post("/rugs/any-size", Who::SignedIn, any_size::plan),
        get("/rugs/any-size/sewing", Who::SignedIn, any_size::sewn::screen),
        get("/rugs/any-size/sewing.pdf", Who::SignedIn, any_size::sewn::file),
        get("/rugs/any-size/worked", Who::SignedIn, any_size::worked::worked),
        get("/rugs/suggest", Who::SignedIn, suggest::page),
        get("/rugs/rests", Who::SignedIn, suggest::rests::page),
        get("/terms/{id}/designs", Who::Instructor, suggest::class::page),
        post("/terms/{id}/designs", Who::Instructor, suggest::class::keep),
        get("/rugs/new", Who::SignedIn, edit::new),
        post("/rugs", Who::SignedIn, edit::add),
        get("/rugs/{id}", Who::SignedIn, show::show).kept(),
        post("/rugs/{id}", Who::SignedIn, edit::save),
        get("/rugs/{id}/edit", Who::SignedIn, edit::edit),
        get("/rugs/{id}/worked", Who::SignedIn, worked::worked),
        get("/rugs/{id}/card", Who::SignedIn, card::card),
        get("/rugs/{id}/cloth", Who::SignedIn, cloth::choose),
        post("/rugs/{id}/cloth", Who::SignedIn, cloth::save),
        get("/rugs/{id}/reading", Who::SignedIn, reading::reading),
        get("/rugs/{id}/way", Who::SignedIn, reading::way),
        post("/rugs/{id}/note", Who::SignedIn, noted::note),
        post("/rugs/{id}/pattern", Who::Instructor, noted::pattern),
        post("/rugs/{id}/state", Who::SignedIn, edit::set_state),
        get("/rugs/{id}/log", Who::SignedIn, log::new),
        post("/rugs/{id}/log", Who::SignedIn, log::add),
        post("/rugs/{id}/log/undo", Who::SignedIn, log::undo),
        get("/rugs/{id}/count", Who::SignedIn, rows::page).kept(),
        post("/rugs/{id}/rows", Who::SignedIn, rows::press),
        get("/rugs/{id}/finish", Who::SignedIn, finish::form),
        post("/rugs/{id}/finish", Who::SignedIn, finish::finish),
    ]
}

/// The rug of this id, if there is one and the person who asks may see it: another weaver's rug is as good as none.
pub(in crate::web) async fn load(read: &mut Read, me: &CurrentUser, id: RugId) -> Result<Rug> {
    read.rug(id).await?.filter(|rug| me.may_see(rug.weaver_id)).ok_or_else(RugId::none)
}

/// When the rest of a rug is woven, and its own chance: by the plan, its meetings, and who was there.
async fn calendar(
    app: &App,
    me: &CurrentUser,
    read: &mut Read,
    (rug, known): (&Rug, &RugPlan),
    meetings: &[Meeting],
) -> Result<Calendar> {
    let attendance = Attendance::of_rug(read, rug).await?;
    let (now, zone) = (app.clock.now(), &me.zone());
    let calendar = Calendar::of(rug, known, meetings, now, zone, me.units());
    Ok(calendar.attended(rug, &known.status, meetings, &attendance, (now, zone)))
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
