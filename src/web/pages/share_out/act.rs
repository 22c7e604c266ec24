//! What is done with a share-out: stop it, accept it, share out again keeping what is locked, set it aside.
use axum::extract::State;
use axum::response::Response;

use super::page::ResultPage;
use super::start::{Basis, launch};
use super::{App, CurrentUser, Error, FormData, Result};
use crate::store::cloth::acceptance::NotAccepted;
use crate::store::cloth::share_outs::NewPromise;
use crate::store::{self, RugId, ShareOutId};
use crate::web::http::answer::{conflict, done};
use crate::web::http::id::{Id, PathId as _};

pub(super) async fn stop(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<ShareOutId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let to = format!("/share-out/{id}");
    let mut tx = app.write(&me).await?;
    tx.share_out(id).await?.ok_or_else(ShareOutId::none)?;
    tx.idempotent(form.key, &to).await?;
    // One that is done by now has nothing to stop: its page shows what it found.
    tx.stop_share_out(id).await?;
    done(tx, &to).await
}

pub(super) async fn set_aside(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<ShareOutId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let to = format!("/share-out/{id}?said=set-aside");
    let mut tx = app.write(&me).await?;
    tx.share_out(id).await?.ok_or_else(ShareOutId::none)?;
    tx.idempotent(form.key, &to).await?;
    if !tx.drop_share_out(id).await? {
        return Err(store::Error::Stale.into());
    }
    done(tx, &to).await
}

pub(super) async fn accept(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<ShareOutId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let to = format!("/share-out/{id}?said=accepted");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    let refused = match tx.accept_share_out(id, form.ticked("over_newer")).await? {
        Ok(()) => return done(tx, &to).await,
        Err(refused) => refused,
    };
    // A refusal may come when part of it is written already: the page is read again, without that part.
    drop(tx);
    let (field, why) = match refused {
        NotAccepted::StateIs(state) => ("", format!("This share-out is {state} by now. Nothing was changed.")),
        NotAccepted::Gone(tag) => (
            "",
            format!(
                "Bundle {tag} no longer holds what was counted on, or isn’t washed and ready. Nothing was promised: share out again."
            ),
        ),
        NotAccepted::Pulled(rug) => {
            let rug = app.store.read().await?.rug(rug).await?.map_or_else(String::new, |rug| rug.fields.name);
            let why = format!(
                "Cloth was pulled for {rug} since this was worked out, and would be promised a second time. Nothing was promised: share out again."
            );
            ("", why)
        }
        NotAccepted::Newer => (
            "over_newer",
            "A newer share-out was accepted for one of these rugs. To put this older one in its place, tick the box.".to_owned(),
        ),
    };
    form.add_error(field, why);
    Ok(conflict(ResultPage::load(&mut app.store.read().await?, &me, id, form).await?))
}

/// Shares out again for the same rugs: promises that were ticked stay as they are.
pub(super) async fn again(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<ShareOutId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let mut read = app.store.read().await?;
    let before = read.share_out(id).await?.ok_or_else(ShareOutId::none)?;
    let rugs: Vec<RugId> = read.share_out_needs(id).await?.iter().map(|row| row.need.part.rug_id).collect();
    let kept = |id: String| form.values("keep").any(|keep| keep == id);
    let found = read.promises_of(id).await?.into_iter();
    let mut locked: Vec<NewPromise> = found
        .filter(|promise| promise.is_open() && promise.broken().is_none() && kept(promise.id.to_string()))
        .map(|promise| NewPromise {
            part: promise.part,
            bundle: promise.bundle_id,
            promised: promise.promised_mg,
        })
        .collect();
    let basis = Basis::load(&mut read, &rugs, me.units()).await?;
    drop(read);
    if basis.needs.is_empty() {
        return Err(Error::NotFound("rug to share out to"));
    }
    // Nothing is kept for a rug that ended, or a colour that it no longer has.
    locked.retain(|kept| basis.needs.iter().any(|need| need.part == kept.part));
    launch(&app, &me, &form, basis, &locked, before.limits()).await
}
