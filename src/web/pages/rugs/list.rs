//! Lists of rugs: the class's, and a weaver's own.
use askama_web::WebTemplate;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::store::Read;
use crate::store::rugs::Rug;
use crate::units::Units;
use crate::web::{CurrentUser, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/list.html")]
pub(super) struct RugsPage {
    layout: Layout,
    rugs: Vec<Rug>,
    units: Units,
}

pub(super) async fn all(me: CurrentUser, mut read: Read) -> Result<RugsPage> {
    let rugs = read.rugs(None, None).await?;
    Ok(RugsPage { layout: me.layout(), rugs, units: me.units() })
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
pub(super) async fn mine(me: CurrentUser, mut read: Read) -> Result<Response> {
    let rugs = read.rugs(Some(me.id()), None).await?;
    if let [rug] = rugs.as_slice() {
        return Ok(Redirect::to(&format!("/rugs/{}", rug.id)).into_response());
    }
    Ok(MinePage { layout: me.layout(), rugs, units: me.units(), name: me.name().to_owned() }.into_response())
}
