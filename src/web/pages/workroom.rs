//! The workroom's settings, and each person's own.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::audit_log::last_by;
use super::people::{changed_meanwhile, read_fields};
use super::preferences::{read_units, read_zone};
use super::prices;
use super::tablets::{TabletLine, open_now};
use crate::store::auth::{Device, OpenSession};
use crate::store::people::Person;
use crate::store::workroom::Workroom;
use crate::store::{self, EntityKind, PersonId, Read, units_word};
use crate::units::{Length, Mass, dates};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::auth::entering::Visit;
use crate::web::http::form::LINE;
use crate::web::http::id::PathId as _;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/workroom", Who::Instructor, show),
        post("/workroom", Who::Instructor, save),
        get("/me", Who::SignedIn, me),
        post("/me", Who::SignedIn, save_me),
        post("/me/sessions/end", Who::SignedIn, end_session),
        post("/me/sessions/end-all", Who::SignedIn, end_sessions),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "workroom/show.html")]
struct WorkroomPage {
    layout: Layout,
    form: Form,
    zones: Vec<String>,
}

impl WorkroomPage {
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn version(&self) -> &'static str {
        env!("CARGO_PKG_VERSION")
    }
}

fn show_page(me: &CurrentUser, form: Form) -> WorkroomPage {
    let mut zones: Vec<String> = jiff::tz::db().available().map(|zone| zone.to_string()).collect();
    zones.sort_unstable();
    WorkroomPage { layout: me.layout(), form, zones }
}

/// What a box sends when it is ticked, and when it isn't.
fn ticked(yes: bool) -> &'static str {
    if yes { "yes" } else { "" }
}

/// The clock as the field for it says it.
fn clock_word(twelve_hours: bool) -> &'static str {
    if twelve_hours { "12" } else { "24" }
}

async fn load(read: &mut Read) -> Result<Workroom> {
    read.workroom().await?.ok_or(Error::NotFound("workroom"))
}

async fn show(me: CurrentUser, mut read: Read) -> Result<WorkroomPage> {
    let now = load(&mut read).await?;
    let mut form = Form::blank(me.units())
        .with("workroom", now.name)
        .with("time_zone", now.time_zone)
        .with("units", units_word(now.units))
        .with("scale", now.scale_mg.exact(me.units()))
        .with("tape", now.tape_nm.exact(me.units()))
        .with("clock", clock_word(now.twelve_hours))
        .with("second_factor", ticked(now.second_factor_required))
        .with("revision", now.revision);
    for (name, _, value) in prices::filled(now.prices.as_ref(), me.units()) {
        form.set(name, value);
    }
    Ok(show_page(&me, form))
}

