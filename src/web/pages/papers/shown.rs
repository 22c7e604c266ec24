//! A paper as it is answered: on the screen with buttons for its PDF, as a file, or with a warning where no font draws all of it. Which
//! papers there are is in the files beside.
use askama_web::WebTemplate;
use axum::extract::FromRequestParts;
use axum::http::header;
use axum::http::request::Parts;
use axum::response::{IntoResponse as _, Response};

use crate::drawing::qr;
use crate::pdf::{Size, document_pdf, undrawn};
use crate::planning::locking::stepping::BeginAt;
use crate::services::paper_data::document::{Block, Cell, Sheets, Stands};
use crate::services::paper_data::{Document, Reader};
use crate::units::Units;
use crate::web::pages::guide::begin::begin_at;
use crate::web::{App, CurrentUser, Error, Form, Layout, QueryData, Result};

/// How a paper is to be printed, from the address.
#[derive(Clone, Copy)]
pub(in crate::web) struct Print {
    /// The size asked for; without one the size that goes with the reader's units.
    pub(in crate::web) size: Size,
    /// Whether large print is asked for.
    pub(super) large: bool,
    /// Whether it is wanted even where no font draws all of it.
    anyway: bool,
}

/// What is said before a paper is printed on which some characters would be missing.
#[derive(askama::Template, WebTemplate)]
#[template(path = "papers/undrawn.html")]
struct UndrawnPage {
    layout: Layout,
    undrawn: String,
    /// The page that says the same, to be printed by the browser, where there is one.
    screen: Option<String>,
    anyway: String,
}

impl Print {
    pub(in crate::web) fn of(me: &CurrentUser, asked: QueryData) -> Self {
        Self::in_form(asked.form_of(me).as_ref(), me.units())
    }

    pub(in crate::web) fn in_form(form: Option<&Form>, units: Units) -> Self {
        let asked = form.and_then(|form| form.value("size").parse().ok());
        let usual = if units == Units::Inches { Size::Letter } else { Size::A4 };
        let large = form.is_some_and(|form| form.value("print") == "large");
        let anyway = form.is_some_and(|form| form.ticked("anyway"));
        Self { size: asked.unwrap_or(usual), large, anyway }
    }

    /// The page that warns of characters that no font here draws, where what the paper says has any. `screen` is the page that
    /// the browser can print instead, `pdf` the paper's own address.
    pub(super) fn warning(
        self,
        me: &CurrentUser,
        said: &str,
        screen: impl Into<Option<String>>,
        pdf: &str,
    ) -> Option<Response> {
        let undrawn = undrawn(said);
        if undrawn.is_empty() || self.anyway {
            return None;
        }
        let large = if self.large { "&print=large" } else { "" };
        let more = if pdf.contains('?') { '&' } else { '?' };
        let anyway = format!("{pdf}{more}anyway=yes&size={}{large}", self.size);
        let page = UndrawnPage {
            layout: me.layout(),
            undrawn: undrawn.into_iter().collect(),
            screen: screen.into(),
            anyway,
        };
        Some(page.into_response())
    }
}

/// A PDF to look at or to keep, under a name.
pub(in crate::web) fn file(name: &str, pdf: Vec<u8>) -> Response {
    let name: String =
        name.chars().map(|c| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' }).collect();
    let shown = format!("inline; filename=\"{}.pdf\"", name.trim_matches('-'));
    ([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, shown)], pdf)
        .into_response()
}

/// A paper on the screen, with buttons for its PDF.
#[derive(askama::Template, WebTemplate)]
#[template(path = "papers/document.html")]
pub(in crate::web) struct DocumentPage {
    layout: Layout,
    document: Document,
    /// Where its PDF is, and where one came from: address and words.
    pdf: String,
    back: (String, &'static str),
    qr: Option<String>,
    /// What of it no font here draws.
    undrawn: String,
}

impl DocumentPage {
    pub(in crate::web) fn of(
        me: &CurrentUser,
        document: Document,
        pdf: String,
        back: (String, &'static str),
    ) -> Result<Self> {
        let code = |(to, _): &(String, String)| qr::svg(to);
        let qr = document.link.as_ref().filter(|_| !document.workroom.is_empty()).map(code).transpose()?;
        let undrawn = undrawn(&document.said()).iter().collect();
        Ok(Self { layout: me.layout(), document, pdf, back, qr, undrawn })
    }

    /// The address of the PDF, up to the size of paper. What it can't show is said here and not once more.
    fn pdf_and(&self) -> String {
        let more = if self.pdf.contains('?') { '&' } else { '?' };
        let anyway = if self.undrawn.is_empty() { "" } else { "anyway=yes&" };
        format!("{}{more}{anyway}", self.pdf)
    }

    /// A figure's drawing, under an id of its own.
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn svg(&self, figure: &crate::drawing::figure::Figure, at: &usize) -> String {
        figure.svg(&format!("figure-{at}"))
    }
}

/// The file of a document; or a warning before, where no font draws all of it. `screen` shows the same, `pdf` is its own address.
pub(in crate::web) async fn document_file(
    app: &App,
    me: &CurrentUser,
    print: Print,
    (screen, pdf): (String, &str),
    (name, document): (&str, Document),
) -> Result<Response> {
    if let Some(page) = print.warning(me, &document.said(), screen, pdf) {
        return Ok(page);
    }
    let size = print.size;
    Ok(file(name, app.search(me.id(), move || document_pdf(&document, size)).await??))
}

/// How a document is asked for: the address of its page shows it on the screen, the same with `.pdf` behind it is its file.
pub(super) struct Asked {
    pub(super) app: App,
    pub(super) me: CurrentUser,
    /// The address of its page.
    page: String,
    /// How its file is to be printed, if that is asked for.
    file: Option<Print>,
    /// The rod that a first row begins at.
    pub(super) begin: BeginAt,
}

impl FromRequestParts<App> for Asked {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self> {
        let me = CurrentUser::from_request_parts(parts, app).await?;
        let Ok(query) = QueryData::from_request_parts(parts, app).await;
        let form = query.form_of(&me);
        let begin = begin_at(form.as_ref());
        let path = parts.uri.path();
        let (page, file) = match path.strip_suffix(".pdf") {
            Some(page) => (page.to_owned(), Some(Print::in_form(form.as_ref(), me.units()))),
            None => (path.to_owned(), None),
        };
        Ok(Self { app: app.clone(), me, page, file, begin })
    }
}

impl Asked {
    /// Who reads it.
    pub(super) fn reader(&self) -> Reader {
        self.me.reader(&self.app)
    }

    /// The document as it is asked for; its file under a name, its page with a way back.
    pub(super) async fn answer(
        self,
        document: Document,
        name: &str,
        back: (String, &'static str),
    ) -> Result<Response> {
        let begin = if self.begin == BeginAt::Right { "?begin=right" } else { "" };
        let pdf = format!("{}.pdf{begin}", self.page);
        if let Some(print) = self.file {
            return document_file(&self.app, &self.me, print, (self.page, &pdf), (name, document)).await;
        }
        Ok(DocumentPage::of(&self.me, document, pdf, back)?.into_response())
    }
}
