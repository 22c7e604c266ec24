//! Which sheets to cut, and how: for a rug's warp, for one colour of its weft, or for any length from the shelf. The choice
//! is `optimize`'s; what a sheet may be taken from is the shelf's.
mod page;
mod purpose;
mod typed;

use std::sync::Arc;

use axum::extract::State;
use axum::response::Response;

use super::papers::shown::{Print, document_file};
use super::rugs;
use crate::optimize::sheets::{Choice, SheetsError, choose};
use crate::services::rug_plan::{self, RugPlan};
use crate::store::cloth::bundles::{Bundle, BundleState};
use crate::store::cloth::shelf::ShelfFilter;
use crate::store::rugs::Rug;
use crate::store::{Read, RugId};
use crate::web::http::answer::{checked, invalid};
use crate::web::http::id::Id;
use crate::web::http::route::{Route, Who, get};
use crate::web::{App, CurrentUser, Form, QueryData, Result};
use page::SheetsPage;
use purpose::Purpose;
use typed::SheetsAsked;

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/rugs/{id}/sheets", Who::SignedIn, for_rug),
        get("/rugs/{id}/sheets.pdf", Who::SignedIn, for_rug_pdf),
        get("/cloth/sheets", Who::Staff, for_shelf),
        get("/cloth/sheets.pdf", Who::Staff, for_shelf_pdf),
    ]
}

/// The bundles that sheets may be taken from: washed, not strips already, and something left.
async fn shelf(read: &mut Read) -> Result<Vec<Bundle>> {
    let filter = ShelfFilter { state: Some(BundleState::Ready), ..ShelfFilter::default() };
    let mut bundles = read.bundles(&filter, i64::MAX, 0).await?;
    bundles.retain(|bundle| bundle.made_from.is_none());
    Ok(bundles)
}

async fn for_rug(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut read, &me, id).await?;
    let asked = asked.form_of(&me);
    let part = asked.as_ref().map_or("", |form| form.value("part")).to_owned();
    let purpose = Purpose::of_rug(&mut read, &rug, &part, me.units()).await?;
    answer(&app, &me, read, purpose, asked).await
}

async fn for_shelf(
    State(app): State<App>,
    me: CurrentUser,
    read: Read,
    asked: QueryData,
) -> Result<Response> {
    answer(&app, &me, read, Purpose::of_shelf(), asked.form_of(&me)).await
}

async fn answer(
    app: &App,
    me: &CurrentUser,
    read: Read,
    purpose: Purpose,
    asked: Option<Form>,
) -> Result<Response> {
    let (form, bundles, choice) = chosen(app, me, read, &purpose, asked).await?;
    Ok(checked(form.is_ok(), SheetsPage::of(me, purpose, form, &bundles, choice)))
}

/// The winding and cutting plan of a rug's warp, or the cutting plan of a colour of its weft.
async fn for_rug_pdf(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut read, &me, id).await?;
    let asked = asked.form_of(&me);
    let part = asked.as_ref().map_or("", |form| form.value("part")).to_owned();
    let purpose = Purpose::of_rug(&mut read, &rug, &part, me.units()).await?;
    // A warp of yarn takes no sheets, but is wound as any.
    let known = if part == "warp" || purpose.part == "warp" {
        let (known, _) = rug_plan::load(&mut read, &rug, me.units()).await?;
        Some((rug, known))
    } else {
        None
    };
    paper(&app, &me, read, purpose, asked, known).await
}

async fn for_shelf_pdf(
    State(app): State<App>,
    me: CurrentUser,
    read: Read,
    asked: QueryData,
) -> Result<Response> {
    paper(&app, &me, read, Purpose::of_shelf(), asked.form_of(&me), None).await
}

/// The same choice on paper; or the page with what is wrong.
async fn paper(
    app: &App,
    me: &CurrentUser,
    read: Read,
    purpose: Purpose,
    asked: Option<Form>,
    rug: Option<(Rug, Arc<RugPlan>)>,
) -> Result<Response> {
    let print = Print::in_form(asked.as_ref(), me.units());
    let (mut form, bundles, choice) = chosen(app, me, read, &purpose, asked).await?;
    if form.is_ok() && choice.is_none() && rug.is_none() {
        form.add_error("", "Choose the sheets first: without them there is nothing to print.");
    }
    if !form.is_ok() {
        return Ok(invalid(SheetsPage::of(me, purpose, form, &bundles, choice)));
    }
    let document = page::document(&me.reader(app), &purpose, choice.as_ref(), &bundles, rug.as_ref());
    let name = document.title.clone();
    let query = form.serialize(&["size", "anyway"]);
    let (screen, pdf) = (format!("{}?{query}", purpose.action), format!("{}.pdf?{query}", purpose.action));
    document_file(app, me, print, (screen, &pdf), (&name, document)).await
}

/// The form as it is now, the bundles that it offers, and what was chosen, where something was.
async fn chosen(
    app: &App,
    me: &CurrentUser,
    mut read: Read,
    purpose: &Purpose,
    asked: Option<Form>,
) -> Result<(Form, Vec<Bundle>, Option<(SheetsAsked, Choice)>)> {
    let (units, bundles) = (me.units(), shelf(&mut read).await?);
    // The search takes its time, and needs nothing more.
    drop(read);
    let chosen = asked.as_ref().map_or("", |form| form.value("bundle")).to_owned();
    let asked = asked.filter(|form| form.ticked("asked"));
    let fresh = || {
        let mut form = typed::blank(purpose, units);
        match bundles.iter().find(|bundle| bundle.id.to_string() == chosen) {
            Some(bundle) => typed::put(&mut form, 1, bundle, bundle.sheets_left()),
            None => typed::suggest(&mut form, purpose, &bundles),
        }
        form
    };
    let looks = asked.is_some() || purpose.wanted.is_some();
    let mut form = asked.unwrap_or_else(fresh);
    // A rug for which the shelf has nothing measured is no mistake of the person who asks.
    let looks = looks && !(purpose.wanted.is_some() && !form.ticked("asked") && typed::is_bare(&form));
    let mut choice = None;
    if looks && let Some(asked) = typed::read(&mut form, purpose, &bundles) {
        let (lots, wish) = (asked.lots.clone(), asked.wish.clone());
        match app.search(me.id(), move || choose(&lots, &wish)).await? {
            Ok(chosen) => choice = Some((asked, chosen)),
            Err(SheetsError::TooLittle { gives, wanted }) => {
                let [gives, wanted] = [gives, wanted].map(|length| length.show_long(units));
                let why = format!(
                    "These sheets give at most {gives}, after joins; you need {wanted}. Add a sheet."
                );
                form.add_error("wanted", why);
            }
            Err(other) => form.add_error("", other),
        }
    }
    Ok((form, bundles, choice))
}
