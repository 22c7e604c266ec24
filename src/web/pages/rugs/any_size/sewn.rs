//! The sewing plan of a rug of panels, on the screen and as PDF: the same question as its page's, and the same answer.
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::{PanelSearch, search};
use crate::services::paper_data::{Document, sewing};
use crate::store::Read;
use crate::web::pages::papers::shown::{DocumentPage, Print, document_file};
use crate::web::{App, CurrentUser, Form, QueryData, Result};

/// The plan and what was asked; or, where nothing can be sewn, the page that says why.
async fn plan(
    app: &App,
    me: &CurrentUser,
    mut read: Read,
    asked: Option<Form>,
) -> Result<Result<(Document, String), Redirect>> {
    let mut form = asked.unwrap_or_else(|| super::blank(me.units()));
    let query = form.serialize(&["size", "anyway"]);
    let sizes = read.frame_sizes().await?;
    drop(read);
    Ok(match search(app, me.id(), &mut form, &sizes).await? {
        PanelSearch::Laid(laid) => {
            let alike: Vec<_> = laid.groups.iter().map(|group| group.alike.clone()).collect();
            Ok((sewing(&me.reader(app), &laid.arrangement, &alike, &query), query))
        }
        _ => Err(Redirect::to(&format!("/rugs/any-size?{query}"))),
    })
}

pub(in crate::web::pages::rugs) async fn screen(
    State(app): State<App>,
    me: CurrentUser,
    read: Read,
    asked: QueryData,
) -> Result<Response> {
    let (document, query) = match plan(&app, &me, read, asked.form_of(&me)).await? {
        Ok(found) => found,
        Err(elsewhere) => return Ok(elsewhere.into_response()),
    };
    let back = (format!("/rugs/any-size?{query}"), "The layout");
    let page = DocumentPage::of(&me, document, format!("/rugs/any-size/sewing.pdf?{query}"), back)?;
    Ok(page.into_response())
}

pub(in crate::web::pages::rugs) async fn file(
    State(app): State<App>,
    me: CurrentUser,
    read: Read,
    asked: QueryData,
) -> Result<Response> {
    let asked = asked.form_of(&me);
    let print = Print::in_form(asked.as_ref(), me.units());
    match plan(&app, &me, read, asked).await? {
        Ok((document, query)) => {
            let (screen, pdf) =
                (format!("/rugs/any-size/sewing?{query}"), format!("/rugs/any-size/sewing.pdf?{query}"));
            document_file(&app, &me, print, (screen, &pdf), ("sewing plan", document)).await
        }
        Err(elsewhere) => Ok(elsewhere.into_response()),
    }
}
