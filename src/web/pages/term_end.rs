//! The end of a term: what is still out, what was made, what isn't done and goes on into another term, what cloth it took; and
//! closing it.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::store::calendar::DatedLoan;
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Term;
use crate::store::{Read, RequestKey, RugId, TermId};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms/{id}/close", Who::Instructor, look),
        post("/terms/{id}/close", Who::Instructor, close),
        post("/terms/{id}/open", Who::Instructor, open),
        post("/terms/{id}/go-on", Who::Instructor, go_on),
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
    /// Terms in which they can go on: id and name.
    others: Vec<(String, String)>,
    cloth: Mass,
    units: Units,
    form: Form,
}

impl EndPage {
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }

    /// Whether a rug is ticked: all are, until somebody chose.
    fn goes_on(&self, rug: &RugId) -> bool {
        self.form.is_ok() || self.form.values("rug").any(|id| id == rug.to_string())
    }

    async fn load(me: &CurrentUser, read: &mut Read, id: TermId, form: Option<Form>) -> Result<Self> {
        let term = read.term(id).await?.ok_or_else(TermId::none)?;
        let loans = read.term_loans(term.id).await?;
        let (made, rest): (Vec<Rug>, Vec<Rug>) = read
            .rugs(None, Some(term.id))
            .await?
            .into_iter()
            .partition(|rug| rug.state == RugState::Finished);
        let others: Vec<(String, String)> = others(read, id).await?;
        let form = form.unwrap_or_else(|| {
            let form = Form::blank(me.units());
            // The terms that run come newest first.
            others.first().map_or_else(|| form.clone(), |(id, _)| form.clone().with("into", id))
        });
        Ok(Self {
            layout: me.layout(),
            out: loans.into_iter().map(|loan| (loan.clone(), dates::short_day(loan.due_on.0))).collect(),
            made,
            open: rest.into_iter().filter(|rug| rug.state.is_open()).collect(),
            others,
            cloth: read.in_finished_rugs(Some(term.id)).await?,
            units: me.units(),
            form,
            term,
        })
    }
}

/// The terms that run besides one.
async fn others(read: &mut Read, id: TermId) -> Result<Vec<(String, String)>> {
    let terms = read.terms().await?.into_iter().filter(|term| term.closed_at.is_none() && term.id != id);
    Ok(terms.map(|term| (term.id.to_string(), term.name)).collect())
}

async fn look(me: CurrentUser, mut read: Read, Id(id): Id<TermId>) -> Result<EndPage> {
    EndPage::load(&me, &mut read, id, None).await
}

/// Rugs that aren't done go on in another term, with the frame they are on; their weavers are enrolled there.
async fn go_on(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let mut form = posted.form_of(&me);
    let to = format!("/terms/{id}/close?said=gone-on");
    tx.idempotent(form.key, &to).await?;
    let into = form.choice::<TermId>("into", "the term in which they go on");
    let terms = others(&mut tx, id).await?;
    let into =
        into.and_then(|into| terms.into_iter().find(|(known, _)| *known == into.to_string()).zip(Some(into)));
    if into.is_none() {
        form.add_error("into", "Choose a term that runs.");
    }
    let rugs = tx.rugs(None, Some(id)).await?;
    let ticked: Vec<String> = form.values("rug").map(str::to_owned).collect();
    let chosen: Vec<&Rug> =
        rugs.iter().filter(|rug| rug.state.is_open() && ticked.contains(&rug.id.to_string())).collect();
    if chosen.is_empty() {
        form.add_error("rug", "Tick at least one rug.");
    }
    let (Some(((_, name), into)), true) = (into, form.is_ok()) else {
        return Ok(invalid(EndPage::load(&me, &mut tx, id, Some(form)).await?));
    };
    for rug in chosen {
        tx.go_on_in(rug.id, into, &name).await?;
        tx.enrol(into, rug.weaver_id).await?;
    }
    done(tx, &to).await
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
