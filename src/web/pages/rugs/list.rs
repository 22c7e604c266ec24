//! Lists of rugs: the class's, and a weaver's own.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::store::rugs::Rug;
use crate::units::Units;
use crate::web::{App, CurrentUser, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/list.html")]
struct ListPage {
    layout: Layout,
    rugs: Vec<Rug>,
    units: Units,
}

pub(super) async fn all(State(app): State<App>, me: CurrentUser) -> Result<Response> {
    let rugs = app.store.read().await?.rugs(None, None).await?;
    Ok(ListPage { layout: me.layout(), rugs, units: me.units() }.into_response())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/mine.html")]
struct MinePage {
    layout: Layout,
    rugs: Vec<Rug>,
    units: Units,
    name: String,
}

/// A weaver with one rug has come for that rug.
pub(super) async fn mine(State(app): State<App>, me: CurrentUser) -> Result<Response> {
    let rugs = app.store.read().await?.rugs(Some(me.id()), None).await?;
    if let [rug] = rugs.as_slice() {
        return Ok(Redirect::to(&format!("/rugs/{}", rug.id)).into_response());
    }
    Ok(MinePage { layout: me.layout(), rugs, units: me.units(), name: me.name().to_owned() }.into_response())
}
