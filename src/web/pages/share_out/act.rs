//! What is done with a share-out: stop it, accept it, share out again keeping what is locked, set it aside.
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::page::ResultPage;
use super::start::launch;
use super::{App, CurrentUser, Error, FormData, Result, WHAT, share_out_id};
use crate::services::share_out::needs::wanting;
use crate::store::cloth::promises::NotAccepted;
use crate::store::cloth::share_outs::NewPromise;
use crate::store::{RugId, Write};

macro_rules! simple {
    ($name:ident, $act:ident, $said:literal) => {
        pub(super) async fn $name(
            State(app): State<App>,
            me: CurrentUser,
            Path(id): Path<String>,
            posted: FormData,
        ) -> Result<Response> {
            let id = share_out_id(&id)?;
            let form = posted.form_of(&me);
            app.store.read().await?.share_out(id).await?.ok_or(WHAT)?;
            let to = format!("/share-out/{id}{}", $said);
            let mut tx: Write = app.write(&me).await?;
            tx.idempotent(form.key, &to).await?;
            tx.$act(id).await?;
            tx.commit().await?;
            Ok(Redirect::to(&to).into_response())
        }
    };
}
simple!(stop, stop_share_out, "");
simple!(set_aside, drop_share_out, "?said=set-aside");

pub(super) async fn accept(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let id = share_out_id(&id)?;
    let mut form = posted.form_of(&me);
    let to = format!("/share-out/{id}?said=accepted");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    let refused = match tx.accept_share_out(id, form.ticked("over_newer")).await? {
        Ok(()) => {
            tx.commit().await?;
            return Ok(Redirect::to(&to).into_response());
        }
        Err(refused) => refused,
    };
    drop(tx);
    let (field, why) = match refused {
        NotAccepted::StateIs(state) => ("", format!("This share-out is {state} by now. Nothing was changed.")),
        NotAccepted::Gone(tag) => (
            "",
            format!(
                "Bundle {tag} no longer holds what was counted on, or isn’t washed and ready. Nothing was promised: share out again."
            ),
        ),
        NotAccepted::Newer => (
            "over_newer",
            "A newer share-out was accepted for one of these rugs. To put this older one in its place, tick this.".to_owned(),
        ),
    };
    form.add_error(field, why);
    let page = ResultPage::load(&app, &me, id, form).await?;
    Ok((StatusCode::CONFLICT, page).into_response())
}

/// Shares out again for the same rugs: promises that were ticked stay as they are.
pub(super) async fn again(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let id = share_out_id(&id)?;
    let form = posted.form_of(&me);
    let mut read = app.store.read().await?;
    let before = read.share_out(id).await?.ok_or(WHAT)?;
    let rugs: Vec<RugId> = read.share_out_needs(id).await?.iter().map(|row| row.need.part.rug_id).collect();
    let kept = |id: String| form.values("keep").any(|keep| keep == id);
    let found = read.promises_of(id).await?.into_iter();
    let locked: Vec<NewPromise> = found
        .filter(|promise| promise.is_open() && promise.broken().is_none() && kept(promise.id.to_string()))
        .map(|promise| NewPromise {
            part: promise.part,
            bundle: promise.bundle_id,
            promised: promise.promised_mg,
        })
        .collect();
    let standing = read.promises().await?;
    let all = wanting(&mut read, &standing, me.units()).await?;
    let needs: Vec<_> =
        all.into_iter().filter(|one| rugs.contains(&one.rug.id)).flat_map(|one| one.needs).collect();
    drop(read);
    if needs.is_empty() {
        return Err(Error::NotFound("rug to share out to"));
    }
    launch(&app, &me, &form, needs, &locked, before.limits()).await
}
