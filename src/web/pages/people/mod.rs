//! People: adding them, changing what is said of them, their personal links, and their leaving.
mod many;
mod terms;

use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::Response;

use super::audit_log::last_by;
use crate::drawing::qr;
use crate::secrets;
use crate::store::people::{Person, PersonFields, Role, name_key};
use crate::store::terms::OwnTerm;
use crate::store::{self, EntityKind, PersonId, Read, units_word};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::auth::passphrase;
use crate::web::http::form::{LINE, NOTE};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::part::{Part, PartQuery};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/people", Who::Instructor, list).kept(),
        get("/people/new", Who::Instructor, new),
        post("/people", Who::Instructor, add),
        get("/people/many", Who::Instructor, many::new),
        post("/people/many", Who::Instructor, many::add),
        get("/people/links", Who::Instructor, many::links),
        post("/people/links", Who::Instructor, many::make_links),
        get("/people/{id}", Who::Instructor, show),
        post("/people/{id}", Who::Instructor, save),
        post("/people/{id}/link", Who::Instructor, replace_link),
        post("/people/{id}/passphrase", Who::Instructor, set_passphrase),
        post("/people/{id}/enrol", Who::Instructor, terms::enrol),
        post("/people/{id}/note", Who::Instructor, terms::note),
        post("/people/{id}/leave", Who::Instructor, leave),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/list.html")]
struct PeoplePage {
    layout: Layout,
    people: Vec<Person>,
    /// Those who left, and which part of them it is.
    gone: Vec<Person>,
    part: Part,
}

/// So many of those who are here are on one page: more than any class has.
const HERE: i64 = 100;
/// So many of those who left are.
const PAGE: i64 = 50;

async fn list(me: CurrentUser, mut read: Read, Query(asked): Query<PartQuery>) -> Result<PeoplePage> {
    let (from, most) = asked.rows(HERE);
    let mut people = read.found_who_is_here(asked.text(), most, from).await?;
    let here = asked.part("/people", HERE, &mut people, me.units());
    let (from, most) = asked.rows(PAGE);
    let mut gone = read.found_who_left(asked.text(), most, from).await?;
    let mut part = asked.part("/people", PAGE, &mut gone, me.units());
    part.after = part.after.or(here.after);
    Ok(PeoplePage { layout: me.layout(), people, gone, part })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/new.html")]
struct NewPersonPage {
    layout: Layout,
    form: Form,
    /// Weavers here who are called the same.
    twins: Vec<Person>,
}

async fn new(me: CurrentUser) -> NewPersonPage {
    let form = Form::blank(me.units()).with("role", Role::Weaver);
    NewPersonPage { layout: me.layout(), form, twins: Vec::new() }
}

/// Reads what can be said of a person.
pub(in crate::web) fn read_fields(form: &mut Form) -> Option<PersonFields> {
    let name = form.text("name", "The name", LINE);
    let contact = form.optional_text("contact", "The contact", NOTE);
    let units = form.optional("units", None, |form| super::preferences::read_units(form).map(Some));
    Some(PersonFields { name: name?, contact: contact?, units: units? })
}

const NAME_TAKEN: &str =
    "An instructor or volunteer of this name is here already. Add an initial or a second name.";

const TWIN: &str = "A weaver of this name is here already. Add something to tell them apart, such as an initial, or tick “This is somebody else”.";

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let page = |form| NewPersonPage { layout: me.layout(), form, twins: Vec::new() };
    let role = form.choice::<Role>("role", "what this person is here");
    let fields = read_fields(&mut form);
    let phrase = match role {
        Some(Role::Instructor | Role::Volunteer) => {
            let name = form.value("name").to_owned();
            passphrase::read_new(&mut form, &[me.workroom(), &name, me.name()])
        }
        _ => None,
    };
    let (Some(role), Some(fields), true) = (role, fields, form.is_ok()) else {
        return Ok(invalid(page(form)));
    };
    let hash = match phrase {
        Some(phrase) => Some(passphrase::hash(app.hashing.for_known()?, phrase).await?),
        None => None,
    };
    let id = PersonId::new();
    let to = format!("/people/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    let twins = if role == Role::Weaver { tx.twins(&fields.name, None).await? } else { Vec::new() };
    if !twins.is_empty() && !form.ticked("twins") {
        form.add_error("name", TWIN);
        return Ok(invalid(NewPersonPage { layout: me.layout(), form, twins }));
    }
    match tx.add_person(id, role, &fields, hash).await {
        Ok(()) => done(tx, &to).await,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error("name", NAME_TAKEN);
            Ok(invalid(page(form)))
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "people/show.html")]
struct PersonPage {
    layout: Layout,
    person: Person,
    form: Form,
    myself: bool,
    /// The terms that run, and whether they are in each.
    terms: Vec<OwnTerm>,
    /// Others here who are called the same.
    twins: Vec<Person>,
}

impl PersonPage {
    async fn load(read: &mut Read, me: &CurrentUser, person: Person, form: Form) -> Result<Self> {
        let weaver = person.role == Role::Weaver && person.left_at.is_none();
        let (terms, twins) = if weaver {
            (read.own_terms(person.id).await?, read.twins(&person.name, Some(person.id)).await?)
        } else {
            (Vec::new(), Vec::new())
        };
        Ok(Self { layout: me.layout(), myself: person.id == me.id(), person, form, terms, twins })
    }
}

fn filled(me: &CurrentUser, person: &Person) -> Form {
    Form::blank(me.units())
        .with("name", &person.name)
        .with("contact", &person.contact)
        .with("units", person.units.map_or("", units_word))
        .with("revision", person.revision)
}

async fn show(me: CurrentUser, mut read: Read, Id(id): Id<PersonId>) -> Result<PersonPage> {
    let person = read.person(id).await?.ok_or_else(PersonId::none)?;
    let form = filled(&me, &person);
    PersonPage::load(&mut read, &me, person, form).await
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PersonId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let person = tx.person(id).await?.ok_or_else(PersonId::none)?;
    let mut form = posted.form_of(&me);
    let Some(fields) = read_fields(&mut form) else {
        return Ok(invalid(PersonPage::load(&mut tx, &me, person, form).await?));
    };
    // Who is called the same as before was asked about then.
    let renamed = name_key(&fields.name) != name_key(&person.name);
    if renamed && person.role == Role::Weaver && person.left_at.is_none() && !form.ticked("twins") {
        let twins = tx.twins(&fields.name, Some(id)).await?;
        if !twins.is_empty() {
            form.add_error("name", TWIN);
            let mut page = PersonPage::load(&mut tx, &me, person, form).await?;
            page.twins = twins;
            return Ok(invalid(page));
        }
    }
    match tx.change_person(id, form.revision(), &fields).await {
        Ok(()) => done(tx, &format!("/people/{id}?said=saved")).await,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error("name", NAME_TAKEN);
            // What the database refused can't read any more.
            drop(tx);
            let mut read = app.store.read().await?;
            Ok(invalid(PersonPage::load(&mut read, &me, person, form).await?))
        }
        Err(store::Error::Stale) => {
            changed_meanwhile(&mut tx, &mut form, id).await?;
            Ok(conflict(PersonPage::load(&mut tx, &me, person, form).await?))
        }
        Err(other) => Err(other.into()),
    }
}

