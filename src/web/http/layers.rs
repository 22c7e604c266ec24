//! What stands around every page: who is asking, refusal of other sites' requests, limits, and security headers.
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, header};
use axum::middleware::{Next, from_fn, from_fn_with_state, map_response};
use axum::response::{IntoResponse as _, Response};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::{CsrfLayer, ProtectionError};

use super::error::render_error;
use super::{log, paths, readable, revisit, session};
use crate::web::{App, Error, typography};

/// No inline script or style, nothing from elsewhere, no framing: pages are our own files and our own pictures only.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; img-src 'self' data:; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Puts the layers around the pages; the last one named is the outermost.
pub(in crate::web) fn wrap(app: &App, pages: Router<App>) -> Router<App> {
    pages
        .fallback(|| async { Error::NotFound("page") })
        .layer(same_site(app).with_rejection_response(|_: ProtectionError| Error::CrossSite.into_response()))
        .layer(CatchPanicLayer::custom(fell_over))
        .layer(from_fn(readable::address))
        .layer(from_fn_with_state(app.clone(), session::authenticate))
        .layer(map_response(typeset))
        .layer(from_fn_with_state(app.clone(), revisit::pages))
        .layer(from_fn(only_health))
        .layer(CompressionLayer::new())
        .layer(from_fn_with_state(app.config.behind_tls(), with_headers))
        .layer(from_fn_with_state(app.clone(), log::tell))
}

/// Sets the figures of pages; what is no page goes on as it is.
async fn typeset(response: Response) -> Response {
    let page = response
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
    if !page {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    let Ok(bytes) = to_bytes(body, usize::MAX).await else {
        return Error::Internal("a page broke off".into()).into_response();
    };
    parts.headers.remove(header::CONTENT_LENGTH);
    let body = match std::str::from_utf8(&bytes) {
        Ok(html) => Body::from(typography::set(html)),
        Err(_) => Body::from(bytes),
    };
    Response::from_parts(parts, body)
}

/// What every answer says unless its handler says otherwise. In one layer: each is a part of every answer's time.
async fn with_headers(State(behind_tls): State<bool>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let said = response.headers_mut();
    let headers = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("permissions-policy"), "camera=(), geolocation=(), microphone=()"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        // Pages are about people: they stay out of every cache unless a handler says otherwise.
        (header::CACHE_CONTROL, "no-store"),
    ];
    for (name, value) in headers {
        said.entry(name).or_insert(HeaderValue::from_static(value));
    }
    if behind_tls {
        let lasting = HeaderValue::from_static("max-age=31536000");
        said.entry(header::STRICT_TRANSPORT_SECURITY).or_insert(lasting);
    }
    response
}

/// Marks a request that came when every connection was in use: only the health pages are answered.
#[derive(Clone, Copy)]
pub(crate) struct HealthOnly;

async fn only_health(request: Request, next: Next) -> Response {
    let told = [paths::LIVES, paths::READY].contains(&request.uri().path());
    if !told && request.extensions().get::<HealthOnly>().is_some() {
        return render_error(Error::Full.into_response(), None, "/", None);
    }
    next.run(request).await
}

/// Acts are taken from our own pages only, by the browser's `Sec-Fetch-Site` or `Origin`.
fn same_site(app: &App) -> CsrfLayer {
    let layer = CsrfLayer::new();
    // A proxy may change the host we see; the public address is ours all the same.
    match &app.config.public_url {
        None => layer,
        Some(url) => layer.clone().add_trusted_origin(url).unwrap_or(layer),
    }
}

#[allow(clippy::needless_pass_by_value, reason = "the layer hands the panic over")]
fn fell_over(panic: Box<dyn std::any::Any + Send>) -> Response {
    let what = panic
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| panic.downcast_ref::<&str>().copied())
        .unwrap_or("no message");
    Error::Internal(format!("a handler fell over: {what}")).into_response()
}
