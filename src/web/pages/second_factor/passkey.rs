//! Proving a passkey: by itself, with the person verified by their device, or as the second step of a sign-in.
use axum::Json;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;
use passki::{
    AuthenticationCredential, AuthenticationOptions, AuthenticationState, Passki, StoredPasskey,
    UserVerificationRequirement,
};
use serde_json::json;

use crate::secrets;
use crate::store::auth::half_way::{HalfWay, MINUTES};
use crate::store::auth::second_factors::Passkey;
use crate::store::{Actor, PersonId, Write};
use crate::units::Units;
use crate::web::http::auth::client_address::ClientAddress;
use crate::web::http::auth::entering::{Visit, open_session_for};
use crate::web::http::auth::half_way::held;
use crate::web::http::auth::relying_party::relying_party;
use crate::web::http::auth::tries::Doors;
use crate::web::http::error::Told;
use crate::web::pages::auth::way_on;
use crate::web::{App, Error, Form, FormData, MaybeUser, Result};

/// Asks for a passkey: any, or one of a person whose second step it is.
pub(super) async fn ask(
    app: &App,
    origin: &str,
    person: Option<PersonId>,
    known: &[StoredPasskey],
) -> Result<Response> {
    let Some(party) = relying_party(origin, "") else {
        let words = "This address can’t have passkeys.";
        return Ok((StatusCode::CONFLICT, Json(json!({ "words": words }))).into_response());
    };
    let mut options = AuthenticationOptions::default();
    if person.is_none() {
        options.user_verification = UserVerificationRequirement::Required;
    }
    let fault = |e: &dyn std::fmt::Display| Error::Internal(e.to_string());
    let (ask, state) = party.start_passkey_authentication(known, options).map_err(|e| fault(&e))?;
    let state = serde_json::to_string(&state).map_err(|e| fault(&e))?;
    let secret = secrets::secret();
    let mut tx = app.store.write(Actor { person, at: app.clock.now() }).await?;
    if !tx.begin(&secrets::secret_hash(&secret), HalfWay::PasskeyAsked, person, &state).await? {
        return Err(Error::TooMany(MINUTES));
    }
    tx.commit().await?;
    Ok(Json(json!({ "begun": secret, "ask": ask })).into_response())
}

pub(super) async fn begin(
    State(app): State<App>,
    address: ClientAddress,
    MaybeUser(_, origin): MaybeUser,
) -> Result<Response> {
    let doors = Doors::of_passkey(&address);
    doors.are_open(&app, &mut app.store.read().await?).await?;
    doors.count(&app).await?;
    ask(&app, &origin, None, &[]).await
}

pub(super) async fn sign_in(
    State(app): State<App>,
    MaybeUser(_, origin): MaybeUser,
    address: ClientAddress,
    visit: Visit,
    jar: CookieJar,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form(Units::Inches);
    let begun = secrets::secret_hash(form.value("begun"));
    let now = app.clock.now();
    let mut read = app.store.read().await?;
    let asked = read.half_way(&begun, HalfWay::PasskeyAsked, now).await?;
    let credential = serde_json::from_str::<AuthenticationCredential>(form.value("credential")).ok();
    let passkey = match &credential {
        Some(credential) => read.passkey_by_credential(&credential.raw_id).await?,
        None => None,
    };
    drop(read);
    let person = passkey.as_ref().map(|passkey| passkey.person_id);
    let second = asked.as_ref().is_some_and(|asked| asked.person_id.is_some());
    let back =
        if second { "/sign-in/second-step?said=passkey-refused" } else { "/sign-in?said=passkey-refused" };
    let mut tx = app.store.write(Actor { person, at: now }).await?;
    // Asked once, answered once, rightly or not; a twin of this request finds nothing left to answer.
    let ended = tx.end(&begun).await?;
    let proven = match (asked.filter(|_| ended), credential, passkey, relying_party(&origin, "")) {
        (Some(asked), Some(credential), Some(passkey), Some(party))
            if asked.person_id.is_none_or(|person| person == passkey.person_id) =>
        {
            prove(&mut tx, &party, &asked.state, &credential, passkey.person_id).await?
        }
        _ => None,
    };
    let Some(person) = proven else {
        tx.commit().await?;
        let mut answer = Redirect::to(back).into_response();
        answer.extensions_mut().insert(Told::Refused("a sign-in by passkey failed"));
        return Ok(answer);
    };
    // As a second step it goes on from the first, of the same person.
    let (to, stay) = if second {
        let Some(step) = held(&app, &jar) else {
            return Ok(Redirect::to("/sign-in?said=step-late").into_response());
        };
        let first = tx.half_way(&step, HalfWay::SecondStep, now).await?;
        let Some(first) = first.filter(|first| first.person_id == Some(person)) else {
            return Ok(Redirect::to("/sign-in?said=step-late").into_response());
        };
        if !tx.end(&step).await? {
            return Ok(Redirect::to("/sign-in?said=step-late").into_response());
        }
        way_on(&Form::blank(Units::Inches).deserialize(&first.state))
    } else {
        // What was asked for was counted; it ended well.
        Doors::of_passkey(&address).forgive(&mut tx).await?;
        way_on(&form)
    };
    tx.forgive_code_tries(person).await?;
    open_session_for(&app, tx, &visit, person, stay, &to).await
}

/// Whose passkey this proves, and keeps its new counter. The person's row is locked, so that two answers of one authenticator are
/// held against each other's counter.
async fn prove(
    tx: &mut Write,
    party: &Passki,
    state: &str,
    credential: &AuthenticationCredential,
    person: PersonId,
) -> Result<Option<PersonId>> {
    tx.lock_person(person).await?;
    let passkey: Option<Passkey> = tx.passkey_by_credential(&credential.raw_id).await?;
    let Some(passkey) = passkey else { return Ok(None) };
    let fault = |e: serde_json::Error| Error::Internal(format!("a kept passkey: {e}"));
    let state: AuthenticationState = serde_json::from_str(state).map_err(fault)?;
    let mut stored: StoredPasskey = serde_json::from_str(&passkey.credential).map_err(fault)?;
    let Ok(result) = party.finish_passkey_authentication(credential, &state, &stored) else {
        return Ok(None);
    };
    // Web Authentication Level 3, 7.2, step 6: where nobody was named, the authenticator names its user, and rightly.
    let named = result.user_handle.as_deref();
    let alone = state.allowed_credentials.is_empty();
    if named != Some(person.to_string().as_bytes()) && (alone || named.is_some()) {
        return Ok(None);
    }
    stored.counter = result.counter;
    let kept = serde_json::to_string(&stored).map_err(fault)?;
    tx.passkey_used(passkey.id, &kept).await?;
    Ok(Some(person))
}
