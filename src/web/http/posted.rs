//! What a request posted, kept until it is answered: where the database goes away meanwhile, the page that says so carries it, and
//! it can be sent again.
use std::sync::{Arc, Mutex, PoisonError};

use axum::body::to_bytes;
use axum::extract::Request;
use axum::http::header;
use futures_util::StreamExt as _;

/// The largest form that is read, unless its route says otherwise. A term's worth of bands and notes is a few kilobytes.
pub(in crate::web) const LARGEST_BODY: usize = 256 * 1024;

/// As much is read away of what can't be answered: what somebody may choose by mistake instead of a list, a photograph or a short
/// film. It is forgotten as it comes, and a proxy that was cut off in the middle of it would answer 502 instead of us.
const LARGEST_SENT: usize = 32 * 1024 * 1024;

/// Fields that no page carries back.
const SECRET: [&str; 4] = ["passphrase", "again", "old", "code"];

type Fields = Vec<(String, String)>;

/// The fields of a request's form, from the moment that it is read.
#[derive(Clone, Default)]
pub(in crate::web) struct Posted(Arc<Mutex<Option<Fields>>>);

impl Posted {
    /// Notes what was read.
    pub(in crate::web) fn note(&self, fields: &[(String, String)]) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some(fields.to_vec());
    }

    /// Reads a form that no handler will read any more, since nothing can be done with it now.
    pub(in crate::web) async fn read(&self, request: Request) {
        if !is_form(&request) {
            return;
        }
        let body = request.into_body();
        if let Ok(body) = to_bytes(body, LARGEST_BODY).await {
            self.note(&form_urlencoded::parse(&body).into_owned().collect::<Vec<_>>());
        }
    }

    /// The form to be sent again to this address; nothing where it wasn't read, is no plain form, or holds a secret.
    pub(in crate::web) fn again(&self, address: &str) -> Option<Again> {
        let fields = self.0.lock().unwrap_or_else(PoisonError::into_inner).take()?;
        let secret = fields.iter().any(|(name, value)| SECRET.contains(&name.as_str()) && !value.is_empty());
        (!secret).then(|| Again { address: address.to_owned(), fields })
    }
}

/// Whether a plain form is posted.
pub(in crate::web) fn is_form(request: &Request) -> bool {
    let kind = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
    kind.is_some_and(|kind| kind.starts_with("application/x-www-form-urlencoded"))
}

/// A form that can be sent again as it was.
#[derive(Clone, Debug)]
pub(in crate::web) struct Again {
    /// Where to.
    pub address: String,
    /// Its fields, the form's key among them.
    pub fields: Fields,
}

/// Reads what was sent and forgets it: whoever is answered before they have sent all may find the connection closed instead of
/// the answer.
pub(super) async fn read_away(request: Request) {
    let mut left = LARGEST_SENT;
    let mut parts = request.into_body().into_data_stream();
    while let Some(Ok(part)) = parts.next().await {
        left = left.saturating_sub(part.len());
        if left == 0 {
            break;
        }
    }
}
