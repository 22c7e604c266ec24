//! The second step of signing in: after the passphrase a code of the app, a recovery code, or a passkey.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::{IntoResponse as _, Redirect, Response};
use axum_extra::extract::CookieJar;

use super::mine::stored;
use super::passkey::ask;
use crate::services::one_time_codes;
use crate::store::auth::half_way::HalfWay;
use crate::store::auth::second_factors::Factors;
use crate::store::{Actor, PersonId, Read};
use crate::units::Units;
use crate::web::http::answer::invalid;
use crate::web::http::auth::entering::{Visit, open_session_for};
use crate::web::http::auth::half_way::held;
use crate::web::http::auth::relying_party::relying_party;
use crate::web::http::page;
use crate::web::pages::auth::way_on;
use crate::web::{App, Form, FormData, Layout, MaybeUser, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "second_factor/step.html")]
struct StepPage {
    layout: Layout,
    form: Form,
    factors: Factors,
    can_passkeys: bool,
    /// Whether too many wrong codes came in a row.
    codes_closed: bool,
}

async fn step_page(
    read: &mut Read,
    person: PersonId,
    origin: &str,
    flash: Option<&'static str>,
    form: Form,
) -> Result<StepPage> {
    let closed = read.one_time_code(person).await?.is_some_and(|code| code.is_closed());
    Ok(StepPage {
        layout: Layout { flash, ..Layout::bare() },
        form,
        factors: read.factors(person).await?,
        can_passkeys: relying_party(origin, "").is_some(),
        codes_closed: closed,
    })
}

fn begin_again(said: &str) -> Response {
    Redirect::to(&format!("/sign-in?said={said}")).into_response()
}

#[derive(serde::Deserialize)]
pub(super) struct StepQuery {
    said: Option<String>,
}

pub(super) async fn show(
    State(app): State<App>,
    MaybeUser(_, origin): MaybeUser,
    jar: CookieJar,
    Query(query): Query<StepQuery>,
    mut read: Read,
) -> Result<Response> {
    let Some(step) = held(&app, &jar) else { return Ok(begin_again("step-late")) };
    let first = read.half_way(&step, HalfWay::SecondStep, app.clock.now()).await?;
    let Some(person) = first.and_then(|first| first.person_id) else { return Ok(begin_again("step-late")) };
    let said = query.said;
    let flash = said.and_then(|word| page::flash(Some(&format!("said={word}"))));
    let form = Form::blank(Units::Inches);
    Ok(step_page(&mut read, person, &origin, flash, form).await?.into_response())
}

/// Asks for one of the person's passkeys.
pub(super) async fn begin_passkey(
    State(app): State<App>,
    MaybeUser(_, origin): MaybeUser,
    jar: CookieJar,
) -> Result<Response> {
    let Some(step) = held(&app, &jar) else { return Ok(begin_again("step-late")) };
    let mut read = app.store.read().await?;
    let first = read.half_way(&step, HalfWay::SecondStep, app.clock.now()).await?;
    let Some(person) = first.and_then(|first| first.person_id) else { return Ok(begin_again("step-late")) };
    let known = stored(&read.passkeys(person).await?)?;
    drop(read);
    if known.is_empty() {
        return Ok(begin_again("step-late"));
    }
    ask(&app, &origin, Some(person), &known).await
}

const WRONG: &str =
    "This code doesn’t open it. A code of the app works once and for a minute; a recovery code works once.";

/// Takes a code. Each try is counted, and that is kept, before the code is looked at.
pub(super) async fn take(
    State(app): State<App>,
    MaybeUser(_, origin): MaybeUser,
    visit: Visit,
    jar: CookieJar,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form(Units::Inches);
    let Some(step) = held(&app, &jar) else { return Ok(begin_again("step-late")) };
    let now = app.clock.now();
    let recovery = one_time_codes::recovery_hash(form.value("code"));
    let mut tx = app.store.write(Actor { person: None, at: now }).await?;
    let first = tx.half_way(&step, HalfWay::SecondStep, now).await?;
    let Some((person, state)) = first.and_then(|first| Some((first.person_id?, first.state))) else {
        return Ok(begin_again("step-late"));
    };
    if form.is_empty("code") {
        form.add_error("code", "The code is missing.");
        return Ok(invalid(step_page(&mut tx, person, &origin, None, form).await?));
    }
    if !tx.count_step(&step).await? {
        tx.end(&step).await?;
        tx.commit().await?;
        return Ok(begin_again("step-tries"));
    }
    let counted = recovery.is_none() && tx.count_code_try(person).await?;
    tx.commit().await?;

    let mut tx = app.store.write(Actor { person: Some(person), at: now }).await?;
    tx.lock_person(person).await?;
    let fits = match (recovery, tx.one_time_code(person).await?) {
        (Some(hash), _) => tx.use_recovery_code(person, &hash).await?,
        (None, Some(code)) if counted => match one_time_codes::step(&code.secret, form.value("code"), now)? {
            Some(step) => tx.use_code_step(person, step).await?,
            None => false,
        },
        (None, _) => false,
    };
    if !fits {
        form.set("code", "");
        form.add_error("code", WRONG);
        return Ok(invalid(step_page(&mut tx, person, &origin, None, form).await?));
    }
    if !tx.end(&step).await? {
        return Ok(begin_again("step-late"));
    }
    tx.forgive_code_tries(person).await?;
    let (to, stay) = way_on(&form.deserialize(&state));
    open_session_for(&app, tx, &visit, person, stay, &to).await
}
