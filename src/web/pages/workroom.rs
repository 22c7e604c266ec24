//! The workroom's settings, and each person's own.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::preferences::{read_units, read_zone};
use crate::store::workroom::Workroom;
use crate::store::{self, EntityKind, units_word};
use crate::units::{Length, Mass};
use crate::web::http::form::LINE;
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

async fn load(app: &App) -> Result<Workroom> {
    app.store.read().await?.workroom().await?.ok_or(Error::NotFound("workroom"))
}

async fn show(State(app): State<App>, me: CurrentUser) -> Result<WorkroomPage> {
    let now = load(&app).await?;
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
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, show_page(&me, form)).into_response());
    };
    let to = Workroom { name, time_zone, units, scale_mg, tape_nm, revision: form.revision() };
    let mut tx = app.write(&me).await?;
    match tx.change_workroom(&to).await {
        Ok(()) => tx.commit().await?,
        Err(store::Error::Stale) => {
            drop(tx);
            let now = load(&app).await?;
            let who =
                super::audit_log::last_by(&mut app.store.read().await?, EntityKind::Workroom, "workroom")
                    .await?;
            let fields = [
                ("workroom", "The name", now.name),
                ("time_zone", "The time zone", now.time_zone),
                ("units", "The units", units_word(now.units).to_owned()),
                ("scale", "What the scale may be off by", now.scale_mg.exact(me.units())),
                ("tape", "What the tape may be off by", now.tape_nm.exact(me.units())),
            ];
            form.conflict(&who, now.revision, &fields);
            return Ok((StatusCode::CONFLICT, show_page(&me, form)).into_response());
        }
        Err(other) => return Err(other.into()),
    }
    Ok(Redirect::to("/workroom?said=saved").into_response())
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
    async fn load(app: &App, me: &CurrentUser, form: Form) -> Result<Self> {
        let linked = app.store.read().await?.has_calendar_link(me.id()).await?;
        Ok(Self { layout: me.layout(), form, staff: me.is_staff(), weaver: !me.is_staff(), linked })
    }
}

async fn me(State(app): State<App>, me: CurrentUser) -> Result<MePage> {
    let person = app.store.read().await?.person(me.id()).await?.ok_or(Error::NotFound("person"))?;
    let form = Form::blank(me.units())
        .with("name", person.name)
        .with("contact", person.contact)
        .with("units", person.units.map_or("", units_word))
        .with("revision", person.revision);
    MePage::load(&app, &me, form).await
}

async fn save_me(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let again = async |form| {
        let page = MePage::load(&app, &me, form).await?;
        Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
    };
    let Some(fields) = super::people::read_fields(&mut form) else { return again(form).await };
    let mut tx = app.write(&me).await?;
    match tx.change_person(me.id(), form.revision(), &fields).await {
        Ok(()) => tx.commit().await?,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error("name", "Somebody else signs in with this name. Add an initial or a second name.");
            return again(form).await;
        }
        Err(store::Error::Stale) => {
            drop(tx);
            super::people::conflict(&app, &mut form, me.id()).await?;
            return again(form).await;
        }
        Err(other) => return Err(other.into()),
    }
    Ok(Redirect::to("/me?said=saved").into_response())
}

async fn set_passphrase(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let old = form.value("old").to_owned();
    let lock = app.store.read().await?.lock(me.name()).await?;
    let fits = passphrase::fits(&app, old, lock.and_then(|lock| lock.passphrase_hash)).await?;
    if !fits {
        form.add_error("old", "This is not your passphrase up to now.");
    }
    let Some(phrase) = passphrase::read_new(&mut form) else {
        let person = app.store.read().await?.person(me.id()).await?.ok_or(Error::NotFound("person"))?;
        for (name, value) in
            [("name", person.name), ("contact", person.contact), ("revision", person.revision.to_string())]
        {
            form.set(name, value);
        }
        form.set("units", person.units.map_or("", units_word));
        let page = MePage::load(&app, &me, form).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let hash = passphrase::hash(&app, phrase).await?;
    let mut tx = app.write(&me).await?;
    tx.set_passphrase(me.id(), hash).await?;
    tx.commit().await?;
    Ok(Redirect::to("/sign-in?said=passphrase").into_response())
}
