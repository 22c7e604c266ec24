//! A sign-in whose passphrase was right and whose second step is to come: a cookie of its own, which opens nothing else.
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};

use crate::secrets;
use crate::store::auth::half_way::{HalfWay, MINUTES};
use crate::store::{PersonId, Write};
use crate::web::http::form::Form;
use crate::web::{App, Error, Result};

/// Where the second step is taken.
pub(in crate::web) const SECOND_STEP: &str = "/sign-in/second-step";

fn cookie_name(app: &App) -> &'static str {
    if app.config.behind_tls() { "__Host-thrumhall-step" } else { "thrumhall-step" }
}

/// Keeps that somebody's passphrase was right, with what their form says of where to go then; gives their browser the cookie to
/// go on with.
pub(in crate::web) async fn begin(
    app: &App,
    tx: &mut Write,
    person: PersonId,
    form: &Form,
) -> Result<CookieJar> {
    let secret = secrets::secret();
    let carried = form.serialize(&["name", "passphrase", "key"]);
    if !tx.begin(&secrets::secret_hash(&secret), HalfWay::SecondStep, Some(person), &carried).await? {
        return Err(Error::TooMany(MINUTES));
    }
    let cookie = Cookie::build((cookie_name(app), secret))
        .path("/")
        .http_only(true)
        .secure(app.config.behind_tls())
        .same_site(SameSite::Strict)
        .max_age(time::Duration::minutes(MINUTES));
    Ok(CookieJar::new().add(cookie))
}

/// The hash of the half-way sign-in that a browser holds.
pub(in crate::web) fn held(app: &App, jar: &CookieJar) -> Option<String> {
    jar.get(cookie_name(app)).map(|cookie| secrets::secret_hash(cookie.value()))
}
