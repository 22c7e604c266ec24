//! The way in and out: first start, signing in, personal links, signing out, and where each role begins.
use std::net::SocketAddr;

use askama_web::WebTemplate;
use axum::extract::{ConnectInfo, FromRequestParts, Path, Query, State};
use axum::http::request::Parts;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use jiff::{Span, ToSpan as _};

use crate::secrets;
use crate::store::people::{PersonFields, Role, name_key};
use crate::store::{Actor, PersonId, Read};
use crate::units::Units;
use crate::web::http::answer::invalid;
use crate::web::http::form::LINE;
use crate::web::http::page;
use crate::web::http::passphrase;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::http::session::cookie_name;
use crate::web::{App, Error, Form, FormData, Layout, MaybeUser, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/", Who::Anyone, home),
        get("/setup/{token}", Who::Anyone, setup),
        post("/setup/{token}", Who::Anyone, set_up),
        get("/sign-in", Who::Anyone, sign_in_page),
        post("/sign-in", Who::Anyone, sign_in),
        get("/enter/{token}", Who::Anyone, enter),
        post("/sign-out", Who::Anyone, sign_out),
    ]
}

async fn home(MaybeUser(role, _): MaybeUser) -> Redirect {
    Redirect::to(match role {
        None => "/sign-in",
        Some(Role::Instructor) => "/today",
        Some(Role::Volunteer) => "/cloth/weigh-in",
        Some(Role::Weaver) => "/my",
    })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "auth/setup.html")]
struct SetupPage {
    layout: Layout,
    form: Form,
    token: String,
    zones: Vec<String>,
}

fn setup_page(token: String, form: Form) -> SetupPage {
    let mut zones: Vec<String> = jiff::tz::db().available().map(|zone| zone.to_string()).collect();
    zones.sort_unstable();
    SetupPage { layout: Layout::bare(), form, token, zones }
}

const NO_SETUP: Error = Error::NotFound("setup link; it works once, and only until the next start");

async fn setup(mut read: Read, Path(token): Path<String>) -> Result<SetupPage> {
    if !read.setup_waits_for(&secrets::secret_hash(&token)).await? {
        return Err(NO_SETUP);
    }
    Ok(setup_page(token, Form::blank(Units::Inches).with("units", "inches")))
}

async fn set_up(State(app): State<App>, Path(token): Path<String>, posted: FormData) -> Result<Response> {
    let mut form = posted.form(Units::Inches);
    let workroom = form.text("workroom", "The workroom’s name", LINE);
    let zone = super::preferences::read_zone(&mut form);
    let units = super::preferences::read_units(&mut form);
    let name = form.text("name", "Your name", LINE);
    let phrase = passphrase::read_new(&mut form);
    let (Some(workroom), Some(zone), Some(units), Some(name), Some(phrase)) =
        (workroom, zone, units, name, phrase)
    else {
        return Ok(invalid(setup_page(token, form)));
    };
    let hash = passphrase::hash(&app, phrase).await?;
    let person = PersonId::new();
    let secret = secrets::secret();
    let mut tx = app.store.write(Actor { person: None, at: app.clock.now() }).await?;
    if !tx.use_setup_link(&secrets::secret_hash(&token)).await? {
        return Err(NO_SETUP);
    }
    tx.found_workroom(&workroom, &zone, units).await?;
    let fields = PersonFields { name, contact: String::new(), units: None };
    tx.add_person(person, Role::Instructor, &fields, Some(hash)).await?;
    tx.open_session(&secrets::secret_hash(&secret), person, staff_stay()).await?;
    tx.commit().await?;
    Ok((cookie(&app, secret, staff_stay()), Redirect::to("/today")).into_response())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "auth/sign_in.html")]
struct SignInPage {
    layout: Layout,
    form: Form,
}

#[derive(serde::Deserialize)]
struct SignInQuery {
    to: Option<String>,
    said: Option<String>,
}

async fn sign_in_page(Query(query): Query<SignInQuery>) -> SignInPage {
    let form = Form::blank(Units::Inches).with("to", query.to.unwrap_or_default());
    let flash = query.said.and_then(|word| page::flash(Some(&format!("said={word}"))));
    SignInPage { layout: Layout { flash, ..Layout::bare() }, form }
}

async fn sign_in(
    State(app): State<App>,
    ClientAddress(address): ClientAddress,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form(Units::Inches);
    let name = form.text("name", "Your name", LINE);
    let phrase = form.value("passphrase").to_owned();
    if phrase.is_empty() {
        form.add_error("passphrase", "The passphrase is missing.");
    }
    let Some(name) = name.filter(|_| form.is_ok()) else {
        return Ok(refused(form));
    };
    let doors = [format!("name {}", name_key(&name)), format!("from {address}")];
    // Read and let go: comparing takes its time.
    let mut read = app.store.read().await?;
    allowed(&app, &mut read, &doors).await?;
    let lock = read.lock(&name).await?;
    drop(read);
    let (person, hash) = lock.map_or((None, None), |lock| (Some(lock.id), lock.passphrase_hash));
    let phrase: String = phrase.chars().take(passphrase::MOST + 1).collect();
    let fits = passphrase::fits(&app, phrase, hash.clone()).await?;
    let now = app.clock.now();
    let mut tx = app.store.write(Actor { person, at: now }).await?;
    // Asked again: a passphrase that was replaced just now opens nothing.
    let fits = fits && tx.lock(&name).await?.and_then(|lock| lock.passphrase_hash) == hash;
    let Some(person) = person.filter(|_| fits) else {
        for door in &doors {
            tx.count_failure(door, now - window()).await?;
        }
        tx.commit().await?;
        tracing::warn!("a sign-in failed");
        form.add_error(
            "name",
            "This name and this passphrase don’t belong together. Look at both once more.",
        );
        return Ok(refused(form));
    };
    tx.forget_failures(&doors[0]).await?;
    let secret = secrets::secret();
    tx.open_session(&secrets::secret_hash(&secret), person, staff_stay()).await?;
    tx.commit().await?;
    let to = own_path(form.value("to"));
    Ok((cookie(&app, secret, staff_stay()), Redirect::to(&to)).into_response())
}

