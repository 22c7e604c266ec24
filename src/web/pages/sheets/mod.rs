//! Which sheets to cut, and how: for a rug's warp, for one colour of its weft, or for any length from the shelf. The choice
//! is `optimize`'s; what a sheet may be taken from is the shelf's.
mod page;
mod purpose;
mod typed;

use axum::extract::State;
use axum::response::Response;

use super::rugs;
use crate::optimize::sheets::{SheetsError, choose};
use crate::store::cloth::bundles::{Bundle, BundleState, ShelfFilter};
use crate::store::{Read, RugId};
use crate::web::http::answer::checked;
use crate::web::http::id::Id;
use crate::web::http::route::{Route, Who, get};
use crate::web::http::state::one_at_a_time;
use crate::web::{App, CurrentUser, Form, QueryData, Result};
use page::SheetsPage;
use purpose::Purpose;

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![get("/rugs/{id}/sheets", Who::SignedIn, for_rug), get("/cloth/sheets", Who::Staff, for_shelf)]
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
    mut read: Read,
    purpose: Purpose,
    asked: Option<Form>,
) -> Result<Response> {
    let (units, bundles) = (me.units(), shelf(&mut read).await?);
    // The search takes its time, and needs nothing more.
    drop(read);
    let chosen = asked.as_ref().map_or("", |form| form.value("bundle")).to_owned();
    let asked = asked.filter(|form| form.ticked("asked"));
    let fresh = || {
        let mut form = typed::blank(&purpose, units);
        match bundles.iter().find(|bundle| bundle.id.to_string() == chosen) {
            Some(bundle) => typed::put(&mut form, 1, bundle, bundle.sheets_left()),
            None => typed::suggest(&mut form, &purpose, &bundles),
        }
        form
    };
    let looks = asked.is_some() || purpose.wanted.is_some();
    let mut form = asked.unwrap_or_else(fresh);
    // A rug for which the shelf has nothing measured is no mistake of the person who asks.
    let looks = looks && !(purpose.wanted.is_some() && !form.ticked("asked") && typed::is_bare(&form));
    let mut choice = None;
    if looks && let Some(asked) = typed::read(&mut form, &purpose, &bundles) {
        let (lots, wish) = (asked.lots.clone(), asked.wish.clone());
        match one_at_a_time(&app.searching, move || choose(&lots, &wish)).await? {
            Ok(chosen) => choice = Some((asked, chosen)),
            Err(SheetsError::TooLittle { gives, wanted }) => {
                let [gives, wanted] = [gives, wanted].map(|length| length.show_long(units));
                let why = format!(
                    "These sheets give at most {gives}, joins taken off; {wanted} is wanted. Add a sheet."
                );
                form.add_error("wanted", why);
            }
            Err(other) => form.add_error("", other),
        }
    }
    Ok(checked(form.is_ok(), SheetsPage::of(me, purpose, form, &bundles, choice)))
}
