//! The pages of the service: HTTP in `http`, one file or folder per noun in `pages`.
//!
//! A handler reads: load, decide, render. Wrong input comes back with status 422 and what was typed; an act that worked
//! answers 303 and leads to a page.
mod http;
mod pages;
mod typography;

use axum::Router;

pub use http::asking::{CurrentUser, MaybeUser};
pub use http::error::{Error, Result};
pub use http::form::{Filled, Form, FormData, QueryData};
pub(crate) use http::health::metrics_page;
pub(crate) use http::layers::HealthOnly;
pub use http::metrics::Metrics;
pub use http::page::Layout;
pub use http::route;
pub use http::state::{App, Config};
pub use pages::{papers, table};

/// The whole service: the table's pages behind the layers.
pub fn service(app: App) -> Router {
    http::layers::wrap(&app, route::build(&app, table())).with_state(app)
}
