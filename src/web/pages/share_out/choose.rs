//! One part of a proposal chosen by hand: every bundle that could serve it, the nearest first, with what is free of each.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::page::nearness;
use super::{App, CurrentUser, Error, Form, FormData, Layout, Result, WHAT, share_out_id};
use crate::planning::colour::Hex;
use crate::services::share_out::needs::could_serve;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::NewPromise;
use crate::store::cloth::share_outs::{NeedRow, ShareOutState};
use crate::store::{Read, ShareOutId};
use crate::units::{Mass, Units};

/// As many bundles are offered, besides those chosen already.
const OFFERED: usize = 40;

/// A bundle that may be chosen.
struct Choice {
    bundle: Offered,
    /// What of it is promised neither to other rugs nor to other parts of this share-out.
    free: Mass,
    /// What this part has of it now.
    chosen: Mass,
    near: &'static str,
    difference: f64,
    /// The name of its field.
    field: String,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "share_out/choose.html")]
struct ChoosePage {
    layout: Layout,
    form: Form,
    id: ShareOutId,
    number: usize,
    row: NeedRow,
    hex: Option<Hex>,
    choices: Vec<Choice>,
    chosen: Mass,
    units: Units,
}

/// The part of a proposal with this number, and what there is to choose from.
async fn load(read: &mut Read, id: ShareOutId, number: usize) -> Result<(NeedRow, Option<Hex>, Vec<Choice>)> {
    let needs = read.share_out_needs(id).await?;
    let row = needs.get(number.wrapping_sub(1)).cloned().ok_or(WHAT)?;
    let (proposed, standing) = (read.promises_of(id).await?, read.promises().await?);
    let ours = |rug| needs.iter().any(|need| need.need.part.rug_id == rug);
    let part = &row.need.part;
    let hex = Hex::parse(&part.colour_hex).ok();
    let mut choices: Vec<Choice> = Vec::new();
    for bundle in read.offered().await? {
        let of = |from: &[Promise], counts: &dyn Fn(&Promise) -> bool| -> Mass {
            let own = from.iter().filter(|promise| promise.bundle_id == bundle.id && counts(promise));
            own.map(|promise| promise.promised_mg).sum()
        };
        let chosen = of(&proposed, &|promise| promise.part == *part);
        // Accepting releases what these rugs were promised before and nobody pulled.
        let elsewhere = of(&proposed, &|promise| promise.part != *part)
            + of(&standing, &|promise| promise.is_open() && !ours(promise.part.rug_id));
        let serves = bundle.state == BundleState::Ready && could_serve(&bundle, &row.need);
        let free = (bundle.balance_mg - elsewhere).max(Mass::ZERO);
        // Less than a gram is no cloth.
        if chosen == Mass::ZERO && (!serves || free < Mass::from_grams(1.0)) {
            continue;
        }
        let difference = hex.map_or(0.0, |hex| hex.difference(bundle.colour_hex));
        choices.push(Choice {
            free,
            chosen,
            near: hex.map_or("", |_| nearness(difference)),
            difference,
            field: format!("take-{}", bundle.tag),
            bundle,
        });
    }
    choices.sort_by(|a, b| {
        let first = |choice: &Choice| choice.chosen == Mass::ZERO;
        first(a).cmp(&first(b)).then(a.difference.total_cmp(&b.difference)).then(b.free.cmp(&a.free))
    });
    let chosen = choices.iter().filter(|choice| choice.chosen > Mass::ZERO).count();
    choices.truncate(OFFERED + chosen);
    Ok((row, hex, choices))
}

async fn page(
    app: &App,
    me: &CurrentUser,
    id: ShareOutId,
    number: usize,
    form: Option<Form>,
) -> Result<ChoosePage> {
    let (row, hex, choices) = load(&mut app.store.read().await?, id, number).await?;
    let units = me.units();
    let form = form.unwrap_or_else(|| {
        let taken = choices.iter().filter(|choice| choice.chosen > Mass::ZERO);
        taken.fold(Form::blank(units), |form, choice| form.with(&choice.field, choice.chosen.exact(units)))
    });
    let chosen = choices.iter().map(|choice| choice.chosen).sum();
    Ok(ChoosePage { layout: me.layout(), form, id, number, row, hex, choices, chosen, units })
}

/// Only a proposal can be changed; what was accepted is shared out again first.
async fn proposal(app: &App, id: &str) -> Result<std::result::Result<ShareOutId, Response>> {
    let id = share_out_id(id)?;
    let share_out = app.store.read().await?.share_out(id).await?.ok_or(WHAT)?;
    Ok(if share_out.state == ShareOutState::Proposed {
        Ok(id)
    } else {
        Err(Redirect::to(&format!("/share-out/{id}")).into_response())
    })
}

pub(super) async fn choose(
    State(app): State<App>,
    me: CurrentUser,
    Path((id, number)): Path<(String, String)>,
) -> Result<Response> {
    let id = match proposal(&app, &id).await? {
        Ok(id) => id,
        Err(elsewhere) => return Ok(elsewhere),
    };
    let number = number.parse().map_err(|_| WHAT)?;
    Ok(page(&app, &me, id, number, None).await?.into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Path((id, number)): Path<(String, String)>,
    posted: FormData,
) -> Result<Response> {
    let id = match proposal(&app, &id).await? {
        Ok(id) => id,
        Err(elsewhere) => return Ok(elsewhere),
    };
    let number: usize = number.parse().map_err(|_| WHAT)?;
    let mut form = posted.form_of(&me);
    let (row, _, choices) = load(&mut app.store.read().await?, id, number).await?;
    let mut chosen = Vec::new();
    for choice in &choices {
        let most = Mass::from_grams(1e6);
        let taken = form
            .optional(&choice.field, None, |form| form.mass(&choice.field, Mass::from_mg(1), most).map(Some));
        if let Some(Some(promised)) = taken {
            if promised > choice.free {
                form.add_error(
                    &choice.field,
                    format!("Only {} of bundle {} is free.", choice.free.show(me.units()), choice.bundle.tag),
                );
            }
            chosen.push(NewPromise { part: row.need.part.clone(), bundle: choice.bundle.id, promised });
        }
    }
    if !form.is_ok() {
        let page = page(&app, &me, id, number, Some(form)).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let to = format!("/share-out/{id}?said=chosen#part-{number}");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    if !tx.choose_for_part(id, &row.need.part, &chosen).await? {
        return Err(Error::Store(crate::store::Error::Stale));
    }
    tx.commit().await?;
    Ok(Redirect::to(&to).into_response())
}
