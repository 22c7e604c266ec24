//! Somebody else's second factors: what they have, and taking them off when they are lost.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::store::auth::second_factors::Factors;
use crate::store::people::{Person, Role};
use crate::store::{PersonId, Read};
use crate::web::http::answer::done;
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, Error, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "second_factor/of_person.html")]
pub(super) struct FactorsPage {
    layout: Layout,
    person: Person,
    factors: Factors,
    myself: bool,
}

async fn staff(read: &mut Read, id: PersonId) -> Result<Person> {
    let person = read.person(id).await?.ok_or_else(PersonId::none)?;
    if person.role == Role::Weaver || person.left_at.is_some() {
        return Err(Error::NotFound("instructor or volunteer"));
    }
    Ok(person)
}

pub(super) async fn show(me: CurrentUser, mut read: Read, Id(id): Id<PersonId>) -> Result<FactorsPage> {
    let person = staff(&mut read, id).await?;
    let factors = read.factors(id).await?;
    Ok(FactorsPage { layout: me.layout(), person, factors, myself: id == me.id() })
}

pub(super) async fn remove(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PersonId>,
) -> Result<Response> {
    if id == me.id() {
        return Err(Error::Unreadable("your own second factors are changed on your own page"));
    }
    let mut tx = app.write(&me).await?;
    tx.lock_person(id).await?;
    staff(&mut tx, id).await?;
    tx.take_off_factors(id).await?;
    done(tx, &format!("/people/{id}?said=factors-off")).await
}
