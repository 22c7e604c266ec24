//! A form that a file may come with. The file is kept in memory only, and never written to a file.
use axum::extract::{FromRequest, Multipart, Request};
use axum::http::header;

use crate::web::{App, Error, FormData};

/// The largest form with a file that is read; only the routes that take one say so.
pub(in crate::web) const LARGEST: usize = 5 * 1024 * 1024 / 2;

/// What a browser posted, and the file that was chosen, if one was.
#[derive(Debug)]
pub(in crate::web) struct Uploaded {
    pub(in crate::web) posted: FormData,
    pub(in crate::web) file: Option<Vec<u8>>,
}

impl FromRequest<App> for Uploaded {
    type Rejection = Error;

    async fn from_request(request: Request, app: &App) -> Result<Self, Error> {
        let kind = request.headers().get(header::CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        if !kind.is_some_and(|kind| kind.starts_with("multipart/form-data")) {
            return Ok(Self { posted: FormData::from_request(request, app).await?, file: None });
        }
        let broken = |_| Error::Unreadable("it is larger than any form of ours, or was cut off");
        let mut parts =
            Multipart::from_request(request, app).await.map_err(|_| Error::Unreadable("it is not a form"))?;
        let (mut fields, mut file) = (Vec::new(), None);
        while let Some(part) = parts.next_field().await.map_err(broken)? {
            let (name, of_a_file) = (part.name().unwrap_or_default().to_owned(), part.file_name().is_some());
            let bytes = part.bytes().await.map_err(broken)?;
            if of_a_file {
                file = Some(bytes.to_vec()).filter(|bytes| !bytes.is_empty()).or(file);
            } else {
                let text = String::from_utf8(bytes.to_vec());
                fields.push((name, text.map_err(|_| Error::Unreadable("a field of it is no text"))?));
            }
        }
        Ok(Self { posted: FormData::of(fields), file })
    }
}
