//! The route table: every page's method, path, who may, and handler, as data. The router is built from it, so a page that
//! says nothing about who may see it can't exist; and a test can walk it, which axum's own router doesn't allow.
use axum::Router;
use axum::handler::Handler;
use axum::http::Method;
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodFilter, MethodRouter, on};

use super::App;
use crate::store::people::Role;

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

/// One line of the table.
pub struct Route {
    /// GET or POST.
    pub method: Method,
    /// The path, with axum's `{name}` places.
    pub path: &'static str,
    /// Who may.
    pub who: Who,
    handler: MethodRouter<App>,
}

/// A page to look at.
pub fn get<H, T>(path: &'static str, who: Who, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route { method: Method::GET, path, who, handler: on(MethodFilter::GET, handler) }
}

/// An act.
pub fn post<H, T>(path: &'static str, who: Who, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route { method: Method::POST, path, who, handler: on(MethodFilter::POST, handler) }
}

/// The router of a table: each handler behind its own door.
pub fn build(app: &App, table: Vec<Route>) -> Router<App> {
    table.into_iter().fold(Router::new(), |router, route| {
        let door = from_fn_with_state((app.clone(), route.who), super::caller::door);
        router.route(route.path, route.handler.route_layer(door))
    })
}
