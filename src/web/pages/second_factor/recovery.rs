//! Recovery codes: made ten at a time, shown once; and who may change second factors at all.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;
use jiff::ToSpan as _;

use crate::secrets;
use crate::services::one_time_codes;
use crate::store::{Read, Write};
use crate::web::http::session::cookie_name;
use crate::web::{App, CurrentUser, Layout, Result};

/// Where somebody's second factors are.
pub(super) const PAGE: &str = "/me/second-factor";

/// For how many minutes after signing in second factors can be changed: whoever finds a device that is signed in must not be
/// able to put a factor of their own on it.
pub(super) const LATELY: i64 = 15;

/// Whether this session began a short while ago.
pub(super) async fn signed_in_lately(app: &App, jar: &CookieJar, read: &mut Read) -> Result<bool> {
    let Some(cookie) = jar.get(cookie_name(app)) else { return Ok(false) };
    let began = read.session_began(&secrets::secret_hash(cookie.value())).await?;
    let since = app.clock.now().saturating_sub(LATELY.minutes()).unwrap_or_default();
    Ok(began.is_some_and(|at| at >= since))
}

/// A change of one's own second factors; `None` when the sign-in was too long ago for one.
pub(super) async fn change(app: &App, me: &CurrentUser, jar: &CookieJar) -> Result<Option<Write>> {
    let mut tx = app.write(me).await?;
    let lately = signed_in_lately(app, jar, &mut tx).await?;
    tx.lock_person(me.id()).await?;
    Ok(lately.then_some(tx))
}

/// Leads back to the page, which says that it takes a new sign-in.
pub(super) fn too_late() -> Response {
    Redirect::to(PAGE).into_response()
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "second_factor/recovery.html")]
struct RecoveryPage {
    layout: Layout,
    codes: Vec<String>,
}

/// Makes ten codes in the place of earlier ones, keeps the change, and shows them this once.
pub(super) async fn give_codes(me: &CurrentUser, mut tx: Write) -> Result<Response> {
    let codes = one_time_codes::new_recovery_codes();
    let hashes: Vec<String> = codes.iter().filter_map(|code| one_time_codes::recovery_hash(code)).collect();
    tx.replace_recovery_codes(me.id(), &hashes).await?;
    tx.commit().await?;
    Ok(RecoveryPage { layout: me.layout(), codes }.into_response())
}

pub(super) async fn renew(State(app): State<App>, me: CurrentUser, jar: CookieJar) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else { return Ok(too_late()) };
    if !tx.factors(me.id()).await?.any() {
        return Ok(Redirect::to(PAGE).into_response());
    }
    give_codes(&me, tx).await
}
