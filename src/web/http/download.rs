//! Files to take away.
use axum::http::header;
use axum::response::{IntoResponse as _, Response};

use super::error::Error;
use crate::tables::csv;

/// A table as a CSV file to take away.
pub(in crate::web) fn csv_file<R: AsRef<[String]>>(
    name: &'static str,
    head: &[&str],
    rows: impl Iterator<Item = R>,
) -> Result<Response, Error> {
    let csv = csv(head, rows).map_err(|e| Error::Internal(e.to_string()))?;
    let kind = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    Ok((kind, csv).into_response())
}