fn refused(form: Form) -> Response {
    invalid(SignInPage { layout: Layout::bare(), form })
}

/// One of our paths to go on to: anything that a browser could take for another site leads to the first page.
fn own_path(to: &str) -> String {
    let ours = to.starts_with('/') && !to.starts_with("//") && !to.contains(['\\', '\n', '\r', '\t']);
    if ours { to.to_owned() } else { "/".to_owned() }
}

/// Failed tries allowed within the window: by one name, and from one address, which a whole workroom may share.
const TRIES: [i64; 2] = [5, 30];

fn window() -> Span {
    15.minutes()
}

/// How long instructors and volunteers stay signed in; weavers stay for a term and a half.
fn staff_stay() -> Span {
    (14 * 24).hours()
}

fn weaver_stay() -> Span {
    (180 * 24).hours()
}

async fn allowed(app: &App, read: &mut Read, doors: &[String; 2]) -> Result<()> {
    let now = app.clock.now();
    for (door, tries) in doors.iter().zip(TRIES) {
        let Some(counted) = read.failures(door).await? else { continue };
        let opens = counted.first_at.0 + window();
        if counted.failures >= tries && opens > now {
            return Err(Error::TooMany((opens.as_second() - now.as_second()) / 60 + 1));
        }
    }
    Ok(())
}

/// Exchanges a personal link for a cookie; the redirect takes the secret out of the address.
async fn enter(State(app): State<App>, mut read: Read, Path(token): Path<String>) -> Result<Response> {
    const GONE: Error =
        Error::NotFound("personal link; it may have been replaced. Ask an instructor for the new one");
    let link = secrets::secret_hash(&token);
    let person = read.link_owner(&link).await?.ok_or(GONE)?;
    drop(read);
    let secret = secrets::secret();
    let mut tx = app.store.write(Actor { person: Some(person), at: app.clock.now() }).await?;
    // Asked again: a link that is replaced just now opens nothing.
    tx.link_owner(&link).await?.ok_or(GONE)?;
    tx.open_session(&secrets::secret_hash(&secret), person, weaver_stay()).await?;
    tx.commit().await?;
    Ok((cookie(&app, secret, weaver_stay()), Redirect::to("/")).into_response())
}

async fn sign_out(State(app): State<App>, jar: CookieJar) -> Result<Response> {
    let name = cookie_name(&app);
    if let Some(cookie) = jar.get(name) {
        let mut tx = app.store.write(Actor { person: None, at: app.clock.now() }).await?;
        tx.end_session(&secrets::secret_hash(cookie.value())).await?;
        tx.commit().await?;
    }
    // A browser drops a cookie only when told with the attributes it was set with; `__Host-` needs Secure and Path.
    let gone = Cookie::build((name, "")).path("/").secure(app.config.behind_tls()).http_only(true);
    Ok((CookieJar::new().add(gone.removal().build()), Redirect::to("/sign-in?said=signed-out"))
        .into_response())
}

/// The session cookie: out of reach of scripts, not sent along from other sites, and kept to TLS where there is TLS.
fn cookie(app: &App, secret: String, stay: Span) -> CookieJar {
    let seconds = i64::from(stay.get_hours()) * 3600;
    let cookie = Cookie::build((cookie_name(app), secret))
        .path("/")
        .http_only(true)
        .secure(app.config.behind_tls())
        .same_site(SameSite::Lax)
        .max_age(time::Duration::seconds(seconds));
    CookieJar::new().add(cookie)
}

/// Where a request comes from: the connection, or what the proxy in front says.
struct ClientAddress(String);

impl FromRequestParts<App> for ClientAddress {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Self::Rejection> {
        let named = parts.headers.get("x-forwarded-for").and_then(|value| value.to_str().ok());
        if let (true, Some(named)) = (app.config.behind_proxy, named) {
            // The last address is the one our own proxy saw; those before it are whatever the visitor wrote.
            return Ok(Self(named.rsplit(',').next().unwrap_or("").trim().chars().take(60).collect()));
        }
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>();
        Ok(Self(peer.map_or_else(|| "unknown".into(), |peer| peer.0.ip().to_string())))
    }
}

#[cfg(test)]
mod tests {
    use super::own_path;

    #[test]
    fn only_paths_of_ours_are_gone_back_to() {
        for (typed, to) in [
            ("/rugs?x=1", "/rugs?x=1"),
            ("//evil.example", "/"),
            ("https://evil.example", "/"),
            ("/\\evil.example", "/"),
            ("", "/"),
        ] {
            assert_eq!(own_path(typed), to);
        }
    }
}
