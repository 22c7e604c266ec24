//! Lists of rugs: the class's, and a weaver's own.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::{IntoResponse as _, Redirect, Response};

use super::coming::Asked;
use crate::drawing::rug_small::{self, Stripe};
use crate::planning::colour::Hex;
use crate::store::Read;
use crate::store::rugs::list::{BandLines, RugLine};
use crate::store::rugs::{Colour, Rug};
use crate::store::waiting::OwnWait;
use crate::units::{Length, Units};
use crate::web::http::part::{Part, PartQuery};
use crate::web::{App, CurrentUser, Layout, Result};

/// Rugs on one page.
const PAGE: i64 = 100;

/// A rug's bands as a picture of the size of a stamp.
pub(in crate::web::pages) fn small(bands: &BandLines) -> String {
    let stripe = |(height, first, other): (Length, Colour, Colour)| {
        let look = |colour: &Colour| Hex::parse(&colour.hex).ok();
        Some(Stripe { height, first: look(&first)?, other: look(&other)? })
    };
    let stripes: Vec<Stripe> = bands.iter().filter_map(stripe).collect();
    let names: Vec<String> = bands.colours().into_iter().map(|colour| colour.name).collect();
    rug_small::svg(&stripes, &names.join(", "))
}

/// The same of a rug that was read whole.
fn small_of(rug: &Rug) -> String {
    let look = |colour: &Colour| Hex::parse(&colour.hex).ok();
    let stripes: Vec<Stripe> = rug
        .bands
        .iter()
        .filter_map(|band| {
            Some(Stripe { height: band.height, first: look(&band.first)?, other: look(&band.other)? })
        })
        .collect();
    let names: Vec<&str> = rug.colours().into_iter().map(|colour| colour.name.as_str()).collect();
    rug_small::svg(&stripes, &names.join(", "))
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/list.html")]
pub(super) struct RugsPage {
    layout: Layout,
    rugs: Vec<RugLine>,
    part: Part,
    units: Units,
}

pub(super) async fn all(me: CurrentUser, mut read: Read, Query(asked): Query<PartQuery>) -> Result<RugsPage> {
    let (from, most) = asked.rows(PAGE);
    let mut rugs = read.rugs_found(asked.text(), most, from).await?;
    let part = asked.part("/rugs", PAGE, &mut rugs, me.units());
    Ok(RugsPage { layout: me.layout(), rugs, part, units: me.units() })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/mine.html")]
struct MinePage {
    layout: Layout,
    rugs: Vec<Rug>,
    asked: Option<Asked>,
    units: Units,
    name: String,
    /// The terms whose waiting list they are on.
    waits: Vec<OwnWait>,
}

/// A weaver with one rug has come for that rug.
pub(super) async fn mine(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<Response> {
    let rugs = read.rugs(Some(me.id()), None).await?;
    if let [rug] = rugs.as_slice() {
        return Ok(Redirect::to(&format!("/rugs/{}", rug.id)).into_response());
    }
    let asked = Asked::load(&mut read, &app, &me, None).await?;
    let waits = read.own_waits(me.id()).await?;
    let (layout, units, name) = (me.layout(), me.units(), me.name().to_owned());
    Ok(MinePage { layout, rugs, asked, units, name, waits }.into_response())
}
