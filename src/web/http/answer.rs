//! How a form is answered: given back with what is wrong, or done and on to a page.
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};

use super::error::Result;
use crate::store::Write;

/// The form again, with an error at each field that can't be read.
pub(in crate::web) fn invalid(page: impl IntoResponse) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

/// The form again, since things are no longer as the person who filled it in saw them.
pub(in crate::web) fn conflict(page: impl IntoResponse) -> Response {
    (StatusCode::CONFLICT, page).into_response()
}

/// Keeps what was done, and leads on.
pub(in crate::web) async fn done(tx: Write, to: &str) -> Result<Response> {
    tx.commit().await?;
    Ok(Redirect::to(to).into_response())
}

/// The page with what was asked of it, or, where that can't be read, with an error at each such field.
pub(in crate::web) fn checked(is_ok: bool, page: impl IntoResponse) -> Response {
    if is_ok { page.into_response() } else { invalid(page) }
}
