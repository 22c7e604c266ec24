//! Choosing one's own passphrase: instead of the one that an instructor gave, or when one wants another.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::store::Read;
use crate::web::http::answer::invalid;
use crate::web::http::auth::entering::{Stay, Visit, open_session_for};
use crate::web::http::auth::passphrase;
use crate::web::http::auth::tries::Doors;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/me/passphrase", Who::Staff, page),
        post("/me/passphrase", Who::Staff, change),
        post("/me/passphrase/strength", Who::Staff, strength),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "own_passphrase/page.html")]
struct OwnPassphrasePage {
    layout: Layout,
    form: Form,
    /// Whether the one up to now was given to them.
    given: bool,
    /// Whether they have one up to now.
    has_one: bool,
}

impl OwnPassphrasePage {
    fn of(me: &CurrentUser, has_one: bool, form: Form) -> Self {
        Self { layout: me.layout(), form, given: me.must_choose(), has_one }
    }
}

async fn page(me: CurrentUser, mut read: Read) -> Result<OwnPassphrasePage> {
    let has_one = read.lock(me.name()).await?.is_some_and(|lock| lock.passphrase_hash.is_some());
    Ok(OwnPassphrasePage::of(&me, has_one, Form::blank(me.units())))
}

/// Their sessions end, and one is opened on this device.
async fn change(State(app): State<App>, me: CurrentUser, visit: Visit, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let old = form.value("old").chars().take(passphrase::MOST + 1).collect();
    let doors = Doors::of_person(me.id());
    // Read and let go: comparing and hashing take their time.
    let mut read = app.store.read().await?;
    doors.are_open(&app, &mut read).await?;
    let kept = read.lock(me.name()).await?.and_then(|lock| lock.passphrase_hash);
    drop(read);
    let place = app.hashing.for_known()?;
    doors.count(&app).await?;
    let has_one = kept.is_some();
    if !passphrase::fits(place, old, kept.clone()).await? {
        form.add_error("old", "This is not your current passphrase.");
    } else if form.value("old") == form.value("passphrase") {
        form.add_error("passphrase", "This is your current one. Choose another.");
    }
    let Some(phrase) = passphrase::read_new(&mut form, &[me.workroom(), me.name()]) else {
        return Ok(invalid(OwnPassphrasePage::of(&me, has_one, form)));
    };
    let hash = passphrase::hash(app.hashing.for_known()?, phrase).await?;
    let mut tx = app.write(&me).await?;
    // Asked again: one that was replaced just now changes nothing.
    if tx.lock(me.name()).await?.and_then(|lock| lock.passphrase_hash) != kept {
        drop(tx);
        form.add_error("old", "This is not your current passphrase.");
        return Ok(invalid(OwnPassphrasePage::of(&me, has_one, form)));
    }
    tx.set_passphrase(me.id(), hash).await?;
    doors.forgive(&mut tx).await?;
    open_session_for(&app, tx, &visit, me.id(), Stay::Staff, "/me?said=passphrase").await
}

/// How hard the passphrase is to guess that somebody is typing, for themselves or for somebody whom they add.
async fn strength(me: CurrentUser, posted: FormData) -> String {
    let form = posted.form_of(&me);
    passphrase::told(&form, &[me.workroom(), me.name(), form.value("name")])
}
