//! Receivers of notices: programs that are told by signed requests. Adding, changing, trying out, a new secret, removing.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;
use reqwest::Url;

use super::audit_log::{Told, history, last_by};
use crate::notify::{Guard, secret_of};
use crate::secrets;
use crate::store::notices::Receiver;
use crate::store::notices::receivers::ReceiverFields;
use crate::store::{self, EntityKind, Read, ReceiverId};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::form::LINE;
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/notices/receivers/new", Who::Instructor, new),
        post("/notices/receivers", Who::Instructor, add),
        get("/notices/receivers/{id}", Who::Instructor, show),
        post("/notices/receivers/{id}", Who::Instructor, save),
        post("/notices/receivers/{id}/try", Who::Instructor, try_out),
        post("/notices/receivers/{id}/secret", Who::Instructor, renew),
        post("/notices/receivers/{id}/remove", Who::Instructor, remove),
    ]
}

/// The longest address that is kept.
const ADDRESS: usize = 500;

#[derive(askama::Template, WebTemplate)]
#[template(path = "receivers/new.html")]
struct NewReceiverPage {
    layout: Layout,
    form: Form,
}

async fn new(me: CurrentUser) -> NewReceiverPage {
    NewReceiverPage { layout: me.layout(), form: Form::blank(me.units()) }
}

/// Reads what can be said of a receiver.
fn read_fields(app: &App, form: &mut Form) -> Option<ReceiverFields> {
    let name = form.text("name", "The name", LINE);
    let url = form.text("url", "The address", ADDRESS);
    if let Some(wrong) = url.as_deref().and_then(|url| wrong_with(url, app.config.private_receivers)) {
        form.add_error("url", wrong);
        return None;
    }
    let (contacts, paused) = (form.ticked("contacts"), form.ticked("paused"));
    Some(ReceiverFields { name: name?, url: url?, contacts, paused })
}

/// Why a receiver can't be at this address. A name is looked up only when something is sent, and held to the same rule.
fn wrong_with(address: &str, inside: bool) -> Option<&'static str> {
    let Ok(url) = address.parse::<Url>() else {
        return Some("It is a web address, such as https://bridge.example/rugs.");
    };
    match url.scheme() {
        "https" => {}
        "http" if inside => {}
        "http" => return Some("It begins with https://, so that nobody on the way can read what is sent."),
        _ => return Some("It begins with https://."),
    }
    if !url.username().is_empty() || url.password().is_some() {
        return Some("Leave the name and password out of it: messages are signed instead.");
    }
    if !(Guard { inside }).allows(&url) {
        return Some(
            "It is an address within a private network. The person who runs Thrumhall can allow those (--private-receivers).",
        );
    }
    None
}

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let Some(fields) = read_fields(&app, &mut form) else {
        return Ok(invalid(NewReceiverPage { layout: me.layout(), form }));
    };
    let id = ReceiverId::new();
    let to = format!("/notices/receivers/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    tx.add_receiver(id, &fields, &secret_of(secrets::random())).await?;
    done(tx, &to).await
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "receivers/show.html")]
struct ReceiverPage {
    layout: Layout,
    receiver: Receiver,
    form: Form,
    history: Vec<Told>,
}

impl ReceiverPage {
    async fn load(me: &CurrentUser, read: &mut Read, receiver: Receiver, form: Form) -> Result<Self> {
        let changes = read.audit_log_of(EntityKind::Receiver, &receiver.id.to_string()).await?;
        Ok(Self { layout: me.layout(), receiver, form, history: history(&changes, &me.wall()) })
    }
}

const fn tick(ticked: bool) -> &'static str {
    if ticked { "yes" } else { "" }
}

async fn show(me: CurrentUser, mut read: Read, Id(id): Id<ReceiverId>) -> Result<ReceiverPage> {
    let receiver = read.receiver(id).await?.ok_or_else(ReceiverId::none)?;
    let form = Form::blank(me.units())
        .with("name", &receiver.name)
        .with("url", &receiver.url)
        .with("contacts", tick(receiver.contacts))
        .with("paused", tick(receiver.paused))
        .with("revision", receiver.revision);
    ReceiverPage::load(&me, &mut read, receiver, form).await
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<ReceiverId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let receiver = tx.receiver(id).await?.ok_or_else(ReceiverId::none)?;
    let mut form = posted.form_of(&me);
    let Some(fields) = read_fields(&app, &mut form) else {
        return Ok(invalid(ReceiverPage::load(&me, &mut tx, receiver, form).await?));
    };
    match tx.change_receiver(id, form.revision(), &fields).await {
        Ok(()) => done(tx, &format!("/notices/receivers/{id}?said=saved")).await,
        Err(store::Error::Stale) => {
            let now = tx.receiver(id).await?.ok_or_else(ReceiverId::none)?;
            let who = last_by(&mut tx, EntityKind::Receiver, &id.to_string()).await?;
            let fields = [
                ("name", "The name", now.name.clone()),
                ("url", "The address", now.url.clone()),
                ("contacts", "Whether it is told how to reach people", tick(now.contacts).to_owned()),
                ("paused", "Whether it is paused", tick(now.paused).to_owned()),
            ];
            form.conflict(&who, now.revision, &fields);
            Ok(conflict(ReceiverPage::load(&me, &mut tx, now, form).await?))
        }
        Err(other) => Err(other.into()),
    }
}

async fn try_out(State(app): State<App>, me: CurrentUser, Id(id): Id<ReceiverId>) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.receiver(id).await?.ok_or_else(ReceiverId::none)?;
    tx.try_receiver(id).await?;
    done(tx, "/notices?said=sending").await
}

async fn renew(State(app): State<App>, me: CurrentUser, Id(id): Id<ReceiverId>) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.receiver(id).await?.ok_or_else(ReceiverId::none)?;
    tx.renew_secret(id, &secret_of(secrets::random())).await?;
    done(tx, &format!("/notices/receivers/{id}?said=secret")).await
}

async fn remove(State(app): State<App>, me: CurrentUser, Id(id): Id<ReceiverId>) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.receiver(id).await?.ok_or_else(ReceiverId::none)?;
    tx.remove_receiver(id).await?;
    done(tx, "/notices?said=removed").await
}
