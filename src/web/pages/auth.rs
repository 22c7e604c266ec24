//! The way in and out: first start, signing in, personal links, signing out, and where each role begins.
use askama_web::WebTemplate;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;

use crate::secrets;
use crate::store::people::{PersonFields, Role};
use crate::store::{Actor, PersonId, Read};
use crate::units::Units;
use crate::web::http::answer::invalid;
use crate::web::http::auth::client_address::ClientAddress;
use crate::web::http::auth::entering::{Stay, Visit, gone, open_session_for};
use crate::web::http::auth::half_way::{self, SECOND_STEP};
use crate::web::http::auth::passphrase;
use crate::web::http::auth::tries::Doors;
use crate::web::http::form::LINE;
use crate::web::http::page;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::http::session::cookie_name;
use crate::web::{App, Error, Form, FormData, Layout, MaybeUser, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/", Who::Anyone, home),
        get("/setup/{token}", Who::Anyone, setup),
        post("/setup/{token}", Who::Anyone, set_up),
        post("/setup/{token}/strength", Who::Anyone, strength),
        get("/sign-in", Who::Anyone, sign_in_page),
        post("/sign-in", Who::Anyone, sign_in),
        get("/enter/{token}", Who::Anyone, enter_page),
        post("/enter/{token}", Who::Anyone, enter),
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

async fn set_up(
    State(app): State<App>,
    address: ClientAddress,
    visit: Visit,
    Path(token): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let link = secrets::secret_hash(&token);
    // Whoever doesn't hold the link gets no work done.
    let mut read = app.store.read().await?;
    if !read.setup_waits_for(&link).await? {
        return Err(NO_SETUP);
    }
    drop(read);
    let mut form = posted.form(Units::Inches);
    let workroom = form.text("workroom", "The workroom’s name", LINE);
    let zone = super::preferences::read_zone(&mut form);
    let units = super::preferences::read_units(&mut form);
    let name = form.text("name", "Your name", LINE);
    let names = [form.value("workroom").to_owned(), form.value("name").to_owned()];
    let phrase = passphrase::read_new(&mut form, &names.each_ref().map(String::as_str));
    let (Some(workroom), Some(zone), Some(units), Some(name), Some(phrase)) =
        (workroom, zone, units, name, phrase)
    else {
        return Ok(invalid(setup_page(token, form)));
    };
    let place = app.hashing.for_stranger()?;
    let doors = Doors::of_setup(&address);
    doors.count(&app).await?;
    let hash = passphrase::hash(place, phrase).await?;
    let person = PersonId::new();
    let mut tx = app.store.write(Actor { person: None, at: app.clock.now() }).await?;
    if !tx.use_setup_link(&link).await? {
        return Err(NO_SETUP);
    }
    doors.forgive(&mut tx).await?;
    tx.found_workroom(&workroom, &zone, units).await?;
    let fields = PersonFields { name, contact: String::new(), units: None };
    tx.add_person(person, Role::Instructor, &fields, Some(hash)).await?;
    open_session_for(&app, tx, &visit, person, Stay::Staff, "/today").await
}

/// How hard the passphrase is to guess that the holder of the setup link is typing.
async fn strength(mut read: Read, Path(token): Path<String>, posted: FormData) -> Result<String> {
    if !read.setup_waits_for(&secrets::secret_hash(&token)).await? {
        return Err(NO_SETUP);
    }
    drop(read);
    let form = posted.form(Units::Inches);
    Ok(passphrase::told(&form, &[form.value("workroom"), form.value("name")]))
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
    address: ClientAddress,
    visit: Visit,
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
    // Read and let go: comparing takes its time.
    let mut read = app.store.read().await?;
    let lock = read.lock(&name).await?;
    let known = match (&lock, &visit.device) {
        (Some(lock), Some(device)) if read.knows_device(device, lock.id).await? => Some((device, lock.id)),
        _ => None,
    };
    let doors = known
        .map_or_else(|| Doors::of_name(&name, &address), |(device, person)| Doors::of_device(device, person));
    doors.are_open(&app, &mut read).await?;
    drop(read);
    let place = if known.is_some() { app.hashing.for_known() } else { app.hashing.for_stranger() }?;
    doors.count(&app).await?;
    let (person, hash) = lock.map_or((None, None), |lock| (Some(lock.id), lock.passphrase_hash));
    let phrase: String = phrase.chars().take(passphrase::MOST + 1).collect();
    let fits = passphrase::fits(place, phrase.clone(), hash.clone()).await?;
    if let Some(person) = person.filter(|_| fits) {
        let anew = anew(&app, phrase, hash.as_deref()).await?;
        let mut tx = app.store.write(Actor { person: Some(person), at: app.clock.now() }).await?;
        // Asked again: a passphrase that was replaced just now opens nothing.
        if tx.lock(&name).await?.and_then(|lock| lock.passphrase_hash) == hash {
            doors.forgive(&mut tx).await?;
            if let (Some(old), Some(anew)) = (&hash, anew) {
                tx.renew_hash(person, old, anew).await?;
            }
            if tx.factors(person).await?.any() {
                let cookie = half_way::begin(&app, &mut tx, person, &form).await?;
                tx.commit().await?;
                return Ok((cookie, Redirect::to(SECOND_STEP)).into_response());
            }
            let (to, stay) = way_on(&form);
            return open_session_for(&app, tx, &visit, person, stay, &to).await;
        }
    }
    form.add_error("name", "This name and this passphrase don’t belong together. Check both, and try again.");
    Ok(refused(form))
}

/// The hash of a passphrase that fits, made anew where it was made with other parameters than are used now. Where all are at work
/// that waits for the next sign-in.
async fn anew(app: &App, phrase: String, hash: Option<&str>) -> Result<Option<String>> {
    if !hash.is_some_and(passphrase::is_old) {
        return Ok(None);
    }
    match app.hashing.for_known() {
        Ok(place) => Ok(Some(passphrase::hash(place, phrase).await?)),
        Err(_) => Ok(None),
    }
}

fn refused(form: Form) -> Response {
    invalid(SignInPage { layout: Layout::bare(), form })
}

/// Where a form of signing in leads on to, and for how long it lets an instructor or volunteer stay.
pub(super) fn way_on(form: &Form) -> (String, Stay) {
    let stay = if form.ticked("own-device") { Stay::OwnDevice } else { Stay::Staff };
    (own_path(form.value("to")), stay)
}

/// One of our paths to go on to: anything that a browser could take for another site leads to the first page, as does what no header
/// may hold.
fn own_path(to: &str) -> String {
    let plain = to.bytes().all(|byte| byte.is_ascii_graphic() && byte != b'\\');
    let ours = to.starts_with('/') && !to.starts_with("//") && plain;
    if ours { to.to_owned() } else { "/".to_owned() }
}

const GONE: Error = Error::NotFound(
    "personal link; it may have been replaced, or its term is over. Ask an instructor for a new one",
);

#[derive(askama::Template, WebTemplate)]
#[template(path = "auth/enter.html")]
struct EnterPage {
    layout: Layout,
    token: String,
    workroom: String,
}

/// What a personal link shows: a button. Programs that look at links, for a preview or for safety, open nothing by it.
async fn enter_page(mut read: Read, Path(token): Path<String>) -> Result<EnterPage> {
    read.link_owner(&secrets::secret_hash(&token)).await?.ok_or(GONE)?;
    let workroom = read.workroom().await?.map_or_else(String::new, |workroom| workroom.name);
    Ok(EnterPage { layout: Layout { workroom: workroom.clone(), ..Layout::bare() }, token, workroom })
}

/// Exchanges a personal link for a cookie; the redirect takes the secret out of the address.
async fn enter(State(app): State<App>, visit: Visit, Path(token): Path<String>) -> Result<Response> {
    let link = secrets::secret_hash(&token);
    let owner = app.store.read().await?.link_owner(&link).await?.ok_or(GONE)?;
    let mut tx = app.store.write(Actor { person: Some(owner), at: app.clock.now() }).await?;
    // Asked again: a link that is replaced just now opens nothing.
    let owner = tx.link_owner(&link).await?.ok_or(GONE)?;
    let role = tx.person(owner).await?.ok_or(GONE)?.role;
    open_session_for(&app, tx, &visit, owner, Stay::of(role), "/").await
}

async fn sign_out(State(app): State<App>, jar: CookieJar) -> Result<Response> {
    let name = cookie_name(&app);
    if let Some(cookie) = jar.get(name) {
        let mut tx = app.store.write(Actor { person: None, at: app.clock.now() }).await?;
        tx.end_session(&secrets::secret_hash(cookie.value())).await?;
        tx.commit().await?;
    }
    // What waits on the device, and the page of the scale that it keeps, go too.
    let clear = [("clear-site-data", "\"storage\"")];
    Ok((CookieJar::new().add(gone(&app, name)), clear, Redirect::to("/sign-in?said=signed-out"))
        .into_response())
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
            ("/\t/evil.example", "/"),
            ("/ru\u{fffd}s", "/"),
            ("", "/"),
        ] {
            assert_eq!(own_path(typed), to);
        }
    }
}
