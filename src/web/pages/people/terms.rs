//! What an instructor does with a person besides changing their name: enrolling them in a term, and a note.
use axum::extract::State;
use axum::response::Response;

use crate::store::waiting::Seat;
use crate::store::{PersonId, TermId};
use crate::web::http::answer::done;
use crate::web::http::form::NOTE;
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, Error, FormData, Result};

pub(super) async fn enrol(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PersonId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    tx.person(id).await?.ok_or_else(PersonId::none)?;
    let term = form.value("term").parse::<TermId>().map_err(|_| TermId::none())?;
    tx.term(term).await?.filter(|term| term.closed_at.is_none()).ok_or_else(TermId::none)?;
    let said = match tx.enrol_or_wait(term, id).await? {
        Seat::Enrolled => "enrolled",
        Seat::Waiting => "waits",
    };
    done(tx, &format!("/people/{id}?said={said}")).await
}

pub(super) async fn note(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PersonId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let person = tx.person(id).await?.filter(|one| one.left_at.is_none()).ok_or_else(PersonId::none)?;
    let Some(note) = form.optional_text("note", "The note", NOTE) else {
        return Err(Error::Unreadable("the note is longer than 2000 characters, or can’t be kept"));
    };
    let was = form.value("was").replace("\r\n", "\n");
    // Another instructor wrote meanwhile: neither note is lost.
    let note = if was == person.note {
        note
    } else {
        [person.note.as_str(), &note].join("\n").chars().take(NOTE).collect()
    };
    tx.note_person(id, &person.note, &note).await?;
    done(tx, &format!("/people/{id}?said=saved")).await
}
