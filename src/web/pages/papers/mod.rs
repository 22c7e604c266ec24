//! Papers as PDF: each from what `services` says of it, drawn by `pdf`, answered as a file. Here is also what the live page says
//! to a paper whose code was scanned.
mod labels;
mod of_class;
mod of_rug;
pub(in crate::web) mod printed;
mod template;

use axum::http::header;
use axum::response::{IntoResponse as _, Response};

use crate::pdf::{PaperError, Size};
use crate::units::Units;
use crate::web::http::route::{Route, Who, get};
use crate::web::{App, CurrentUser, Error, Form, Layout, QueryData, Result};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
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
    ]
}

impl From<PaperError> for Error {
    fn from(error: PaperError) -> Self {
        Self::Internal(error.to_string())
    }
}

/// How a paper is to be printed, from the address.
#[derive(Clone, Copy)]
struct Print {
    /// The size asked for; without one the size that goes with the reader's units.
    size: Size,
    /// Whether large print is asked for.
    large: bool,
}

impl Print {
    fn of(me: &CurrentUser, asked: QueryData) -> Self {
        Self::in_form(asked.form_of(me).as_ref(), me.units())
    }

    fn in_form(form: Option<&Form>, units: Units) -> Self {
        let asked = form.and_then(|form| form.value("size").parse().ok());
        let usual = if units == Units::Inches { Size::Letter } else { Size::A4 };
        let large = form.is_some_and(|form| form.value("print") == "large");
        Self { size: asked.unwrap_or(usual), large }
    }
}

/// A PDF to look at or to keep, under a name.
fn file(name: &str, pdf: Vec<u8>) -> Response {
    let name: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    let shown = format!("inline; filename=\"{}.pdf\"", name.trim_matches('-'));
    ([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, shown)], pdf)
        .into_response()
}
