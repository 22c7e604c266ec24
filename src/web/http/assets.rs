//! The few files that are sent as they are, and the health page. Only the latter asks the database.
use axum::extract::Path;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};

use super::route::{Route, Who, get};
use crate::store::Read;
use crate::web::Error;

#[derive(rust_embed::RustEmbed)]
#[folder = "static/"]
#[include = "*.css"]
#[include = "*.js"]
#[include = "*.svg"]
struct Files;

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/static/{*path}", Who::Anyone, file), get("/healthz", Who::Anyone, health)]
}

async fn file(Path(path): Path<String>, headers: HeaderMap) -> Result<Response, Error> {
    let file = Files::get(&path).ok_or(Error::NotFound("file"))?;
    let tag = format!("\"{}\"", data_encoding::HEXLOWER.encode(&file.metadata.sha256_hash()[..16]));
    if headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes()) {
        return Ok((StatusCode::NOT_MODIFIED, [(header::ETAG, tag)]).into_response());
    }
    let kind = match path.rsplit_once('.').map(|(_, ending)| ending) {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        _ => "image/svg+xml",
    };
    let head = [
        (header::CONTENT_TYPE, kind.to_owned()),
        (header::ETAG, tag),
        (header::CACHE_CONTROL, "no-cache".to_owned()),
    ];
    Ok((head, file.data).into_response())
}

async fn health(mut read: Read) -> Result<&'static str, Error> {
    read.ping().await?;
    Ok("ok\n")
}
