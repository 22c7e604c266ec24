//! What the log tells of a request: its id, who, which route, how it ended and how long it took; of a fault its first cause; and
//! of a refusal whence it came. The address of a personal link holds its secret, so the route is named, not the address.
use std::time::Instant;

use axum::RequestPartsExt as _;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method};
use axum::middleware::Next;
use axum::response::Response;
use tracing::Instrument as _;

use super::auth::client_address::ClientAddress;
use super::error::Told;
use super::session::Asker;
use super::state::App;
use crate::store::RequestKey;

/// What refusals and failed sign-ins are logged under.
const SECURITY: &str = "security";
/// Where a form that comes back is a sign-in that failed: its passphrase, or its second step.
const SIGN_IN: [&str; 2] = ["/sign-in", "/sign-in/second-step"];
/// By this name a request's id comes from a proxy, and goes out again.
const ID: HeaderName = HeaderName::from_static("x-request-id");

/// The id that a proxy gave, where it is one, or a new one.
fn id_of(headers: &HeaderMap) -> String {
    let sane = |id: &&str| {
        (1..=64).contains(&id.len()) && id.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b))
    };
    let given = headers.get(ID).and_then(|id| id.to_str().ok()).filter(sane);
    given.map_or_else(|| RequestKey::new().to_string(), str::to_owned)
}

/// Writes what happened to a request, in one line of its own.
pub(super) async fn tell(State(app): State<App>, request: Request, next: Next) -> Response {
    let (began, method, id) = (Instant::now(), request.method().clone(), id_of(request.headers()));
    let route = request.extensions().get::<MatchedPath>().map_or("-", MatchedPath::as_str).to_owned();
    let (mut parts, body) = request.into_parts();
    let ClientAddress(from) = parts.extract_with_state(&app).await.unwrap_or_else(|never| match never {});
    let request = Request::from_parts(parts, body);
    let span = tracing::info_span!("request", id, method = %method, route);
    let mut response = next.run(request).instrument(span.clone()).await;
    let (took, status) = (began.elapsed(), response.status().as_u16());
    app.metrics.answered(method.as_str(), &route, status, took);
    let person = response.extensions().get::<Asker>().map_or("-".to_owned(), |asker| asker.0.to_string());
    let (told, ms) = (response.extensions_mut().remove::<Told>(), took.as_millis() as u64);
    let entered = span.enter();
    match told {
        Some(Told::Fault(cause)) => tracing::error!(status, person, ms, cause, "a request failed"),
        Some(Told::Refused(reason)) => {
            app.metrics.refused(reason);
            tracing::warn!(target: SECURITY, status, person, from, reason, "refused");
        }
        None if method == Method::POST && status == 422 && SIGN_IN.contains(&route.as_str()) => {
            app.metrics.refused("a sign-in failed");
            tracing::warn!(target: SECURITY, status, from, reason = "a sign-in failed", "refused");
        }
        None if route.ends_with("{token}") && status == 404 => {
            app.metrics.refused("a link that opens nothing");
            tracing::warn!(target: SECURITY, status, from, reason = "a link that opens nothing", "refused");
        }
        None if method == Method::POST => tracing::info!(status, person, ms, "done"),
        None => tracing::debug!(status, person, ms, "shown"),
    }
    drop(entered);
    if let Ok(id) = HeaderValue::from_str(&id) {
        response.headers_mut().insert(ID, id);
    }
    response
}
