//! The pull sheet: what is promised and not yet pulled, in the order of the shelf, confirmed as a whole; and one promise, to pull it by what the
//! scale says, to bring the rest back, or to release it.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::page::why;
use super::{App, CurrentUser, Form, FormData, Layout, Result};
use crate::store::cloth::ledger::{Refusal, Weighing};
use crate::store::cloth::promises::Promise;
use crate::store::{self, PromiseId, Read, RequestKey};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::cloth::reading::weighing;

/// A promise and what to say of it.
struct PromiseLine {
    promise: Promise,
    broken: Option<String>,
}

impl PromiseLine {
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
pub(super) struct PullPage {
    layout: Layout,
    form: Form,
    open: Vec<PromiseLine>,
    pulled: Vec<PromiseLine>,
    printed: String,
    instructor: bool,
    units: Units,
}

impl PullPage {
    async fn load(read: &mut Read, app: &App, me: &CurrentUser, form: Form) -> Result<Self> {
        let units = me.units();
        let all = read.promises().await?.into_iter().map(|promise| PromiseLine::of(promise, units));
        let (open, pulled) = all.partition(|line: &PromiseLine| line.promise.is_open());
        Ok(Self {
            layout: me.layout(),
            form,
            open,
            pulled,
            printed: dates::day(me.today(app)),
            instructor: me.is_instructor(),
            units,
        })
    }

    /// The field for a promise's weight.
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn field(&self, line: &PromiseLine) -> String {
        format!("{}weight", prefix(&line.promise))
    }
}

/// What the fields of a promise on the sheet begin with.
fn prefix(promise: &Promise) -> String {
    format!("{}_", promise.id)
}

pub(super) async fn sheet(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<PullPage> {
    let form = Form::blank(me.units());
    PullPage::load(&mut read, &app, &me, form).await
}

/// Confirms what of the sheet has a weight, all of it or nothing.
pub(super) async fn pull_all(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let to = "/pull?said=pulled";
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, to).await?;
    let open = tx.promises().await?.into_iter().filter(Promise::is_open);
    let typed: Vec<Promise> =
        open.filter(|promise| !form.is_empty(&format!("{}weight", prefix(promise)))).collect();
    if typed.is_empty() {
        form.add_error("", "Type the weight of at least one bundle, as the scale shows it.");
    }
    let mut parts = 0..;
    for promise in typed {
        let (prefix, part) = (prefix(&promise), parts.next().unwrap_or_default());
        let field = format!("{prefix}weight");
        let Some(weighing) = weighing(&mut form, &prefix, false) else { continue };
        let most = if form.ticked("pull_promised") { None } else { tx.pullable(promise.id).await? };
        if let Some(most) = most.filter(|most| is_beyond(&weighing, *most)) {
            form.add_error(&field, too_much(most, me.units()));
            continue;
        }
        if let Err(refusal) = tx.pull_promise(promise.id, form.key.part(part), &weighing).await? {
            form.add_error(&field, why_not(refusal, me.units()));
        }
    }
    if !form.is_ok() {
        // Nothing of it is kept, so that the same sheet can be confirmed once it is mended.
        drop(tx);
        return Ok(invalid(PullPage::load(&mut app.store.read().await?, &app, &me, form).await?));
    }
    done(tx, to).await
}

/// Whether more was taken than there is to take. Who weighs what the page told them takes as much more as it was rounded up by.
fn is_beyond(weighing: &Weighing, most: Mass) -> bool {
    weighing.net() > most + Mass::SHOWN_TO
}

fn too_much(most: Mass, units: Units) -> String {
    format!(
        "No more than {} is free for this: the rest is promised to others. To take promised cloth anyway, tick the box.",
        most.show(units)
    )
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/promise.html")]
pub(super) struct PromisePage {
    layout: Layout,
    form: Form,
    line: PromiseLine,
    instructor: bool,
    units: Units,
}

impl PromisePage {
    async fn load(read: &mut Read, me: &CurrentUser, id: PromiseId, form: Form) -> Result<Self> {
        let all = read.promises().await?;
        let promise = all.into_iter().find(|promise| promise.id == id).ok_or_else(PromiseId::none)?;
        let units = me.units();
        Ok(Self {
            layout: me.layout(),
            form,
            line: PromiseLine::of(promise, units),
            instructor: me.is_instructor(),
            units,
        })
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }
}

pub(super) async fn show(me: CurrentUser, mut read: Read, Id(id): Id<PromiseId>) -> Result<PromisePage> {
    PromisePage::load(&mut read, &me, id, Form::blank(me.units())).await
}

fn why_not(refusal: Refusal, units: Units) -> String {
    match refusal {
        Refusal::NotReady(state) => {
            format!("This bundle is {}. Only cloth that is washed and ready can be pulled.", state.title())
        }
        Refusal::TooMuch { there } => format!("There is only {} of this bundle.", there.show(units)),
        Refusal::TooMuchBack { out: Mass::ZERO } => {
            "Nothing of this is out, so nothing can come back.".into()
        }
        Refusal::TooMuchBack { out } => {
            format!("Only {} of this is out; no more than that can come back.", out.show(units))
        }
        Refusal::Unchanged => "This was pulled already.".into(),
        _ => "This promise is no longer there. Nothing was changed.".into(),
    }
}

async fn act(app: App, me: CurrentUser, id: PromiseId, posted: FormData, back: bool) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let (prefix, to) = if back { ("back_", "/pull?said=put-back") } else { ("pull_", "/pull?said=pulled") };
    let mut tx = app.write(&me).await?;
    let Some(weighing) = weighing(&mut form, prefix, false) else {
        return Ok(invalid(PromisePage::load(&mut tx, &me, id, form).await?));
    };
    tx.idempotent(form.key, to).await?;
    let most = if back || form.ticked("pull_promised") { None } else { tx.pullable(id).await? };
    let acted = if back {
        tx.put_promise_back(id, form.key, &weighing).await?
    } else {
        tx.pull_promise(id, form.key, &weighing).await?
    };
    match acted {
        Ok(_) if most.is_some_and(|most| is_beyond(&weighing, most)) => {
            // It could be taken, but not by mistake: nothing of it is kept.
            drop(tx);
            form.add_error("pull_weight", too_much(most.unwrap_or_default(), me.units()));
            Ok(invalid(PromisePage::load(&mut app.store.read().await?, &me, id, form).await?))
        }
        Ok(_) => done(tx, to).await,
        Err(Refusal::NoBundle | Refusal::NoEntry) => Err(PromiseId::none()),
        Err(refusal) => {
            form.add_error(&format!("{prefix}weight"), why_not(refusal, me.units()));
            Ok(invalid(PromisePage::load(&mut tx, &me, id, form).await?))
        }
    }
}

pub(super) async fn pull(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PromiseId>,
    posted: FormData,
) -> Result<Response> {
    act(app, me, id, posted, false).await
}

pub(super) async fn back(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PromiseId>,
    posted: FormData,
) -> Result<Response> {
    act(app, me, id, posted, true).await
}

pub(super) async fn release(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PromiseId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let to = "/pull?said=released";
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, to).await?;
    if !tx.release_promise(id).await? {
        return Err(store::Error::Stale.into());
    }
    done(tx, to).await
}
