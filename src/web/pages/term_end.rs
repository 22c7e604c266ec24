//! The end of a term: what is still out, what was made, what isn't done, what cloth it took; and closing it.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::store::calendar::DatedLoan;
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Term;
use crate::store::{Read, RequestKey, TermId};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::http::answer::done;
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms/{id}/close", Who::Instructor, look),
        post("/terms/{id}/close", Who::Instructor, close),
        post("/terms/{id}/open", Who::Instructor, open),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "term_end/page.html")]
struct EndPage {
    layout: Layout,
    term: Term,
    /// Frames that are out, each with the day it is due.
    out: Vec<(DatedLoan, String)>,
    made: Vec<Rug>,
    open: Vec<Rug>,
    cloth: Mass,
    units: Units,
}

impl EndPage {
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }
}

async fn look(me: CurrentUser, mut read: Read, Id(id): Id<TermId>) -> Result<EndPage> {
    let term = read.term(id).await?.ok_or_else(TermId::none)?;
    let loans = read.term_loans(term.id).await?;
    let (made, rest): (Vec<Rug>, Vec<Rug>) =
        read.rugs(None, Some(term.id)).await?.into_iter().partition(|rug| rug.state == RugState::Finished);
    Ok(EndPage {
        layout: me.layout(),
        out: loans.into_iter().map(|loan| (loan.clone(), dates::short_day(loan.due_on.0))).collect(),
        made,
        open: rest.into_iter().filter(|rug| rug.state != RugState::GivenUp).collect(),
        cloth: read.in_finished_rugs(Some(term.id)).await?,
        units: me.units(),
        term,
    })
}

async fn set(app: &App, me: &CurrentUser, id: TermId, posted: FormData, closed: bool) -> Result<Response> {
    let mut tx = app.write(me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let to = format!("/terms/{id}?said={}", if closed { "term-closed" } else { "term-opened" });
    tx.idempotent(posted.form_of(me).key, &to).await?;
    tx.close_term(id, closed).await?;
    done(tx, &to).await
}

async fn close(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    set(&app, &me, id, posted, true).await
}

async fn open(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    set(&app, &me, id, posted, false).await
}
