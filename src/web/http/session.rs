//! Who is asking: the session behind a request, the door in front of every handler, and [`CurrentUser`], which handlers take.
use std::sync::{Arc, Mutex, PoisonError};

use axum::extract::{FromRequestParts, Request, State};
use axum::http::request::Parts;
use axum::http::{HeaderMap, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;
use jiff::tz::TimeZone;

use super::page;
use crate::secrets;
use crate::services::paper_data::Reader;
use crate::store::auth::Visitor;
use crate::store::people::Role;
use crate::store::{Actor, PersonId, Read};
use crate::units::Units;
use crate::web::{App, Error};

/// Who may use a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Who {
    /// Everybody, signed in or not.
    Anyone,
    /// Everybody who is signed in; the handler shows weavers only what is theirs.
    SignedIn,
    /// Instructors and volunteers.
    Staff,
    /// Instructors.
    Instructor,
}

impl Who {
    /// Whether somebody of this role (`None`: not signed in) may.
    pub fn admits(self, role: Option<Role>) -> bool {
        match (self, role) {
            (Self::Anyone, _) => true,
            (_, None) => false,
            (Self::SignedIn, Some(_)) => true,
            (Self::Staff, Some(role)) => role != Role::Weaver,
            (Self::Instructor, Some(role)) => role == Role::Instructor,
        }
    }
}

/// The session cookie's name; with TLS in front the `__Host-` prefix ties it to this very host (RFC 6265bis, 4.1.3).
pub(in crate::web) fn cookie_name(app: &App) -> &'static str {
    if app.config.behind_tls() { "__Host-thrumhall" } else { "thrumhall" }
}

/// Finds out who is asking, once per request, and turns errors into pages that know it. A page goes on in the snapshot in
/// which it was found out: see [`Read`]'s extractor below. An act opens a change of its own when it is known who may.
pub(in crate::web) async fn authenticate(
    State(app): State<App>,
    mut request: Request,
    next: Next,
) -> Response {
    let token = CookieJar::from_headers(request.headers())
        .get(cookie_name(&app))
        .map(|cookie| secrets::secret_hash(cookie.value()));
    let looks = matches!(*request.method(), Method::GET | Method::HEAD);
    let found = match token {
        None => Ok((None, None)),
        Some(hash) => find(&app, &hash).await,
    };
    let path = request.uri().path().to_owned();
    let flash = page::flash(request.uri().query());
    let (visitor, response) = match found {
        // A database that can't answer is no reason to treat somebody as a stranger.
        Err(error) => (None, error.into_response()),
        Ok((visitor, snapshot)) => {
            request.extensions_mut().insert(RequestContext {
                visitor: visitor.clone(),
                path: path.clone(),
                flash,
            });
            if let Some(snapshot) = snapshot.filter(|_| looks) {
                request.extensions_mut().insert(Snapshot(Arc::new(Mutex::new(Some(snapshot)))));
            }
            (visitor, next.run(request).await)
        }
    };
    super::error::render_error(response, visitor.as_ref(), &path)
}

async fn find(app: &App, hash: &str) -> Result<(Option<Visitor>, Option<Read>), Error> {
    let mut read = app.store.read().await?;
    let visitor = read.visitor(hash, app.clock.now()).await?;
    Ok((visitor, Some(read)))
}

/// The steady view in which it was found out who asks, waiting for the handler.
#[derive(Clone)]
struct Snapshot(Arc<Mutex<Option<Read>>>);

/// A page's view of the database: the one in which it was found out who asks, so that a request takes one connection and
/// sees one moment.
impl FromRequestParts<App> for Read {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let waiting = parts.extensions.remove::<Snapshot>();
        let waiting = waiting.and_then(|at| at.0.lock().unwrap_or_else(PoisonError::into_inner).take());
        match waiting {
            Some(read) => Ok(read),
            None => Ok(app.store.read().await?),
        }
    }
}

#[derive(Clone)]
struct RequestContext {
    visitor: Option<Visitor>,
    path: String,
    flash: Option<&'static str>,
}

