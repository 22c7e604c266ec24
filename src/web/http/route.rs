//! The route table: every page's method, path, who may, and handler, as data. The router is built from it, so a page that
//! says nothing about who may see it can't exist; and a test can walk it, which axum's own router doesn't allow.
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::handler::Handler;
use axum::http::Method;
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodFilter, MethodRouter, on};
use tower_http::limit::RequestBodyLimitLayer;

use super::layers::LARGEST_BODY;
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
    handler: MethodRouter<App>,
}

impl Route {
    /// The same, reading bodies of up to so many bytes.
    pub(in crate::web) fn up_to(self, largest: usize) -> Self {
        Self { largest, ..self }
    }
}

/// A page to look at.
pub fn get<H, T>(path: &'static str, who: Who, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route { method: Method::GET, path, who, largest: LARGEST_BODY, handler: on(MethodFilter::GET, handler) }
}

/// An act.
pub fn post<H, T>(path: &'static str, who: Who, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route { method: Method::POST, path, who, largest: LARGEST_BODY, handler: on(MethodFilter::POST, handler) }
}

/// The router of a table: each handler behind its own door.
pub fn build(app: &App, table: Vec<Route>) -> Router<App> {
    table.into_iter().fold(Router::new(), |router, route| {
        let door = from_fn_with_state((app.clone(), route.who), super::session::authorize);
        let limit = RequestBodyLimitLayer::new(route.largest);
        let handler =
            route.handler.route_layer(DefaultBodyLimit::disable()).route_layer(limit).route_layer(door);
        router.route(route.path, handler)
    })
}
