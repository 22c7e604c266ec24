//! What is done with a share-out: stop it, accept it, share out again keeping what is locked, set it aside.
use axum::extract::State;
use axum::response::Response;

use super::page::ResultPage;
use super::start::{Basis, launch};
use super::{App, CurrentUser, Error, FormData, Result};
use crate::store::cloth::promises::NotAccepted;
use crate::store::cloth::share_outs::NewPromise;
use crate::store::{RugId, ShareOutId};
use crate::web::http::answer::{conflict, done};
use crate::web::http::id::{Id, PathId as _};

macro_rules! simple {
    ($name:ident, $act:ident, $said:literal) => {
        pub(super) async fn $name(
            State(app): State<App>,
            me: CurrentUser,
            Id(id): Id<ShareOutId>,
            posted: FormData,
        ) -> Result<Response> {
            let form = posted.form_of(&me);
            let to = format!("/share-out/{id}{}", $said);
            let mut tx = app.write(&me).await?;
            tx.share_out(id).await?.ok_or_else(ShareOutId::none)?;
            tx.idempotent(form.key, &to).await?;
            tx.$act(id).await?;
            done(tx, &to).await
        }
    };
}
simple!(stop, stop_share_out, "");
simple!(set_aside, drop_share_out, "?said=set-aside");

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
        NotAccepted::Newer => (
            "over_newer",
            "A newer share-out was accepted for one of these rugs. To put this older one in its place, tick this.".to_owned(),
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
    let locked: Vec<NewPromise> = found
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
    launch(&app, &me, &form, basis, &locked, before.limits()).await
}
