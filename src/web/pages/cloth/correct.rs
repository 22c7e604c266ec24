//! Correcting what a bundle is: its kind, its colours, where it came from. Its weight is corrected by a count.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::columns::SOURCE;
use super::weigh_in::{fill, named_or_own};
use super::{App, CurrentUser, Form, FormData, Layout, Result, reading};
use crate::planning::cloth::Kind;
use crate::store::cloth::bundles::Bundle;
use crate::store::cloth::corrections::{Corrected, Identity};
use crate::store::cloth::promises::Promise;
use crate::store::{BundleId, Read};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::id::{Id, PathId as _};

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/correct.html")]
pub(super) struct CorrectPage {
    layout: Layout,
    form: Form,
    bundle: Bundle,
    kinds: Vec<(&'static str, &'static str)>,
    colours: Vec<(&'static str, &'static str)>,
    sources: Vec<String>,
    /// To how many rugs it is promised.
    promised: usize,
}

impl CorrectPage {
    async fn load(read: &mut Read, me: &CurrentUser, bundle: Bundle, form: Form) -> Result<Self> {
        let promises = read.promises_from(bundle.id).await?;
        Ok(Self {
            layout: me.layout(),
            form,
            kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
            colours: named_or_own(),
            sources: read.sources().await?,
            promised: promises.iter().filter(|promise| Promise::is_open(promise)).count(),
            bundle,
        })
    }
}

/// A bundle; of strips the one they were cut from, which they are corrected with.
async fn whole(read: &mut Read, id: BundleId) -> Result<Bundle> {
    let bundle = read.bundle(id).await?.ok_or_else(BundleId::none)?;
    match bundle.made_from {
        Some(from) => read.bundle(from).await?.ok_or_else(BundleId::none),
        None => Ok(bundle),
    }
}

pub(super) async fn form(me: CurrentUser, mut read: Read, Id(id): Id<BundleId>) -> Result<CorrectPage> {
    let bundle = whole(&mut read, id).await?;
    let is = Identity::of(&bundle);
    let mut form =
        Form::blank(me.units()).with("kind", is.kind.key()).with("source", &is.source).with("was", is.mark());
    fill(&mut form, ["colour", "own_name", "own_hex"], &is.colour.0, is.colour.1);
    if let Some((name, hex)) = &is.second {
        fill(&mut form, ["second", "second_name", "second_hex"], name, *hex);
    }
    CorrectPage::load(&mut read, &me, bundle, form).await
}

pub(super) async fn correct(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<BundleId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let bundle = whole(&mut tx, id).await?;
    let kind = form.choice::<Kind>("kind", "the kind of cloth");
    let (colour, second) = (reading::colour(&mut form), reading::second(&mut form));
    let source = form.optional_text("source", "Where it came from", SOURCE);
    let (Some(kind), Some(colour), Some(second), Some(source)) = (kind, colour, second, source) else {
        return Ok(invalid(CorrectPage::load(&mut tx, &me, bundle, form).await?));
    };
    let to = format!("/cloth/{id}?said=kind-corrected");
    tx.idempotent(form.key, &to).await?;
    let was = form.value("was").to_owned();
    match tx.correct_bundle(&bundle, &was, &Identity { kind, colour, second, source }).await? {
        Corrected::Done => done(tx, &to).await,
        Corrected::Unchanged => {
            form.add_error("", "This is what it says already: nothing to correct.");
            Ok(invalid(CorrectPage::load(&mut tx, &me, bundle, form).await?))
        }
        Corrected::Meanwhile => {
            let now = Identity::of(&bundle).mark();
            form.add_error(
                "",
                format!("Somebody corrected it meanwhile. It is now: {now}. Save again to keep yours."),
            );
            form.set("was", now);
            Ok(conflict(CorrectPage::load(&mut tx, &me, bundle, form).await?))
        }
    }
}
