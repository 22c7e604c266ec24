//! One part of a proposal chosen by hand: every bundle that could serve it, the nearest first, with what is free of each.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Redirect, Response};

use super::page::nearness;
use super::{App, CurrentUser, Form, FormData, Layout, Result};
use crate::planning::colour::Hex;
use crate::services::share_out::needs::could_serve;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::{Offered, Promise};
use crate::store::cloth::share_outs::NewPromise;
use crate::store::cloth::share_outs::{NeedRow, ShareOutState};
use crate::store::{self, Read, ShareOutId};
use crate::units::{Mass, Units};
use crate::web::QueryData;
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};

/// So many bundles are offered, not counting those chosen already.
const OFFERED: usize = 40;

/// A bundle that may be chosen.
struct BundleChoice {
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
    choices: Vec<BundleChoice>,
    long: bool,
    chosen: Mass,
    units: Units,
}

/// A part of a proposal, and what there is to choose from.
struct PartOffer {
    row: NeedRow,
    hex: Option<Hex>,
    choices: Vec<BundleChoice>,
    /// Whether there are more than are offered, so that a search is worth its place.
    long: bool,
}

/// The part of a proposal with this number, and what there is to choose from: what is chosen, and of the rest what all words find.
async fn load(read: &mut Read, id: ShareOutId, number: usize, words: &str) -> Result<PartOffer> {
    let looked = words.to_lowercase();
    let needs = read.share_out_needs(id).await?;
    let row = needs.get(number.wrapping_sub(1)).cloned().ok_or_else(ShareOutId::none)?;
    let (proposed, standing) = (read.promises_of(id).await?, read.promises().await?);
    let ours = |rug| needs.iter().any(|need| need.need.part.rug_id == rug);
    let part = &row.need.part;
    let hex = Hex::parse(&part.colour_hex).ok();
    let mut choices: Vec<BundleChoice> = Vec::new();
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
        let said =
            format!("{} {} {}", bundle.tag, bundle.colour_name, bundle.kind.facts().title).to_lowercase();
        let found = looked.split_whitespace().all(|word| said.contains(word));
        if chosen == Mass::ZERO && (!serves || !found || free < Mass::from_grams(1.0)) {
            continue;
        }
        let difference = hex.map_or(0.0, |hex| hex.difference(bundle.colour_hex));
        choices.push(BundleChoice {
            free,
            chosen,
            near: hex.map_or("", |_| nearness(difference)),
            difference,
            field: format!("take-{}", bundle.tag),
            bundle,
        });
    }
    choices.sort_by(|a, b| {
        let first = |choice: &BundleChoice| choice.chosen == Mass::ZERO;
        first(a).cmp(&first(b)).then(a.difference.total_cmp(&b.difference)).then(b.free.cmp(&a.free))
    });
    let chosen = choices.iter().filter(|choice| choice.chosen > Mass::ZERO).count();
    let long = choices.len() > OFFERED + chosen || !looked.trim().is_empty();
    choices.truncate(OFFERED + chosen);
    Ok(PartOffer { row, hex, choices, long })
}

fn page(me: &CurrentUser, id: ShareOutId, number: usize, offer: PartOffer, form: Option<Form>) -> ChoosePage {
    let PartOffer { row, hex, choices, long } = offer;
    let units = me.units();
    let form = form.unwrap_or_else(|| {
        let taken = choices.iter().filter(|choice| choice.chosen > Mass::ZERO);
        taken.fold(Form::blank(units), |form, choice| form.with(&choice.field, choice.chosen.exact(units)))
    });
    let chosen = choices.iter().map(|choice| choice.bundle.usable.0.net(choice.chosen)).sum();
    ChoosePage { layout: me.layout(), form, id, number, row, hex, choices, long, chosen, units }
}

/// Only a proposal can be changed; what was accepted is shared out again first.
async fn elsewhere(read: &mut Read, id: ShareOutId) -> Result<Option<Response>> {
    let share_out = read.share_out(id).await?.ok_or_else(ShareOutId::none)?;
    let to = || Redirect::to(&format!("/share-out/{id}")).into_response();
    Ok((share_out.state != ShareOutState::Proposed).then(to))
}

/// The number of a part, as it stands in the path.
fn number_of(text: &str) -> Result<usize> {
    text.parse().map_err(|_| ShareOutId::none())
}

pub(super) async fn choose(
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<ShareOutId>,
    Path((_, number)): Path<(String, String)>,
    asked: QueryData,
) -> Result<Response> {
    if let Some(elsewhere) = elsewhere(&mut read, id).await? {
        return Ok(elsewhere);
    }
    let number = number_of(&number)?;
    let asked = asked.form_of(&me);
    let words: String = asked.as_ref().map_or("", |form| form.value("words")).chars().take(100).collect();
    let offer = load(&mut read, id, number, &words).await?;
    let mut page = page(&me, id, number, offer, None);
    page.form.set("words", words);
    Ok(page.into_response())
}

pub(super) async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<ShareOutId>,
    Path((_, number)): Path<(String, String)>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    if let Some(elsewhere) = elsewhere(&mut tx, id).await? {
        return Ok(elsewhere);
    }
    let number = number_of(&number)?;
    let mut form = posted.form_of(&me);
    // What was typed beside a bundle counts, whatever was looked for.
    let words = form.value("words").to_owned();
    let offer = load(&mut tx, id, number, &words).await?;
    let part = offer.row.need.part.clone();
    let mut chosen = Vec::new();
    for choice in &offer.choices {
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
            chosen.push(NewPromise { part: part.clone(), bundle: choice.bundle.id, promised });
        }
    }
    if !form.is_ok() {
        return Ok(invalid(page(&me, id, number, offer, Some(form))));
    }
    let to = format!("/share-out/{id}?said=chosen#part-{number}");
    tx.idempotent(form.key, &to).await?;
    if !tx.choose_for_part(id, &part, &chosen).await? {
        return Err(store::Error::Stale.into());
    }
    done(tx, &to).await
}
