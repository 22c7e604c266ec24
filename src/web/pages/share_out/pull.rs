//! The pull sheet: what is promised and not yet pulled, in the order of the shelf; and one promise, to pull it by what the
//! scale says, to bring the rest back, or to release it.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::page::why;
use super::{App, CurrentUser, Error, Form, FormData, Layout, PROMISE, Result, promise_id};
use crate::store::cloth::ledger::Refusal;
use crate::store::cloth::promises::Promise;
use crate::store::{PromiseId, RequestKey};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::pages::cloth::reading::weighing;

/// A promise and what to say of it.
struct Line {
    promise: Promise,
    broken: Option<String>,
}

impl Line {
    fn of(promise: Promise, units: Units) -> Self {
        Self { broken: promise.broken().map(|broken| why(broken, units)), promise }
    }

    fn for_what(&self) -> String {
        let part = &self.promise.part;
        if part.warp { "warp".to_owned() } else { part.colour_name.to_lowercase() }
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/pull.html")]
struct PullPage {
    layout: Layout,
    open: Vec<Line>,
    pulled: Vec<Line>,
    printed: String,
    instructor: bool,
    units: Units,
}

pub(super) async fn sheet(State(app): State<App>, me: CurrentUser) -> Result<Response> {
    let units = me.units();
    let all = app.store.read().await?.promises().await?.into_iter().map(|promise| Line::of(promise, units));
    let (open, pulled) = all.partition(|line: &Line| line.promise.is_open());
    let page = PullPage {
        layout: me.layout(),
        open,
        pulled,
        printed: dates::day(me.today(&app)),
        instructor: me.is_instructor(),
        units,
    };
    Ok(page.into_response())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/promise.html")]
struct PromisePage {
    layout: Layout,
    form: Form,
    line: Line,
    instructor: bool,
    units: Units,
}

impl PromisePage {
    async fn load(app: &App, me: &CurrentUser, id: PromiseId, form: Form) -> Result<Self> {
        let all = app.store.read().await?.promises().await?;
        let promise = all.into_iter().find(|promise| promise.id == id).ok_or(PROMISE)?;
        let units = me.units();
        Ok(Self {
            layout: me.layout(),
            form,
            line: Line::of(promise, units),
            instructor: me.is_instructor(),
            units,
        })
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
) -> Result<Response> {
    let page = PromisePage::load(&app, &me, promise_id(&id)?, Form::blank(me.units())).await?;
    Ok(page.into_response())
}

fn why_not(refusal: Refusal, units: Units) -> String {
    match refusal {
        Refusal::NotReady(state) => {
            format!("This bundle is {}. Only washed cloth that is ready is pulled.", state.title())
        }
        Refusal::TooMuch { there } => format!("There is only {} of this bundle.", there.show(units)),
        Refusal::TooMuchBack { out: Mass::ZERO } => {
            "Nothing of this is out, so nothing can come back.".into()
        }
        Refusal::TooMuchBack { out } => {
            format!("Only {} of this is out; no more than that can come back.", out.show(units))
        }
        Refusal::Unchanged => "This was pulled already.".into(),
        _ => "This promise is gone by now. Nothing was changed.".into(),
    }
}

async fn act(app: App, me: CurrentUser, id: String, posted: FormData, back: bool) -> Result<Response> {
    let id = promise_id(&id)?;
    let mut form = posted.form_of(&me);
    let (prefix, to) = if back { ("back_", "/pull?said=put-back") } else { ("pull_", "/pull?said=pulled") };
    let Some(weighing) = weighing(&mut form, prefix, false) else {
        return Ok(
            (StatusCode::UNPROCESSABLE_ENTITY, PromisePage::load(&app, &me, id, form).await?).into_response()
        );
    };
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, to).await?;
    let done = if back {
        tx.put_promise_back(id, form.key, &weighing).await?
    } else {
        tx.pull_promise(id, form.key, &weighing).await?
    };
    match done {
        Ok(_) => {
            tx.commit().await?;
            Ok(Redirect::to(to).into_response())
        }
        Err(Refusal::NoBundle | Refusal::NoEntry) => Err(PROMISE),
        Err(refusal) => {
            drop(tx);
            form.add_error(&format!("{prefix}weight"), why_not(refusal, me.units()));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, PromisePage::load(&app, &me, id, form).await?)
                .into_response())
        }
    }
}

pub(super) async fn pull(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    act(app, me, id, posted, false).await
}

pub(super) async fn back(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    act(app, me, id, posted, true).await
}

pub(super) async fn release(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let id = promise_id(&id)?;
    let form = posted.form_of(&me);
    let to = "/pull?said=released";
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, to).await?;
    if !tx.release_promise(id).await? {
        return Err(Error::Store(crate::store::Error::Stale));
    }
    tx.commit().await?;
    Ok(Redirect::to(to).into_response())
}
