//! What stands around every page: who is asking, refusal of other sites' requests, limits, and security headers.
use std::time::Duration;

use axum::Router;
use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse as _, Response};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::{CsrfLayer, ProtectionError};
use tower_http::set_header::SetResponseHeaderLayer;
use tower_http::timeout::TimeoutLayer;
use tower_http::trace::TraceLayer;

use super::session;
use crate::web::{App, Error};

/// The largest form that is read, unless its route says otherwise. A term's worth of bands and notes is a few kilobytes.
pub(in crate::web) const LARGEST_BODY: usize = 256 * 1024;

/// No inline script or style, nothing from elsewhere, no framing: pages are our own files and our own pictures only.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// Puts the layers around the pages; the last one named is the outermost.
pub(in crate::web) fn wrap(app: &App, pages: Router<App>) -> Router<App> {
    let mut router = pages
        .fallback(|| async { Error::NotFound("page") })
        .layer(same_site(app).with_rejection_response(|_: ProtectionError| Error::CrossSite.into_response()))
        .layer(CatchPanicLayer::custom(fell_over))
        .layer(from_fn_with_state(app.clone(), session::authenticate))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, Duration::from_secs(30)))
        .layer(CompressionLayer::new());
    let headers = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("permissions-policy"), "camera=(), geolocation=(), microphone=()"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in headers {
        router = router.layer(SetResponseHeaderLayer::if_not_present(name, HeaderValue::from_static(value)));
    }
    // Pages are about people: they stay out of every cache unless a handler says otherwise.
    router = router.layer(SetResponseHeaderLayer::if_not_present(
        header::CACHE_CONTROL,
        HeaderValue::from_static("no-store"),
    ));
    if app.config.behind_tls() {
        router = router.layer(SetResponseHeaderLayer::if_not_present(
            header::STRICT_TRANSPORT_SECURITY,
            HeaderValue::from_static("max-age=31536000"),
        ));
    }
    // The address of a personal link holds its secret, so the log names the route, not the address.
    router.layer(TraceLayer::new_for_http().make_span_with(|request: &Request| {
        let path = request
            .extensions()
            .get::<axum::extract::MatchedPath>()
            .map_or("-", axum::extract::MatchedPath::as_str)
            .to_owned();
        tracing::info_span!("request", method = %request.method(), path)
    }))
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
