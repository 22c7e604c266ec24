//! The link that `thrumhall let-in` prints: whoever it is for sets a new passphrase, once.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::Response;

use crate::secrets;
use crate::store::auth::half_way::LetInLink;
use crate::store::{Actor, Read};
use crate::units::Units;
use crate::web::http::answer::{done, invalid};
use crate::web::http::auth::passphrase;
use crate::web::{App, Error, Form, FormData, Layout, Result};

const GONE: Error = Error::NotFound("link to a new passphrase; it works once, and for half an hour");

#[derive(askama::Template, WebTemplate)]
#[template(path = "second_factor/let_in.html")]
pub(super) struct LetInPage {
    layout: Layout,
    form: Form,
    token: String,
    link: LetInLink,
}

pub(super) async fn show(
    State(app): State<App>,
    mut read: Read,
    Path(token): Path<String>,
) -> Result<LetInPage> {
    let link = read.let_in_link(&secrets::secret_hash(&token), app.clock.now()).await?.ok_or(GONE)?;
    Ok(LetInPage { layout: Layout::bare(), form: Form::blank(Units::Inches), token, link })
}

pub(super) async fn set(
    State(app): State<App>,
    Path(token): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let hash = secrets::secret_hash(&token);
    let now = app.clock.now();
    // Looked at before anything is hashed.
    let mut read = app.store.read().await?;
    let link = read.let_in_link(&hash, now).await?.ok_or(GONE)?;
    let workroom = read.workroom().await?.map_or_else(String::new, |workroom| workroom.name);
    drop(read);
    let mut form = posted.form(Units::Inches);
    let Some(phrase) = passphrase::read_new(&mut form, &[&workroom, &link.name]) else {
        return Ok(invalid(LetInPage { layout: Layout::bare(), form, token, link }));
    };
    let phrase = passphrase::hash(app.hashing.for_stranger()?, phrase).await?;
    let mut tx = app.store.write(Actor { person: Some(link.person_id), at: now }).await?;
    if !tx.use_let_in_link(&hash).await? {
        return Err(GONE);
    }
    if link.forget_factors {
        tx.take_off_factors(link.person_id).await?;
    }
    tx.set_passphrase(link.person_id, phrase).await?;
    done(tx, "/sign-in?said=passphrase").await
}