/// Tells a form about a person what somebody else made of it meanwhile.
pub(in crate::web) async fn changed_meanwhile(read: &mut Read, form: &mut Form, id: PersonId) -> Result<()> {
    let now = read.person(id).await?.ok_or_else(PersonId::none)?;
    let who = last_by(read, EntityKind::Person, &id.to_string()).await?;
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
    Id(id): Id<PersonId>,
) -> Result<PersonalLinkPage> {
    let mut tx = app.write(&me).await?;
    let person = tx.person(id).await?.ok_or_else(PersonId::none)?;
    if person.role != Role::Weaver || person.left_at.is_some() {
        return Err(Error::NotFound("weaver"));
    }
    let secret = secrets::secret();
    tx.replace_link(id, &secrets::secret_hash(&secret)).await?;
    tx.commit().await?;
    let link = format!("{}/enter/{secret}", me.origin);
    let qr = qr::svg(&link)?;
    Ok(PersonalLinkPage { layout: me.layout(), person, link, qr })
}

async fn set_passphrase(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<PersonId>,
    posted: FormData,
) -> Result<Response> {
    // Read and let go: a hash takes its time. That there is such a person, and what they are here, never changes; whether they
    // left is asked again.
    let person = app.store.read().await?.person(id).await?.ok_or_else(PersonId::none)?;
    if person.role == Role::Weaver || person.left_at.is_some() {
        return Err(Error::NotFound("instructor or volunteer"));
    }
    let mut form = posted.form_of(&me);
    let Some(phrase) = passphrase::read_new(&mut form, &[me.workroom(), &person.name, me.name()]) else {
        let errors = form.errors().to_vec();
        let mut form = filled(&me, &person);
        for (name, message) in errors {
            form.add_error(&name, message);
        }
        let mut read = app.store.read().await?;
        return Ok(invalid(PersonPage::load(&mut read, &me, person, form).await?));
    };
    let hash = passphrase::hash(app.hashing.for_known()?, phrase).await?;
    let mut tx = app.write(&me).await?;
    tx.set_passphrase(id, hash).await?;
    done(tx, &format!("/people/{id}?said=passphrase-given")).await
}

async fn leave(State(app): State<App>, me: CurrentUser, Id(id): Id<PersonId>) -> Result<Response> {
    if id == me.id() {
        return Err(Error::Unreadable("you can’t take yourself off the list; another instructor can"));
    }
    let mut tx = app.write(&me).await?;
    tx.person_leaves(id).await?;
    done(tx, "/people?said=removed").await
}
