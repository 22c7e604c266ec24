//! The end of a term: what is still out, what was made, what isn't done, what cloth it took; and closing it.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Redirect, Response};

use super::terms::{load, term_id};
use crate::store::RequestKey;
use crate::store::calendar::DatedLoan;
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Term;
use crate::units::dates;
use crate::units::{Mass, Units};
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
#[template(path = "terms/close.html")]
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

async fn look(State(app): State<App>, me: CurrentUser, Path(id): Path<String>) -> Result<EndPage> {
    let term = load(&app, term_id(&id)?).await?;
    let mut read = app.store.read().await?;
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

async fn set(app: &App, me: &CurrentUser, id: &str, posted: FormData, closed: bool) -> Result<Response> {
    let term = load(app, term_id(id)?).await?;
    let form = posted.form_of(me);
    let to = format!("/terms/{}?said={}", term.id, if closed { "term-closed" } else { "term-opened" });
    let mut tx = app.write(me).await?;
    tx.idempotent(form.key, &to).await?;
    tx.close_term(term.id, closed).await?;
    tx.commit().await?;
    Ok(Redirect::to(&to).into_response())
}

async fn close(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    set(&app, &me, &id, posted, true).await
}

async fn open(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    set(&app, &me, &id, posted, false).await
}
