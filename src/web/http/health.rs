//! Whether the service lives, whether it can do its work, and what is counted of it.
use std::time::{Duration, Instant};

use axum::Router;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use axum::routing;

use super::error::Error;
use super::paths::{LIVES, READY};
use super::route::{Route, Who, get};
use super::state::App;
use crate::store::Actor;

/// What was found out counts for so long, so that asking costs no more than a write now and then, whoever asks.
const FRESH: Duration = Duration::from_secs(2);

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get(LIVES, Who::Anyone, lives), get(READY, Who::Anyone, ready)]
}

async fn lives() -> &'static str {
    "ok\n"
}

async fn ready(State(app): State<App>) -> Result<&'static str, Error> {
    let mut last = app.ready.lock().await;
    if last.is_none_or(|at| at.elapsed() > FRESH) {
        let mut tx = app.store.write(Actor { person: None, at: app.clock.now() }).await?;
        tx.sign_of_life().await?;
        tx.commit().await?;
        *last = Some(Instant::now());
    }
    Ok("ready\n")
}

/// What is counted of the service, for a listener of its own.
pub(crate) fn metrics_page(app: &App) -> Router {
    Router::new().route("/metrics", routing::get(metrics)).with_state(app.clone())
}

async fn metrics(State(app): State<App>) -> Response {
    // Numbers are told also while the database is away.
    let waiting = match app.store.read().await {
        Ok(mut read) => read.deliveries_waiting().await.unwrap_or(-1),
        Err(_) => -1,
    };
    match app.metrics.text(app.store.connections(), waiting) {
        Ok(text) => {
            let kind = "application/openmetrics-text; version=1.0.0; charset=utf-8";
            ([(header::CONTENT_TYPE, kind)], text).into_response()
        }
        Err(error) => (StatusCode::INTERNAL_SERVER_ERROR, format!("{error}\n")).into_response(),
    }
}
