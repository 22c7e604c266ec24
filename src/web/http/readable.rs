//! Refuses what nobody types: control characters, which PostgreSQL takes for a fault and SQLite keeps.
use axum::extract::Request;
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};

use super::error::Error;

/// Whether a text holds a control character other than the ends of lines and tabs.
pub(in crate::web) fn has_controls(text: &str) -> bool {
    text.chars().any(|c| c.is_ascii_control() && !matches!(c, '\t' | '\n' | '\r'))
}

/// Looks at the address of a request.
pub(in crate::web) async fn address(request: Request, next: Next) -> Response {
    let uri = request.uri();
    let query = form_urlencoded::parse(uri.query().unwrap_or_default().as_bytes());
    // A path is read as a query's value is, but that a plus is a plus: neither is a control character.
    let path = form_urlencoded::parse(uri.path().as_bytes());
    let bad = query.chain(path).any(|(name, value)| has_controls(&name) || has_controls(&value));
    if bad {
        return Error::Unreadable("it holds a character that can’t be typed").into_response();
    }
    next.run(request).await
}
