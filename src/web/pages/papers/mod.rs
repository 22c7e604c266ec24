//! Papers as PDF: each from what `services` says of it, drawn by `pdf`, answered as a file. Here is also what the live page says
//! to a paper whose code was scanned.
pub(in crate::web) mod documents;
mod labels;
mod of_class;
mod of_rug;
pub(in crate::web) mod printed;
pub(in crate::web) mod shown;
mod template;

use shown::{Print, file};

use crate::pdf::PaperError;
use crate::web::http::route::{Route, Who, get};
use crate::web::{App, CurrentUser, Error, Form, Layout, QueryData, Result};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    let mut routes = vec![
        get("/rugs/{id}/card.pdf", Who::SignedIn, of_rug::card),
        get("/rugs/{id}/tape.pdf", Who::SignedIn, of_rug::tape),
        get("/rugs/{id}/reading.pdf", Who::SignedIn, of_rug::reading),
        get("/rugs/{id}/care.pdf", Who::SignedIn, of_class::care_of_rug),
        get("/terms/{id}/cards.pdf", Who::Staff, of_rug::cards_of_term),
        get("/terms/{id}/care.pdf", Who::Staff, of_class::care_of_term),
        get("/terms/{id}/wall.pdf", Who::Staff, of_class::wall),
        get("/pull.pdf", Who::Staff, of_class::pull),
        get("/loans/{id}/slip.pdf", Who::SignedIn, of_class::slip),
        get("/frames/build/template.pdf", Who::Staff, template::of_wish),
        get("/frames/{id}/template.pdf", Who::Staff, template::of_frame),
        get("/cloth/tags", Who::Staff, labels::bundles),
        get("/cloth/tags.pdf", Who::Staff, labels::bundles_pdf),
        get("/frames/tags", Who::Staff, labels::frames),
        get("/frames/tags.pdf", Who::Staff, labels::frames_pdf),
    ];
    routes.extend(documents::routes());
    routes
}

impl From<PaperError> for Error {
    fn from(error: PaperError) -> Self {
        Self::Internal(error.to_string())
    }
}
