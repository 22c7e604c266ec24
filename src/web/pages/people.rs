//! People: adding them, changing what is said of them, their personal links, and their leaving.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::drawing::qr;
use crate::secrets;
use crate::store::people::{Person, PersonFields, Role};
use crate::store::{self, EntityKind, PersonId, units_word};
use crate::web::http::form::{LINE, NOTE};
use crate::web::http::passphrase;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/people", Who::Instructor, list),
        get("/people/new", Who::Instructor, new),
        post("/people", Who::Instructor, add),
        get("/people/{id}", Who::Instructor, show),
        post("/people/{id}", Who::Instructor, save),
        post("/people/{id}/link", Who::Instructor, replace_link),
        post("/people/{id}/passphrase", Who::Instructor, set_passphrase),
        post("/people/{id}/leave", Who::Instructor, leave),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/list.html")]
struct PeoplePage {
    layout: Layout,
    people: Vec<Person>,
}

async fn list(State(app): State<App>, me: CurrentUser) -> Result<PeoplePage> {
    let people = app.store.read().await?.people().await?;
    Ok(PeoplePage { layout: me.layout(), people })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/new.html")]
struct NewPersonPage {
    layout: Layout,
    form: Form,
}

async fn new(me: CurrentUser) -> NewPersonPage {
    NewPersonPage { layout: me.layout(), form: Form::blank(me.units()).with("role", Role::Weaver) }
}

/// Reads what can be said of a person.
pub(in crate::web) fn read_fields(form: &mut Form) -> Option<PersonFields> {
    let name = form.text("name", "The name", LINE);
    let contact = form.optional_text("contact", "The contact", NOTE);
    let units = form.optional("units", None, |form| super::preferences::read_units(form).map(Some));
    Some(PersonFields { name: name?, contact: contact?, units: units? })
}

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let again = |me: &CurrentUser, form| {
        Ok((StatusCode::UNPROCESSABLE_ENTITY, NewPersonPage { layout: me.layout(), form }).into_response())
    };
    let role = form.choice::<Role>("role", "what this person is here");
    let fields = read_fields(&mut form);
    let phrase = match role {
        Some(Role::Instructor | Role::Volunteer) => passphrase::read_new(&mut form),
        _ => None,
    };
    let (Some(role), Some(fields), true) = (role, fields, form.is_ok()) else { return again(&me, form) };
    let hash = match phrase {
        Some(phrase) => Some(passphrase::hash(&app, phrase).await?),
        None => None,
    };
    let id = PersonId::new();
    let to = format!("/people/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    match tx.add_person(id, role, &fields, hash).await {
        Ok(()) => tx.commit().await?,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error(
                "name",
                "An instructor or volunteer of this name is here already. Add an initial or a second name.",
            );
            return again(&me, form);
        }
        Err(other) => return Err(other.into()),
    }
    Ok(Redirect::to(&to).into_response())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/show.html")]
struct PersonPage {
    layout: Layout,
    person: Person,
    form: Form,
    myself: bool,
}

async fn load(app: &App, id: PersonId) -> Result<Person> {
    app.store.read().await?.person(id).await?.ok_or(Error::NotFound("person"))
}

/// The id in a path, or "there is no such person".
pub(in crate::web) fn person_id(text: &str) -> Result<PersonId> {
    text.parse().map_err(|_| Error::NotFound("person"))
}

fn filled(me: &CurrentUser, person: &Person) -> Form {
    Form::blank(me.units())
        .with("name", &person.name)
        .with("contact", &person.contact)
        .with("units", person.units.map_or("", units_word))
        .with("revision", person.revision)
}

async fn show(State(app): State<App>, me: CurrentUser, Path(id): Path<String>) -> Result<PersonPage> {
    let person = load(&app, person_id(&id)?).await?;
    let form = filled(&me, &person);
    Ok(PersonPage { layout: me.layout(), myself: person.id == me.id(), person, form })
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let person = load(&app, person_id(&id)?).await?;
    let id = person.id;
    let mut form = posted.form_of(&me);
    let again = |status, form, person| {
        Ok((status, PersonPage { layout: me.layout(), myself: id == me.id(), person, form }).into_response())
    };
    let Some(fields) = read_fields(&mut form) else {
        return again(StatusCode::UNPROCESSABLE_ENTITY, form, person);
    };
    let mut tx = app.write(&me).await?;
    match tx.change_person(id, form.revision(), &fields).await {
        Ok(()) => tx.commit().await?,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error(
                "name",
                "An instructor or volunteer of this name is here already. Add an initial or a second name.",
            );
            return again(StatusCode::UNPROCESSABLE_ENTITY, form, person);
        }
        Err(store::Error::Stale) => {
            drop(tx);
            conflict(&app, &mut form, id).await?;
            return again(StatusCode::CONFLICT, form, person);
        }
        Err(other) => return Err(other.into()),
    }
    Ok(Redirect::to(&format!("/people/{id}?said=saved")).into_response())
}

/// Tells a form about a person what somebody else made of it meanwhile.
pub(in crate::web) async fn conflict(app: &App, form: &mut Form, id: PersonId) -> Result<()> {
    let now = load(app, id).await?;
    let who =
        super::audit_log::last_by(&mut app.store.read().await?, EntityKind::Person, &id.to_string()).await?;
    let units = now.units.map_or("", units_word).to_owned();
    let fields = [
        ("name", "The name", now.name),
        ("contact", "The contact", now.contact),
        ("units", "The units", units),
    ];
    form.conflict(&who, now.revision, &fields);
    Ok(())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/link.html")]
struct PersonalLinkPage {
    layout: Layout,
    person: Person,
    link: String,
    qr: String,
}

/// Makes a new personal link and shows it this once: only its hash is kept, so it can't be shown again.
async fn replace_link(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
) -> Result<PersonalLinkPage> {
    let person = load(&app, person_id(&id)?).await?;
    if person.role != Role::Weaver || person.left_at.is_some() {
        return Err(Error::NotFound("weaver"));
    }
    let secret = secrets::secret();
    let mut tx = app.write(&me).await?;
    tx.replace_link(person.id, &secrets::secret_hash(&secret)).await?;
    tx.commit().await?;
    let link = format!("{}/enter/{secret}", me.origin);
    let qr = qr::svg(&link)?;
    Ok(PersonalLinkPage { layout: me.layout(), person, link, qr })
}

async fn set_passphrase(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let person = load(&app, person_id(&id)?).await?;
    if person.role == Role::Weaver {
        return Err(Error::NotFound("instructor or volunteer"));
    }
    let mut form = posted.form_of(&me);
    let Some(phrase) = passphrase::read_new(&mut form) else {
        let errors = form.errors().to_vec();
        let mut form = filled(&me, &person);
        for (name, message) in errors {
            form.add_error(&name, message);
        }
        let page = PersonPage { layout: me.layout(), myself: person.id == me.id(), person, form };
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let hash = passphrase::hash(&app, phrase).await?;
    let mut tx = app.write(&me).await?;
    tx.set_passphrase(person.id, hash).await?;
    tx.commit().await?;
    Ok(Redirect::to(&format!("/people/{}?said=passphrase", person.id)).into_response())
}

async fn leave(State(app): State<App>, me: CurrentUser, Path(id): Path<String>) -> Result<Redirect> {
    let id = person_id(&id)?;
    if id == me.id() {
        return Err(Error::Unreadable("you can’t take yourself off the list; another instructor can"));
    }
    let mut tx = app.write(&me).await?;
    tx.person_leaves(id).await?;
    tx.commit().await?;
    Ok(Redirect::to("/people?said=removed"))
}
