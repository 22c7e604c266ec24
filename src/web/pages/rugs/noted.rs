//! A note on a rug, and whether weavers may start from it.
use axum::extract::State;
use axum::response::Response;

use crate::store::{self, RugId};
use crate::web::http::answer::done;
use crate::web::http::form::NOTE;
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, Error, FormData, Result};

/// What two notes that were written at once are parted by.
const BOTH: &str = "\n";

pub(super) async fn note(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let Some(note) = form.optional_text("note", "The note", NOTE) else {
        return Err(Error::Unreadable("the note is longer than 2000 characters, or can’t be kept"));
    };
    let was = form.value("was").replace("\r\n", "\n");
    // Somebody else wrote meanwhile: neither note is lost.
    let (was, note) = if was == rug.note {
        (was, note)
    } else {
        (rug.note.clone(), [rug.note.as_str(), &note].join(BOTH).chars().take(NOTE).collect())
    };
    match tx.note_rug(id, &was, &note).await {
        Ok(()) => done(tx, &format!("/rugs/{id}?said=saved#note")).await,
        Err(store::Error::Stale) => Err(RugId::none()),
        Err(other) => Err(other.into()),
    }
}

pub(super) async fn pattern(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    super::load(&mut tx, &me, id).await?;
    tx.set_pattern(id, form.ticked("pattern")).await?;
    done(tx, &format!("/rugs/{id}?said=saved")).await
}
