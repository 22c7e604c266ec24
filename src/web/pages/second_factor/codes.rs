//! One-time codes of an app: showing the secret until a first code comes back, and taking them off.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;

use super::recovery::{PAGE as LIST, change, give_codes, signed_in_lately, too_late};
use crate::drawing::qr;
use crate::services::one_time_codes;
use crate::store::Read;
use crate::web::http::answer::{done, invalid};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// Where the secret is shown.
pub(super) const PAGE: &str = "/me/second-factor/codes";

#[derive(askama::Template, WebTemplate)]
#[template(path = "second_factor/codes.html")]
struct CodesPage {
    layout: Layout,
    form: Form,
    /// The secret in groups of four.
    secret: String,
    address: String,
    qr: String,
}

fn page(me: &CurrentUser, form: Form, secret: &str) -> Result<CodesPage> {
    let layout = me.layout();
    let address = one_time_codes::address(secret, &layout.workroom, me.name())?;
    let qr = qr::svg(&address)?;
    let groups: Vec<String> =
        secret.chars().collect::<Vec<_>>().chunks(4).map(|group| group.iter().collect()).collect();
    Ok(CodesPage { layout, form, secret: groups.join(" "), address, qr })
}

pub(super) async fn begin(State(app): State<App>, me: CurrentUser, jar: CookieJar) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else { return Ok(too_late()) };
    let begun = tx.begin_one_time_codes(me.id(), &one_time_codes::new_secret()).await?;
    done(tx, if begun { PAGE } else { LIST }).await
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    jar: CookieJar,
    mut read: Read,
) -> Result<Response> {
    let code = read.one_time_code(me.id()).await?;
    // A secret that is in use isn't shown again.
    let Some(code) = code.filter(|code| code.confirmed_at.is_none()) else {
        return Ok(Redirect::to(LIST).into_response());
    };
    if !signed_in_lately(&app, &jar, &mut read).await? {
        return Ok(too_late());
    }
    Ok(page(&me, Form::blank(me.units()), &code.secret)?.into_response())
}

pub(super) async fn confirm(
    State(app): State<App>,
    me: CurrentUser,
    jar: CookieJar,
    posted: FormData,
) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else { return Ok(too_late()) };
    let code = tx.one_time_code(me.id()).await?;
    let Some(code) = code.filter(|code| code.confirmed_at.is_none()) else {
        return Ok(Redirect::to(LIST).into_response());
    };
    let mut form = posted.form_of(&me);
    let Some(step) = one_time_codes::step(&code.secret, form.value("code"), app.clock.now())? else {
        form.add_error(
            "code",
            "This isn’t the code that the app shows now. Look whether the clock of its device is right, and type the newest one.",
        );
        return Ok(invalid(page(&me, form, &code.secret)?));
    };
    if !tx.confirm_one_time_codes(me.id(), &code.secret, step).await? {
        return Ok(Redirect::to(LIST).into_response());
    }
    if tx.factors(me.id()).await?.recovery_codes == 0 {
        return give_codes(&me, tx).await;
    }
    done(tx, "/me/second-factor?said=codes-on").await
}

pub(super) async fn remove(State(app): State<App>, me: CurrentUser, jar: CookieJar) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else { return Ok(too_late()) };
    if !tx.remove_one_time_codes(me.id()).await? {
        return Ok(Redirect::to(LIST).into_response());
    }
    done(tx, "/me/second-factor?said=factor-off").await
}