async fn save(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let name = form.text("workroom", "The workroom’s name", LINE);
    let (zone, units) = (read_zone(&mut form), read_units(&mut form));
    let scale = form.mass("scale", Mass::ZERO, Mass::from_grams(500.0));
    let tape = form.length("tape", Length::ZERO, Length::inches(2.0));
    let twelve_hours = form.value("clock") == clock_word(true);
    let prices = prices::read(&mut form);
    let (Some(name), Some(time_zone), Some(units), Some(scale_mg), Some(tape_nm), Ok(prices)) =
        (name, zone, units, scale, tape, prices)
    else {
        return Ok(invalid(show_page(&me, form)));
    };
    let second_factor_required = form.ticked("second_factor");
    let to = Workroom {
        name,
        time_zone,
        units,
        scale_mg,
        tape_nm,
        prices,
        second_factor_required,
        twelve_hours,
        revision: form.revision(),
    };
    let mut tx = app.write(&me).await?;
    match tx.change_workroom(&to).await {
        Ok(()) => done(tx, "/workroom?said=saved").await,
        Err(store::Error::Stale) => {
            let now = load(&mut tx).await?;
            let who = last_by(&mut tx, EntityKind::Workroom, "workroom").await?;
            let prices = prices::filled(now.prices.as_ref(), me.units());
            let mut fields = vec![
                ("workroom", "The name", now.name),
                ("time_zone", "The time zone", now.time_zone),
                ("units", "The units", units_word(now.units).to_owned()),
                ("clock", "The clock", clock_word(now.twelve_hours).to_owned()),
                ("scale", "What the scale may be off by", now.scale_mg.exact(me.units())),
                ("tape", "What the tape may be off by", now.tape_nm.exact(me.units())),
                (
                    "second_factor",
                    "Whether a second step is asked for",
                    ticked(now.second_factor_required).to_owned(),
                ),
            ];
            fields.extend(prices);
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
    ways: WaysIn,
}

/// How somebody is in: whether they have a calendar link, and where they are signed in.
struct WaysIn {
    linked: bool,
    sessions: Vec<SessionLine>,
    /// The tablets at the scale, which instructors end.
    tablets: Vec<TabletLine>,
}

/// One of their sessions.
struct SessionLine {
    handle: String,
    device: Device,
    /// Whether it is the one that asks.
    here: bool,
    since: String,
    used: String,
    until: String,
}

impl WaysIn {
    async fn load(app: &App, read: &mut Read, me: &CurrentUser, visit: &Visit) -> Result<Self> {
        let wall = me.wall();
        let sessions = read.sessions(me.id(), app.clock.now()).await?;
        let line = |one: &OpenSession| SessionLine {
            handle: one.handle().to_owned(),
            device: one.device,
            here: visit.held.as_ref() == Some(&one.token_hash),
            since: dates::moment(one.made_at, &wall),
            used: dates::moment(one.seen_at, &wall),
            until: dates::moment(one.expires_at, &wall),
        };
        Ok(Self {
            linked: read.has_calendar_link(me.id()).await?,
            sessions: sessions.iter().map(line).collect(),
            tablets: if me.is_instructor() { open_now(app, read, &wall).await? } else { Vec::new() },
        })
    }
}

impl MePage {
    fn of(me: &CurrentUser, ways: WaysIn, form: Form) -> Self {
        Self { layout: me.layout(), form, staff: me.is_staff(), weaver: !me.is_staff(), ways }
    }
}

/// A form with what is said of a person filled in.
fn filled(form: Form, person: Person) -> Form {
    form.with("name", person.name)
        .with("contact", person.contact)
        .with("units", person.units.map_or("", units_word))
        .with("revision", person.revision)
}

async fn me(State(app): State<App>, me: CurrentUser, visit: Visit, mut read: Read) -> Result<MePage> {
    let person = read.person(me.id()).await?.ok_or_else(PersonId::none)?;
    let ways = WaysIn::load(&app, &mut read, &me, &visit).await?;
    Ok(MePage::of(&me, ways, filled(Form::blank(me.units()), person)))
}

async fn save_me(
    State(app): State<App>,
    me: CurrentUser,
    visit: Visit,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    // Asked before anything is written: what the database refused can't read any more.
    let ways = WaysIn::load(&app, &mut tx, &me, &visit).await?;
    let mut form = posted.form_of(&me);
    let Some(fields) = read_fields(&mut form) else { return Ok(invalid(MePage::of(&me, ways, form))) };
    match tx.change_person(me.id(), form.revision(), &fields).await {
        Ok(()) => done(tx, "/me?said=saved").await,
        Err(e) if e.violates("u_person__name_key") => {
            form.add_error("name", "Somebody else signs in with this name. Add an initial or a second name.");
            Ok(invalid(MePage::of(&me, ways, form)))
        }
        Err(store::Error::Stale) => {
            changed_meanwhile(&mut tx, &mut form, me.id()).await?;
            Ok(conflict(MePage::of(&me, ways, form)))
        }
        Err(other) => Err(other.into()),
    }
}

/// Ends one of one's own sessions: the one that somebody forgot on a borrowed device.
async fn end_session(
    State(app): State<App>,
    me: CurrentUser,
    visit: Visit,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    if !tx.end_session_called(me.id(), form.value("session")).await? {
        return Err(Error::NotFound("session; it may have ended meanwhile"));
    }
    let own = visit.held.is_some_and(|held| held.starts_with(form.value("session")));
    done(tx, if own { "/sign-in?said=signed-out" } else { "/me?said=signed-out-there" }).await
}

/// Ends all of one's own sessions, this one too.
async fn end_sessions(State(app): State<App>, me: CurrentUser) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.end_sessions(me.id()).await?;
    done(tx, "/sign-in?said=signed-out-everywhere").await
}
