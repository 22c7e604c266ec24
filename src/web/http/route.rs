//! The route table: every page's method, path, who may, and handler, as data. The router is built from it, so a page that
//! says nothing about who may see it can't exist; and a test can walk it, which axum's own router doesn't allow.
use axum::Router;
use axum::extract::{DefaultBodyLimit, Request, State};
use axum::handler::Handler;
use axum::http::{Method, header};
use axum::middleware::{Next, from_fn_with_state, map_response};
use axum::response::{IntoResponse as _, Response};
use axum::routing::{MethodFilter, MethodRouter, on};
use tower_http::limit::RequestBodyLimitLayer;

use super::error::Error;
use super::kept::MayBeKept;
use super::posted::{LARGEST_BODY, read_away};
pub use super::session::Who;
use crate::web::App;

/// One line of the table.
pub struct Route {
    /// GET or POST.
    pub method: Method,
    /// The path, with axum's `{name}` places.
    pub path: &'static str,
    /// Who may.
    pub who: Who,
    /// The largest body that is read, in bytes.
    largest: usize,
    /// Whether it is one of the scale's, which a tablet there reaches.
    pub at_scale: bool,
    handler: MethodRouter<App>,
}

impl Route {
    /// The same, reading bodies of up to so many bytes.
    pub(in crate::web) fn up_to(self, largest: usize) -> Self {
        Self { largest, ..self }
    }

    /// The same, reached from a tablet at the scale, too.
    pub(in crate::web) fn at_scale(self) -> Self {
        Self { at_scale: true, ..self }
    }

    /// The same page, kept in memory while nothing changes: what it says follows from who asks, its address, the database and
    /// the minute, and from nothing else.
    pub(in crate::web) fn kept(self) -> Self {
        Self { handler: self.handler.route_layer(map_response(may_be_kept)), ..self }
    }
}

async fn may_be_kept(mut response: Response) -> Response {
    response.extensions_mut().insert(MayBeKept);
    response
}

/// A page to look at.
pub fn get<H, T>(path: &'static str, who: Who, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route {
        method: Method::GET,
        path,
        who,
        largest: LARGEST_BODY,
        at_scale: who == Who::Tablet,
        handler: on(MethodFilter::GET, handler),
    }
}

/// An act.
pub fn post<H, T>(path: &'static str, who: Who, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route {
        method: Method::POST,
        path,
        who,
        largest: LARGEST_BODY,
        at_scale: who == Who::Tablet,
        handler: on(MethodFilter::POST, handler),
    }
}

/// The router of a table: each handler behind its own door.
pub fn build(app: &App, table: Vec<Route>) -> Router<App> {
    table.into_iter().fold(Router::new(), |router, route| {
        let door = from_fn_with_state((app.clone(), route.who, route.at_scale), super::session::authorize);
        let handler = route
            .handler
            .route_layer(DefaultBodyLimit::disable())
            .route_layer(RequestBodyLimitLayer::new(route.largest))
            .route_layer(from_fn_with_state(route.largest, size_said))
            .route_layer(door);
        router.route(route.path, handler)
    })
}

/// Refuses a body that is said to be larger than is read, when all of it has come, so that the answer arrives. One that doesn't
/// say its size is cut off where it grows too large.
async fn size_said(State(largest): State<usize>, request: Request, next: Next) -> Response {
    let said =
        request.headers().get(header::CONTENT_LENGTH).and_then(|size| size.to_str().ok()?.parse().ok());
    if said.is_some_and(|size: u64| size > largest as u64) {
        read_away(request).await;
        return Error::TooLarge.into_response();
    }
    next.run(request).await
}
