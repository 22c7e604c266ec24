//! The workroom's settings, and each person's own.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::audit_log::last_by;
use super::people::{changed_meanwhile, read_fields};
use super::preferences::{read_units, read_zone};
use crate::store::people::Person;
use crate::store::workroom::Workroom;
use crate::store::{self, EntityKind, PersonId, Read, units_word};
use crate::units::{Length, Mass};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::form::LINE;
use crate::web::http::id::PathId as _;
use crate::web::http::passphrase;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/workroom", Who::Instructor, show),
        post("/workroom", Who::Instructor, save),
        get("/me", Who::SignedIn, me),
        post("/me", Who::SignedIn, save_me),
        post("/me/passphrase", Who::Staff, set_passphrase),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "workroom/show.html")]
struct WorkroomPage {
    layout: Layout,
    form: Form,
    zones: Vec<String>,
}

fn show_page(me: &CurrentUser, form: Form) -> WorkroomPage {
    let mut zones: Vec<String> = jiff::tz::db().available().map(|zone| zone.to_string()).collect();
    zones.sort_unstable();
    WorkroomPage { layout: me.layout(), form, zones }
}

async fn load(read: &mut Read) -> Result<Workroom> {
    read.workroom().await?.ok_or(Error::NotFound("workroom"))
}

async fn show(me: CurrentUser, mut read: Read) -> Result<WorkroomPage> {
    let now = load(&mut read).await?;
    let form = Form::blank(me.units())
        .with("workroom", now.name)
        .with("time_zone", now.time_zone)
        .with("units", units_word(now.units))
        .with("scale", now.scale_mg.exact(me.units()))
        .with("tape", now.tape_nm.exact(me.units()))
        .with("revision", now.revision);
    Ok(show_page(&me, form))
}

async fn save(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let name = form.text("workroom", "The workroom’s name", LINE);
    let (zone, units) = (read_zone(&mut form), read_units(&mut form));
    let scale = form.mass("scale", Mass::ZERO, Mass::from_grams(500.0));
    let tape = form.length("tape", Length::ZERO, Length::inches(2.0));
    let (Some(name), Some(time_zone), Some(units), Some(scale_mg), Some(tape_nm)) =
        (name, zone, units, scale, tape)
    else {
        return Ok(invalid(show_page(&me, form)));
    };
    let to = Workroom { name, time_zone, units, scale_mg, tape_nm, revision: form.revision() };
    let mut tx = app.write(&me).await?;
    match tx.change_workroom(&to).await {
        Ok(()) => done(tx, "/workroom?said=saved").await,
        Err(store::Error::Stale) => {
            let now = load(&mut tx).await?;
            let who = last_by(&mut tx, EntityKind::Workroom, "workroom").await?;
            let fields = [
                ("workroom", "The name", now.name),
                ("time_zone", "The time zone", now.time_zone),
                ("units", "The units", units_word(now.units).to_owned()),
                ("scale", "What the scale may be off by", now.scale_mg.exact(me.units())),
                ("tape", "What the tape may be off by", now.tape_nm.exact(me.units())),
            ];
            form.conflict(&who, now.revision, &fields);
            Ok(conflict(show_page(&me, form)))
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "workroom/me.html")]
struct MePage {
    layout: Layout,
    form: Form,
    staff: bool,
    weaver: bool,
    /// Whether they have a calendar link.
    linked: bool,
}

impl MePage {
    fn of(me: &CurrentUser, linked: bool, form: Form) -> Self {
        Self { layout: me.layout(), form, staff: me.is_staff(), weaver: !me.is_staff(), linked }
    }
}

/// A form with what is said of a person filled in.
fn filled(form: Form, person: Person) -> Form {
    form.with("name", person.name)
        .with("contact", person.contact)
        .with("units", person.units.map_or("", units_word))
        .with("revision", person.revision)
}

async fn me(me: CurrentUser, mut read: Read) -> Result<MePage> {
    let person = read.person(me.id()).await?.ok_or_else(PersonId::none)?;
    let linked = read.has_calendar_link(me.id()).await?;
    Ok(MePage::of(&me, linked, filled(Form::blank(me.units()), person)))
}

async fn save_me(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    // Asked before anything is written: what the database refused can't read any more.
    let linked = tx.has_calendar_link(me.id()).await?;
    let mut form = posted.form_of(&me);
    let Some(fields) = read_fields(&mut form) else { return Ok(invalid(MePage::of(&me, linked, form))) };
    match tx.change_person(me.id(), form.revision(), &fields).await {
        Ok(()) => done(tx, "/me?said=saved").await,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error("name", "Somebody else signs in with this name. Add an initial or a second name.");
            Ok(invalid(MePage::of(&me, linked, form)))
        }
        Err(store::Error::Stale) => {
            changed_meanwhile(&mut tx, &mut form, me.id()).await?;
            Ok(conflict(MePage::of(&me, linked, form)))
        }
        Err(other) => Err(other.into()),
    }
}

async fn set_passphrase(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let old = form.value("old").to_owned();
    // Everything is read first and let go: comparing and hashing take their time.
    let mut read = app.store.read().await?;
    let lock = read.lock(me.name()).await?;
    let person = read.person(me.id()).await?.ok_or_else(PersonId::none)?;
    let linked = read.has_calendar_link(me.id()).await?;
    drop(read);
    let fits = passphrase::fits(&app, old, lock.and_then(|lock| lock.passphrase_hash)).await?;
    if !fits {
        form.add_error("old", "This is not your passphrase up to now.");
    }
    let Some(phrase) = passphrase::read_new(&mut form) else {
        return Ok(invalid(MePage::of(&me, linked, filled(form, person))));
    };
    let hash = passphrase::hash(&app, phrase).await?;
    let mut tx = app.write(&me).await?;
    tx.set_passphrase(me.id(), hash).await?;
    done(tx, "/sign-in?said=passphrase").await
}