/// Lets in whom the route table lets in. Strangers who want to look are led to the sign-in page and back.
pub(in crate::web) async fn authorize(
    State((_, who)): State<(App, Who)>,
    request: Request,
    next: Next,
) -> Response {
    let visitor = request.extensions().get::<RequestContext>().and_then(|asking| asking.visitor.as_ref());
    let role = visitor.map(|visitor| visitor.role);
    if who.admits(role) {
        return next.run(request).await;
    }
    if role.is_some() {
        return Error::Forbidden.into_response();
    }
    if request.method() != Method::GET {
        return Error::SignIn.into_response();
    }
    let back = request.uri().path_and_query().map_or("/", |to| to.as_str());
    Redirect::to(&sign_in_path(Some(back))).into_response()
}

/// The sign-in page that leads back to one of our paths.
pub(in crate::web) fn sign_in_path(back: Option<&str>) -> String {
    match back {
        None | Some("/") => "/sign-in".into(),
        Some(to) => {
            let query = form_urlencoded::Serializer::new(String::new()).append_pair("to", to).finish();
            format!("/sign-in?{query}")
        }
    }
}

/// The signed-in person a page is for.
#[derive(Clone, Debug)]
pub struct CurrentUser {
    visitor: Visitor,
    pub(in crate::web) path: String,
    pub(in crate::web) flash: Option<&'static str>,
    /// How the browser reached us, for links and QR codes that lead back: `https://host`.
    pub origin: String,
}

impl FromRequestParts<App> for CurrentUser {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let asking = parts.extensions.get::<RequestContext>().cloned();
        match asking {
            Some(RequestContext { visitor: Some(visitor), path, flash }) => {
                Ok(Self { visitor, path, flash, origin: origin(app, &parts.headers) })
            }
            _ => Err(Error::SignIn),
        }
    }
}

/// Somebody who may or may not be signed in.
pub struct MaybeUser(pub Option<Role>, pub String);

impl FromRequestParts<App> for MaybeUser {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Error> {
        let asking = parts.extensions.get::<RequestContext>();
        let role = asking.and_then(|asking| asking.visitor.as_ref()).map(|visitor| visitor.role);
        Ok(Self(role, origin(app, &parts.headers)))
    }
}

fn origin(app: &App, headers: &HeaderMap) -> String {
    app.config.public_url.clone().unwrap_or_else(|| {
        let host = headers.get(header::HOST).and_then(|host| host.to_str().ok()).unwrap_or("localhost");
        format!("http://{host}")
    })
}

impl CurrentUser {
    /// Their id.
    pub fn id(&self) -> PersonId {
        self.visitor.person_id
    }

    /// Their name.
    pub fn name(&self) -> &str {
        &self.visitor.name
    }

    /// What they are here.
    pub fn role(&self) -> Role {
        self.visitor.role
    }

    /// Whether they are an instructor.
    pub fn is_instructor(&self) -> bool {
        self.role() == Role::Instructor
    }

    /// Whether they are an instructor or a volunteer.
    pub fn is_staff(&self) -> bool {
        self.role() != Role::Weaver
    }

    /// Whether a thing of this weaver's may be shown to them: it is theirs, or they run the class.
    pub fn may_see(&self, weaver: PersonId) -> bool {
        self.is_staff() || self.id() == weaver
    }

    /// What they read lengths and weights in.
    pub fn units(&self) -> Units {
        self.visitor.units()
    }

    /// The workroom's time zone; UTC when this machine no longer knows it.
    pub fn zone(&self) -> TimeZone {
        self.visitor.zone()
    }

    /// The clock and the units that a page of theirs is written by.
    pub fn local(&self) -> (TimeZone, Units) {
        (self.zone(), self.units())
    }

    /// The day it is in the workroom.
    pub fn today(&self, app: &App) -> jiff::civil::Date {
        app.clock.now().to_zoned_datetime(self.zone()).date()
    }

    /// They, now: who makes a change.
    pub fn acting(&self, app: &App) -> Actor {
        Actor { person: Some(self.id()), at: app.clock.now() }
    }

    /// For whom a paper is made: they, now.
    pub(in crate::web) fn reader(&self, app: &App) -> Reader {
        Reader {
            workroom: self.visitor.workroom.clone(),
            units: self.units(),
            zone: self.zone(),
            origin: self.origin.clone(),
            now: app.clock.now(),
        }
    }

    /// What the house's header shows, for a page of theirs.
    pub fn layout(&self) -> page::Layout {
        page::Layout::of(&self.visitor, &self.path, self.flash)
    }
}

impl App {
    /// Opens a change by the person who asks.
    pub async fn write(&self, me: &CurrentUser) -> Result<crate::store::Write, Error> {
        Ok(self.store.write(me.acting(self)).await?)
    }
}
