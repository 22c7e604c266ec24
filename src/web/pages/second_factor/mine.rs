//! One's own second factors: what there is, and adding and removing passkeys.
use askama_web::WebTemplate;
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use axum_extra::extract::CookieJar;
use passki::{RegistrationOptions, ResidentKeyRequirement, StoredPasskey};
use serde_json::json;

pub(super) use super::recovery::PAGE;
use super::recovery::{LATELY, change, give_codes, signed_in_lately, too_late};
use crate::secrets;
use crate::store::auth::half_way::HalfWay;
use crate::store::auth::second_factors::{Factors, Passkey};
use crate::store::{PasskeyId, Read};
use crate::units::dates;
use crate::web::http::answer::{done, invalid};
use crate::web::http::auth::relying_party::relying_party;
use crate::web::http::form::LINE;
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// Most passkeys of one person.
const MOST: usize = 20;

#[derive(askama::Template, WebTemplate)]
#[template(path = "second_factor/mine.html")]
struct SecondFactorPage {
    layout: Layout,
    form: Form,
    passkeys: Vec<PasskeyLine>,
    factors: Factors,
    /// Whether the sign-in is recent enough to change something.
    lately: bool,
    minutes: i64,
    /// Whether the workroom wants one before anything else, and there is none.
    due: bool,
    /// Whether this address can have passkeys.
    can_passkeys: bool,
    origin: String,
}

struct PasskeyLine {
    id: PasskeyId,
    name: String,
    added: String,
    used: String,
}

async fn page(
    app: &App,
    me: &CurrentUser,
    jar: &CookieJar,
    read: &mut Read,
    form: Form,
) -> Result<SecondFactorPage> {
    let wall = me.wall();
    let line = |key: Passkey| PasskeyLine {
        id: key.id,
        name: key.name,
        added: dates::moment(key.made_at.0, &wall),
        used: key.used_at.map_or_else(|| "not yet".to_owned(), |at| dates::moment(at.0, &wall)),
    };
    let passkeys = read.passkeys(me.id()).await?.into_iter().map(line).collect();
    Ok(SecondFactorPage {
        layout: me.layout(),
        form,
        passkeys,
        factors: read.factors(me.id()).await?,
        lately: signed_in_lately(app, jar, read).await?,
        minutes: LATELY,
        due: me.second_factor_due(),
        can_passkeys: relying_party(&me.origin, "").is_some(),
        origin: me.origin.clone(),
    })
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    jar: CookieJar,
    mut read: Read,
) -> Result<Response> {
    Ok(page(&app, &me, &jar, &mut read, Form::blank(me.units())).await?.into_response())
}

/// The credentials of passkeys as the library reads them.
pub(super) fn stored(passkeys: &[Passkey]) -> Result<Vec<StoredPasskey>> {
    let read = |key: &Passkey| serde_json::from_str(&key.credential);
    passkeys
        .iter()
        .map(read)
        .collect::<Result<_, _>>()
        .map_err(|e| Error::Internal(format!("a kept passkey: {e}")))
}

/// Asks an authenticator for a new passkey: what the browser hands on to it, and the secret to come back with.
pub(super) async fn begin_passkey(
    State(app): State<App>,
    me: CurrentUser,
    jar: CookieJar,
) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else {
        return Ok(not_begun("Sign in again first: that was too long ago."));
    };
    let layout = me.layout();
    let Some(party) = relying_party(&me.origin, &layout.workroom) else {
        return Ok(not_begun("This address can’t have passkeys."));
    };
    let known = stored(&tx.passkeys(me.id()).await?)?;
    if known.len() >= MOST {
        return Ok(not_begun("There are twenty passkeys already. Remove one first."));
    }
    let mut options = RegistrationOptions::default();
    options.resident_key = ResidentKeyRequirement::Preferred;
    options.exclude_credentials = Some(&known);
    let (ask, state) = party
        .start_passkey_registration(me.id().to_string().as_bytes(), me.name(), me.name(), options)
        .map_err(|e| Error::Internal(e.to_string()))?;
    let state = serde_json::to_string(&state).map_err(|e| Error::Internal(e.to_string()))?;
    let secret = secrets::secret();
    if !tx.begin(&secrets::secret_hash(&secret), HalfWay::PasskeyMade, Some(me.id()), &state).await? {
        return Err(Error::TooMany(1));
    }
    tx.commit().await?;
    Ok(Json(json!({ "begun": secret, "ask": ask })).into_response())
}

/// What the script shows where no passkey can be asked for.
fn not_begun(words: &str) -> Response {
    (StatusCode::CONFLICT, Json(json!({ "words": words }))).into_response()
}

const NOT_TAKEN: &str = "The passkey wasn’t taken: what the device sent doesn’t fit what it was asked, or came too late. Try it once more.";

pub(super) async fn add_passkey(
    State(app): State<App>,
    me: CurrentUser,
    jar: CookieJar,
    posted: FormData,
) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else { return Ok(too_late()) };
    let mut form = posted.form_of(&me);
    let count = tx.passkeys(me.id()).await?.len();
    let name = form.optional_text("name", "The passkey’s name", LINE);
    let begun = secrets::secret_hash(form.value("begun"));
    let asked = tx.half_way(&begun, HalfWay::PasskeyMade, app.clock.now()).await?;
    // Asked once, answered once, rightly or not.
    tx.end(&begun).await?;
    let state = asked.filter(|asked| asked.person_id == Some(me.id())).map(|asked| asked.state);
    let made = state.and_then(|state| {
        let state = serde_json::from_str(&state).ok()?;
        let credential = serde_json::from_str(form.value("credential")).ok()?;
        relying_party(&me.origin, "")?.finish_passkey_registration(&credential, &state).ok()
    });
    if made.is_none() || count >= MOST {
        form.add_error("", NOT_TAKEN);
    }
    let (Some(name), Some(made), true) = (name, made, form.is_ok()) else {
        let page = page(&app, &me, &jar, &mut tx, form).await?;
        tx.commit().await?;
        return Ok(invalid(page));
    };
    let name = if name.is_empty() { format!("Passkey {}", count + 1) } else { name };
    let credential = serde_json::to_string(&made).map_err(|e| Error::Internal(e.to_string()))?;
    let credential_id = data_encoding::BASE64URL_NOPAD.encode(&made.credential_id);
    match tx.add_passkey(me.id(), &name, &credential_id, &credential).await {
        Ok(()) => {}
        Err(e) if e.violates("u_passkey__credential_id") => {
            form.add_error("", "This passkey is here already.");
            drop(tx);
            let mut read = app.store.read().await?;
            return Ok(invalid(page(&app, &me, &jar, &mut read, form).await?));
        }
        Err(other) => return Err(other.into()),
    }
    if tx.factors(me.id()).await?.recovery_codes == 0 {
        return give_codes(&me, tx).await;
    }
    done(tx, "/me/second-factor?said=passkey-added").await
}

pub(super) async fn remove_passkey(
    State(app): State<App>,
    me: CurrentUser,
    jar: CookieJar,
    Id(id): Id<PasskeyId>,
) -> Result<Response> {
    let Some(mut tx) = change(&app, &me, &jar).await? else { return Ok(too_late()) };
    if !tx.remove_passkey(me.id(), id).await? {
        return Err(PasskeyId::none());
    }
    done(tx, "/me/second-factor?said=factor-off").await
}
