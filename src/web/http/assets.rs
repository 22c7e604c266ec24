//! The few files that are sent as they are.
use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::LazyLock;

use axum::body::Bytes;
use axum::extract::Path;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest as _, Sha256};

use super::fonts::{FONTS, Font};
use super::kept::{gzip, takes_gzip};
use super::route::{Route, Who, get};
use crate::web::Error;

#[derive(rust_embed::RustEmbed)]
#[folder = "static/"]
#[include = "*.css"]
#[include = "*.js"]
#[include = "*.svg"]
struct Files;

/// The scripts that open a page when the network is away, each with the only addresses for which it may do so: the scale's,
/// and a rug's, which asks for its own alone.
const OFFLINE: [(&str, &str); 2] =
    [("weigh-in-offline.js", "/cloth/weigh-in"), ("rows-offline.js", "/rugs/")];

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/static/{*path}", Who::Anyone, file)]
}

/// A file as it is sent.
struct Sent {
    tag: String,
    kind: &'static str,
    /// How long a browser may keep it without asking.
    kept: &'static str,
    plain: Bytes,
    /// The same compressed.
    packed: Bytes,
}

/// All of them, compressed once when the first is asked for.
static SENT: LazyLock<HashMap<String, Sent>> = LazyLock::new(|| {
    let sent = |path: Cow<'static, str>| {
        let file = Files::get(&path)?;
        let tag = format!("\"{}\"", data_encoding::HEXLOWER.encode(&file.metadata.sha256_hash()[..16]));
        let kind = match path.rsplit_once('.').map(|(_, ending)| ending) {
            Some("css") => "text/css; charset=utf-8",
            Some("js") => "text/javascript; charset=utf-8",
            _ => "image/svg+xml; charset=utf-8",
        };
        let packed = gzip(&file.data);
        let plain = Bytes::from(file.data.into_owned());
        Some((path.into_owned(), Sent { tag, kind, kept: "no-cache", plain, packed }))
    };
    let font = |font: &Font| {
        let tag = format!("\"{}\"", &data_encoding::HEXLOWER.encode(&Sha256::digest(font.file))[..32]);
        let packed = gzip(font.file);
        // Asked for at each page, letters would show in another face until the answer is there.
        let kept = "public, max-age=604800";
        let plain = Bytes::from_static(font.file);
        (font.path.to_owned(), Sent { tag, kind: font.kind, kept, plain, packed })
    };
    Files::iter().filter_map(sent).chain(FONTS.iter().map(font)).collect()
});

async fn file(Path(path): Path<String>, headers: HeaderMap) -> Result<Response, Error> {
    let file = SENT.get(&path).ok_or(Error::NotFound("file"))?;
    let tag = file.tag.as_str();
    if headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes()) {
        return Ok((StatusCode::NOT_MODIFIED, [(header::ETAG, tag)]).into_response());
    }
    let packed = takes_gzip(&headers);
    let head = [
        (header::CONTENT_TYPE, file.kind),
        (header::ETAG, tag),
        (header::CACHE_CONTROL, file.kept),
        (header::VARY, "accept-encoding"),
    ];
    let mut response = (head, if packed { file.packed.clone() } else { file.plain.clone() }).into_response();
    if packed {
        response.headers_mut().insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
    }
    if let Some((_, scope)) = OFFLINE.iter().find(|(script, _)| *script == path) {
        response.headers_mut().insert("service-worker-allowed", HeaderValue::from_static(scope));
    }
    Ok(response)
}
