//! Every error a person can meet: its status, its words and the ways on, in one match.
use askama::Template as _;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};

use super::page::Layout;
use crate::services;
use crate::store;
use crate::store::auth::Visitor;

/// Why a page could not be given.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no such thing.
    #[error("there is no such {0}")]
    NotFound(&'static str),
    /// They may not.
    #[error("not allowed for this role")]
    Forbidden,
    /// They are not signed in, or no longer.
    #[error("not signed in")]
    SignIn,
    /// The request came from another site.
    #[error("a request from another site")]
    CrossSite,
    /// The request makes no sense.
    #[error("the request can't be read: {0}")]
    Unreadable(&'static str),
    /// The request is larger than what is read there.
    #[error("the request is too large")]
    TooLarge,
    /// Too many tries; try again after so many minutes.
    #[error("too many tries")]
    TooMany(i64),
    /// The database.
    #[error(transparent)]
    Store(#[from] store::Error),
    /// A code that is too long to be drawn.
    #[error(transparent)]
    Qr(#[from] crate::drawing::qr::TooLong),
    /// Our own fault.
    #[error("{0}")]
    Internal(String),
}

impl From<services::Error> for Error {
    fn from(error: services::Error) -> Self {
        match error {
            services::Error::NotFound(what) => Self::NotFound(what),
            services::Error::Store(error) => Self::Store(error),
            services::Error::Fault(what) => Self::Internal(what),
        }
    }
}

/// The result of a handler.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// An error's words, carried on the response until the layer that knows who is asking dresses them.
#[derive(Clone)]
struct Bare {
    title: &'static str,
    text: String,
    ways: Vec<(&'static str, &'static str)>,
}

impl IntoResponse for Error {
    fn into_response(self) -> Response {
        if let Self::Store(store::Error::Repeated(outcome)) = &self {
            return Redirect::to(outcome).into_response();
        }
        let home = ("/", "To the first page");
        let (status, title, text, ways) = match &self {
            Self::NotFound(what) => (
                StatusCode::NOT_FOUND,
                "Not here",
                format!("There is no such {what}. It may have been removed, or the address is not whole."),
                vec![home],
            ),
            Self::Forbidden => (
                StatusCode::FORBIDDEN,
                "Not for you",
                "This page is for somebody else here. If you should be able to see it, ask an instructor.".into(),
                vec![home],
            ),
            Self::SignIn => (
                StatusCode::UNAUTHORIZED,
                "Please sign in again",
                "You are signed out. Nothing was changed. Sign in, go back, and send it again.".into(),
                vec![("/sign-in", "Sign in")],
            ),
            Self::CrossSite => (
                StatusCode::FORBIDDEN,
                "Refused",
                "This request came from another site, so nothing was done. Open the page here and try again.".into(),
                vec![home],
            ),
            Self::Unreadable(why) => (
                StatusCode::BAD_REQUEST,
                "That can’t be read",
                format!("The request is not as this page would send it: {why}. Nothing was changed."),
                vec![home],
            ),
            Self::TooLarge => (
                StatusCode::PAYLOAD_TOO_LARGE,
                "That is too large",
                "What was sent is larger than anything that is read here: a list of cloth may have 2 MB. Part it, and \
                 send one part after the other. Nothing was changed."
                    .into(),
                vec![home],
            ),
            Self::TooMany(minutes) => (
                StatusCode::TOO_MANY_REQUESTS,
                "Too many tries",
                format!("Somebody tried too often to sign in with this name or from this place. Try again in {minutes} minutes."),
                vec![("/sign-in", "Back to signing in")],
            ),
            Self::Store(store::Error::Unavailable(_)) => (
                StatusCode::SERVICE_UNAVAILABLE,
                "Just a moment",
                "The workroom’s database can’t be used just now: it is busy, full or away. Nothing was changed. \
                 Go back and send it again in a minute; what you typed is still there."
                    .into(),
                vec![home],
            ),
            Self::Store(store::Error::Stale) => (
                StatusCode::CONFLICT,
                "Somebody was quicker",
                "This was changed by somebody else since you opened it. Nothing was overwritten. \
                 Look at it as it is now and decide again."
                    .into(),
                vec![home],
            ),
            Self::Store(_) | Self::Qr(_) | Self::Internal(_) => (
                StatusCode::INTERNAL_SERVER_ERROR,
                "That went wrong",
                "A fault of this program; nothing was changed. It is in the log, for whoever looks after it.".into(),
                vec![home],
            ),
        };
        if status.is_server_error() {
            tracing::error!(error = %self, status = status.as_u16(), "request failed");
        }
        let mut response = status.into_response();
        if let Self::TooMany(minutes) = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(minutes * 60));
        }
        if status == StatusCode::SERVICE_UNAVAILABLE {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("30"));
        }
        response.extensions_mut().insert(Bare { title, text, ways });
        response
    }
}

#[derive(askama::Template)]
#[template(path = "error.html")]
struct ErrorPage {
    layout: Layout,
    bare: Bare,
    status: u16,
}

/// Gives an error its page, in the layout of the person who asked. Other responses pass untouched.
pub(in crate::web) fn render_error(
    mut response: Response,
    visitor: Option<&Visitor>,
    path: &str,
) -> Response {
    let status = response.status();
    let bare = match response.extensions_mut().remove::<Bare>() {
        Some(bare) => bare,
        // What the framework refuses by itself gets the same face.
        None if status == StatusCode::NOT_FOUND && response.headers().get(header::CONTENT_TYPE).is_none() => {
            return render_error(Error::NotFound("page").into_response(), visitor, path);
        }
        None if status == StatusCode::PAYLOAD_TOO_LARGE => {
            return render_error(Error::TooLarge.into_response(), visitor, path);
        }
        None => return response,
    };
    let layout = visitor.map_or_else(Layout::bare, |visitor| Layout::of(visitor, path, None));
    let page = ErrorPage { layout, bare, status: status.as_u16() };
    match page.render() {
        Ok(html) => {
            let mut dressed = (status, axum::response::Html(html)).into_response();
            if let Some(after) = response.headers().get(header::RETRY_AFTER) {
                dressed.headers_mut().insert(header::RETRY_AFTER, after.clone());
            }
            dressed
        }
        Err(_) => response,
    }
}
