//! Every error a person can meet: its status, its words and the ways on, in one match.
use askama::Template as _;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};

use super::page::Layout;
use super::paths::NAMES;
use super::posted::{Again, Posted};
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
    /// Nobody whose name can be tapped stands before the tablet at the scale.
    #[error("nobody's name was tapped")]
    NobodyTapped,
    /// They are not signed in, or no longer.
    #[error("not signed in")]
    SignIn,
    /// The workroom wants a second factor of them before anything else.
    #[error("no second factor yet")]
    SecondFactorDue,
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
    /// So many long searches of theirs wait already.
    #[error("too many searches of one person")]
    Searching,
    /// The answer took too long.
    #[error("no answer within {0} s")]
    TimedOut(u64),
    /// Every connection is in use.
    #[error("every connection is in use")]
    Full,
    /// More wait for a passphrase to be checked than can be served.
    #[error("too many wait for a passphrase to be checked")]
    Busy,
    /// Their passphrase was given to them by somebody else; first they choose their own.
    #[error("a passphrase of their own is to be chosen first")]
    ChoosePassphrase,
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

/// What the log tells of an error, carried on the response to where it is written.
#[derive(Clone, Debug)]
pub(in crate::web) enum Told {
    /// A fault, with its first cause.
    Fault(String),
    /// A refusal, for whoever watches over who tries what.
    Refused(&'static str),
}

impl Error {
    fn worth_telling(&self) -> Option<Told> {
        Some(match self {
            Self::Forbidden => Told::Refused("not for this role"),
            Self::NobodyTapped => Told::Refused("nobody’s name was tapped"),
            Self::SignIn => Told::Refused("not signed in"),
            Self::CrossSite => Told::Refused("from another site"),
            Self::TooMany(_) => Told::Refused("too many tries to sign in"),
            Self::Searching => Told::Refused("too many searches"),
            Self::Busy => Told::Refused("too many wait for a passphrase to be checked"),
            Self::ChoosePassphrase => Told::Refused("no passphrase of their own yet"),
            Self::SecondFactorDue => Told::Refused("no second step yet"),
            Self::Store(store::Error::Unavailable(cause) | store::Error::Unsure(cause)) => {
                Told::Fault(cause.clone())
            }
            Self::Store(store::Error::Fault(_) | store::Error::Broken(_) | store::Error::Unrecorded)
            | Self::Qr(_)
            | Self::Internal(_)
            | Self::TimedOut(_)
            | Self::Full => Told::Fault(self.to_string()),
            Self::Store(store::Error::Stale | store::Error::Repeated(_))
            | Self::NotFound(_)
            | Self::Unreadable(_)
            | Self::TooLarge => return None,
        })
    }
}

/// An error's words, carried on the response until the layer that knows who is asking dresses them.
#[derive(Clone)]
struct Bare {
    title: &'static str,
    text: String,
    ways: Vec<(&'static str, &'static str)>,
}

impl Bare {
    /// What the framework refuses before a handler is asked.
    fn of_framework(status: StatusCode) -> Self {
        let error = match status {
            StatusCode::PAYLOAD_TOO_LARGE => Error::TooLarge,
            StatusCode::METHOD_NOT_ALLOWED => {
                Error::Unreadable("nothing is done in this way at this address")
            }
            StatusCode::UNSUPPORTED_MEDIA_TYPE => Error::Unreadable("it is not a form"),
            StatusCode::UNPROCESSABLE_ENTITY => {
                Error::Unreadable("a field is missing or can’t be understood")
            }
            _ => Error::Unreadable("the address or what was sent with it can’t be understood"),
        };
        let mut response = error.into_response();
        response.extensions_mut().remove().unwrap_or_else(|| Self {
            title: "That can’t be read",
            text: String::new(),
            ways: Vec::new(),
        })
    }
}

fn is_a_page(response: &Response) -> bool {
    let kind = response.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    kind.is_some_and(|kind| !kind.starts_with("text/plain"))
}

impl IntoResponse for Error {
    #[allow(clippy::too_many_lines, reason = "every error's words stand in this one match")]
    fn into_response(self) -> Response {
        if let Self::Store(store::Error::Repeated(outcome)) = &self {
            return Redirect::to(outcome).into_response();
        }
        let home = ("/", "Go to the first page");
        let (status, title, text, ways) = match &self {
            Self::NotFound(what) => (
                StatusCode::NOT_FOUND,
                "Not here",
                format!("There is no such {what}. It may have been removed, or part of its address is missing."),
                vec![home],
            ),
            Self::Forbidden => (
                StatusCode::FORBIDDEN,
                "Not for you",
                "This page is for somebody else here. If you should be able to see it, ask an instructor.".into(),
                vec![home],
            ),
            Self::NobodyTapped => (
                StatusCode::FORBIDDEN,
                "First your name",
                "Nothing was weighed in: this tablet doesn’t know who you are. Tap your name, and weigh it in again.".into(),
                vec![(NAMES, "To the names")],
            ),
            Self::SignIn => (
                StatusCode::UNAUTHORIZED,
                "Please sign in again",
                "You are signed out. Nothing was changed. Sign in, go back, and send it again.".into(),
                vec![("/sign-in", "Sign in")],
            ),
            Self::SecondFactorDue => (
                StatusCode::FORBIDDEN,
                "Set up a second step first",
                "This workroom asks instructors and volunteers for a second step when they sign in. Set yours up, go back, \
                 and send it again. Nothing was changed."
                    .into(),
                vec![("/me/second-factor", "Set it up")],
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
                "That is larger than anything this page takes: a list of cloth may have 2 MB. Split it, and send the parts \
                 one by one. Nothing was changed."
                    .into(),
                vec![home],
            ),
            Self::TooMany(minutes) => (
                StatusCode::TOO_MANY_REQUESTS,
                "Too many tries",
                format!(
                    "Too many tries to sign in came from this place. Try again in {minutes} minutes, or on a device \
                     that you signed in on before."
                ),
                vec![("/sign-in", "Back to signing in")],
            ),
            Self::Searching => (
                StatusCode::TOO_MANY_REQUESTS,
                "One at a time",
                "Several of your searches and papers are still being worked out. Wait until they are done, then try again."
                    .into(),
                vec![home],
            ),
            Self::Busy => (
                StatusCode::SERVICE_UNAVAILABLE,
                "Just a moment",
                "Very many people are signing in just now. Nothing was changed. Try again in a minute.".into(),
                vec![("/sign-in", "Back to signing in")],
            ),
            Self::ChoosePassphrase => (
                StatusCode::FORBIDDEN,
                "Choose a passphrase of your own first",
                "Yours was given to you by somebody else. Nothing was changed. Choose your own, then go on.".into(),
                vec![("/me/passphrase", "Choose a passphrase")],
            ),
            Self::Store(store::Error::Unavailable(_)) => (
                StatusCode::SERVICE_UNAVAILABLE,
                "Just a moment",
                "The workroom’s database can’t be used just now: it is busy, full or away. Nothing was changed.".into(),
                vec![home],
            ),
            Self::Store(store::Error::Unsure(_)) => (
                StatusCode::SERVICE_UNAVAILABLE,
                "Just a moment",
                "The workroom’s database went away while it was keeping this. It may have been kept, or not.".into(),
                vec![home],
            ),
            Self::TimedOut(_) => (
                StatusCode::SERVICE_UNAVAILABLE,
                "That took too long",
                "There was no answer in time. If you sent something, it may have been kept, or not.".into(),
                vec![home],
            ),
            Self::Full => (
                StatusCode::SERVICE_UNAVAILABLE,
                "Just a moment",
                "Too many people are asking at once. Nothing was changed. Try again in a minute.".into(),
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
                "Something went wrong on our side; nothing was changed. The details are in the log, for the person who looks after Thrumhall.".into(),
                vec![home],
            ),
        };
        let mut response = status.into_response();
        if let Self::TooMany(minutes) = self {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from(minutes * 60));
        }
        if status == StatusCode::SERVICE_UNAVAILABLE {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("30"));
        }
        if matches!(self, Self::Searching) {
            response.headers_mut().insert(header::RETRY_AFTER, HeaderValue::from_static("5"));
        }
        if let Some(why) = self.worth_telling() {
            response.extensions_mut().insert(why);
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
    /// What was posted, where sending it again may help.
    again: Option<Again>,
    /// Whether something was posted that the page can't carry.
    lost: bool,
}

/// Gives an error its page, in the layout of the person who asked; where the service can't be used just now, with what was
/// posted, by a button that sends it again. Other responses pass untouched.
pub(in crate::web) fn render_error(
    mut response: Response,
    visitor: Option<&Visitor>,
    path: &str,
    posted: Option<(&Posted, &str)>,
) -> Response {
    let status = response.status();
    let bare = match response.extensions_mut().remove::<Bare>() {
        Some(bare) => bare,
        // What the framework refuses by itself gets the same face.
        None if status == StatusCode::NOT_FOUND && response.headers().get(header::CONTENT_TYPE).is_none() => {
            return render_error(Error::NotFound("page").into_response(), visitor, path, posted);
        }
        None if status.is_client_error() && !is_a_page(&response) => Bare::of_framework(status),
        None => return response,
    };
    let layout = visitor.map_or_else(Layout::bare, |visitor| Layout::of(visitor, path, None));
    let posted = posted.filter(|_| status == StatusCode::SERVICE_UNAVAILABLE);
    let posted = posted.map(|(posted, address)| posted.again(address));
    let lost = matches!(posted, Some(None));
    let page = ErrorPage { layout, bare, status: status.as_u16(), again: posted.flatten(), lost };
    match page.render() {
        Ok(html) => {
            let mut dressed = (status, axum::response::Html(html)).into_response();
            for name in [header::RETRY_AFTER, header::ALLOW] {
                if let Some(value) = response.headers().get(&name) {
                    dressed.headers_mut().insert(name, value.clone());
                }
            }
            if let Some(told) = response.extensions_mut().remove::<Told>() {
                dressed.extensions_mut().insert(told);
            }
            dressed
        }
        Err(_) => response,
    }
}
