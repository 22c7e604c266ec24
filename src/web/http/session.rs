//! Who is asking: the session behind a request, and the door in front of every handler. What handlers take of it is in `asking`.
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::extract::{Request, State};
use axum::http::Method;
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;

use super::asking::{RequestContext, Snapshot};
use super::kept::MadeOf;
use super::page;
use super::paths::{NAMES, same_for_all};
use super::posted::Posted;
use crate::secrets;
use crate::store::auth::Visitor;
use crate::store::auth::tablets::Tablet;
use crate::store::people::Role;
use crate::store::{Actor, PersonId, Read, Revision};
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
    /// Whoever stands before a tablet at the scale, by no right of their own.
    Tablet,
}

impl Who {
    /// Whether somebody of this role (`None`: not signed in) may.
    pub fn admits(self, role: Option<Role>) -> bool {
        match (self, role) {
            (Self::Anyone, _) => true,
            (Self::Tablet, _) | (_, None) => false,
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
    if same_for_all(request.uri().path()) {
        let path = request.uri().path().to_owned();
        return super::error::render_error(within(next.run(request)).await, None, &path, None);
    }
    let token = CookieJar::from_headers(request.headers())
        .get(cookie_name(&app))
        .map(|cookie| secrets::secret_hash(cookie.value()));
    let held = token.clone();
    let looks = matches!(*request.method(), Method::GET | Method::HEAD);
    let by = tapped(request.uri().query());
    let found = match token {
        None => Ok(Found::default()),
        Some(hash) => find(&app, &hash, by).await,
    };
    let address = request.uri().path_and_query().map_or("/", |to| to.as_str()).to_owned();
    let posted = Posted::default();
    if !looks {
        request.extensions_mut().insert(posted.clone());
    }
    let path = request.uri().path().to_owned();
    let flash = page::flash(request.uri().query());
    let mut used = None;
    let visitor = match found {
        // A database that can't answer is no reason to treat somebody as a stranger. The request goes on as far as the door, where
        // it is known that it comes from one of our pages.
        Err(error) => {
            request.extensions_mut().insert(Unknown(Arc::new(Mutex::new(Some(error)))));
            None
        }
        Ok(Found { visitor, tablet, snapshot }) => {
            let context = RequestContext { visitor: visitor.clone(), tablet, path: path.clone(), flash };
            request.extensions_mut().insert(context);
            if let Some(snapshot) = snapshot.filter(|_| looks) {
                request.extensions_mut().insert(Snapshot(Arc::new(Mutex::new(Some(snapshot)))));
            }
            used = tablet;
            visitor
        }
    };
    let response = within(next.run(request)).await;
    // Only now: a page holds the request's one connection until it is done.
    match (&visitor, held, used) {
        (_, _, Some(tablet)) => note_tablet(&app, &tablet).await,
        (Some(visitor), Some(held), None) => note_use(&app, visitor, &held).await,
        _ => {}
    }
    let posted = (!looks).then_some((&posted, address.as_str()));
    let signed_in = visitor.as_ref().filter(|_| used.is_none());
    let mut response = super::error::render_error(response, signed_in, &path, posted);
    if let Some(visitor) = visitor {
        response.extensions_mut().insert(Asker(visitor.person_id));
        let until = visitor.unchanged_until();
        if let Some(revision) = visitor.revision.filter(Revision::is_known) {
            response.extensions_mut().insert(MadeOf { revision, until });
        }
    }
    response
}

/// The longest that an answer may take.
const LONGEST: Duration = Duration::from_secs(30);

/// An answer, or the page that says that there was none in time.
async fn within(answer: impl Future<Output = Response>) -> Response {
    let late = |_| Error::TimedOut(LONGEST.as_secs()).into_response();
    tokio::time::timeout(LONGEST, answer).await.unwrap_or_else(late)
}

/// Who asked, for the log.
#[derive(Clone, Copy)]
pub(super) struct Asker(pub(super) PersonId);

/// Why it couldn't be found out who asks.
#[derive(Clone)]
struct Unknown(Arc<Mutex<Option<Error>>>);

/// Moves the end of a session that is in use. Where that can't be noted it is noted next time.
async fn note_use(app: &App, visitor: &Visitor, held: &str) {
    let now = app.clock.now();
    if !visitor.is_due(now) {
        return;
    }
    let noted = async {
        let mut tx = app.store.write(Actor { person: Some(visitor.person_id), at: now }).await?;
        tx.session_in_use(held).await?;
        tx.commit().await
    };
    if let Err(error) = noted.await {
        tracing::warn!(%error, "it could not be noted that a session is in use");
    }
}

/// Notes that a tablet at the scale is in use. Where that can't be noted it is noted next time.
async fn note_tablet(app: &App, tablet: &Tablet) {
    let now = app.clock.now();
    if !tablet.is_due(now) {
        return;
    }
    let noted = async {
        let mut tx = app.store.write(Actor { person: None, at: now }).await?;
        tx.tablet_in_use(tablet.id).await?;
        tx.commit().await
    };
    if let Err(error) = noted.await {
        tracing::warn!(%error, "it could not be noted that a tablet is in use");
    }
}

/// What is known of who asks.
#[derive(Default)]
struct Found {
    visitor: Option<Visitor>,
    /// The tablet at the scale that asks; its visitor is then whose name was tapped.
    tablet: Option<Tablet>,
    snapshot: Option<Read>,
}

async fn find(app: &App, hash: &str, by: Option<PersonId>) -> Result<Found, Error> {
    let mut read = app.store.read().await?;
    let now = app.clock.now();
    let mut visitor = read.visitor(hash, now).await?;
    if let Some(revision) = visitor.as_ref().and_then(|visitor| visitor.revision.clone()) {
        read.known_at(revision);
    }
    let mut tablet = None;
    if visitor.is_none() {
        tablet = read.tablet(hash, now).await?;
        if let (Some(_), Some(by)) = (&tablet, by) {
            visitor = read.at_tablet(by).await?;
        }
    }
    Ok(Found { visitor, tablet, snapshot: Some(read) })
}

/// Whose name was tapped at a tablet: it stands in each address, so that two windows, and what waited on the device, are each of
/// who weighed it in. Nobody else's session looks at it.
fn tapped(query: Option<&str>) -> Option<PersonId> {
    let by = form_urlencoded::parse(query?.as_bytes()).find(|(name, _)| name == "by")?.1;
    by.parse().ok()
}

/// Where one chooses one's own passphrase: the only page for those who still have one that somebody else gave them.
const OWN_PASSPHRASE: &str = "/me/passphrase";
/// Where somebody sets up a second factor; whoever must have one and hasn't sees nothing else.
const SECOND_FACTOR: &str = "/me/second-factor";

/// Lets in whom the route table lets in. Strangers who want to look are led to the sign-in page and back; a tablet gets no further
/// than the scale's own pages.
pub(in crate::web) async fn authorize(
    State((_, who, at_scale)): State<(App, Who, bool)>,
    request: Request,
    next: Next,
) -> Response {
    if let Some(unknown) = request.extensions().get::<Unknown>().cloned() {
        let error = unknown.0.lock().unwrap_or_else(PoisonError::into_inner).take();
        if let Some(posted) = request.extensions().get::<Posted>().cloned() {
            posted.read(request).await;
        }
        return error.unwrap_or(Error::SignIn).into_response();
    }
    let asking = request.extensions().get::<RequestContext>();
    let visitor = asking.and_then(|asking| asking.visitor.as_ref());
    let role = visitor.map(|visitor| visitor.role);
    if asking.is_some_and(|asking| asking.tablet.is_some()) {
        if at_scale && (who == Who::Tablet || who.admits(role)) {
            return next.run(request).await;
        }
        if request.method() == Method::GET {
            return Redirect::to(NAMES).into_response();
        }
        super::posted::read_away(request).await;
        return if at_scale { Error::NobodyTapped } else { Error::Forbidden }.into_response();
    }
    if who.admits(role) {
        let path = request.uri().path();
        let (led, refused) = match visitor {
            Some(visitor) if visitor.passphrase_given => (OWN_PASSPHRASE, Error::ChoosePassphrase),
            Some(visitor) if visitor.second_factor_due => (SECOND_FACTOR, Error::SecondFactorDue),
            _ => return next.run(request).await,
        };
        return match request.method() {
            _ if who == Who::Anyone || path.starts_with(led) => next.run(request).await,
            &Method::GET => Redirect::to(led).into_response(),
            _ => refused.into_response(),
        };
    }
    if request.method() != Method::GET {
        super::posted::read_away(request).await;
        return if role.is_some() { Error::Forbidden } else { Error::SignIn }.into_response();
    }
    if role.is_some() {
        return Error::Forbidden.into_response();
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
