//! Edge rods: sizes and their counts, buying, bending, straightening, losing. How many go out is in `hand_out`.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::audit_log::{Told, history};
use crate::planning::rods::{OVERHANG, USUAL_DIAMETER};
use crate::store::rods::{Rod, RodAct};
use crate::store::{self, EntityKind, RodId};
use crate::units::{Length, Units};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/rods", Who::Staff, list),
        get("/rods/new", Who::Instructor, new),
        post("/rods", Who::Instructor, add),
        get("/rods/{id}", Who::Staff, show),
        post("/rods/{id}", Who::Instructor, save),
        post("/rods/{id}/count", Who::Instructor, count),
    ]
}

/// The longest and shortest, thickest and thinnest rods that are kept.
const LENGTHS: [Length; 2] = [Length::from_nm(6 * 25_400_000), Length::from_nm(160 * 25_400_000)];
const DIAMETERS: [Length; 2] = [Length::from_nm(25_400_000 / 32), Length::from_nm(25_400_000)];
/// The most rods counted at once.
const MOST: i64 = 500;

struct Row {
    rod: Rod,
    size: String,
    spans: String,
}

impl Row {
    fn of(rod: Rod, units: Units) -> Self {
        Self { size: rod.size(units), spans: (rod.length_nm - OVERHANG * 2).show(units), rod }
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rods/list.html")]
struct ListPage {
    layout: Layout,
    lead: String,
    rows: Vec<Row>,
    instructor: bool,
}

async fn list(State(app): State<App>, me: CurrentUser) -> Result<ListPage> {
    let sizes = app.store.read().await?.rods().await?;
    let rows = sizes.into_iter().map(|rod| Row::of(rod, me.units())).collect();
    let lead = format!(
        "Steel rods that keep a rug’s edges straight, two to a frame. Each stands out {} beyond the nails at both ends.",
        OVERHANG.show(me.units())
    );
    Ok(ListPage { layout: me.layout(), lead, rows, instructor: me.is_instructor() })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rods/new.html")]
struct NewPage {
    layout: Layout,
    form: Form,
    overhang: String,
}

impl NewPage {
    fn of(me: &CurrentUser, form: Form) -> Self {
        Self { layout: me.layout(), form, overhang: OVERHANG.show(me.units()) }
    }
}

async fn new(me: CurrentUser) -> NewPage {
    let form = Form::blank(me.units()).with("diameter", USUAL_DIAMETER.exact(me.units()));
    NewPage::of(&me, form)
}

fn read_size(form: &mut Form) -> Option<(Length, Length)> {
    let length = form.length("length", LENGTHS[0], LENGTHS[1]);
    let diameter = form.length("diameter", DIAMETERS[0], DIAMETERS[1]);
    Some((length?, diameter?))
}

const SIZE_TAKEN: &str = "This size is in the list already. Count the rods there.";

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let again = |form| Ok((StatusCode::UNPROCESSABLE_ENTITY, NewPage::of(&me, form)).into_response());
    let size = read_size(&mut form);
    let owned = form.count("owned", "The number of rods", 1..=MOST);
    let (Some((length, diameter)), Some(owned)) = (size, owned) else { return again(form) };
    let id = RodId::new();
    let to = format!("/rods/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    match tx.add_rod(id, length, diameter, owned).await {
        Ok(()) => tx.commit().await?,
        Err(e) if e.violates("u_rod__length_nm__diameter_nm") => {
            form.add_error("length", SIZE_TAKEN);
            return again(form);
        }
        Err(other) => return Err(other.into()),
    }
    Ok(Redirect::to(&to).into_response())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rods/show.html")]
struct ShowPage {
    layout: Layout,
    row: Row,
    /// What happened to some of them.
    counting: Form,
    /// The size, to be corrected.
    sizing: Form,
    history: Vec<Told>,
    instructor: bool,
}

fn sized(rod: &Rod, units: Units) -> [(&'static str, &'static str, String); 2] {
    [
        ("length", "The length", rod.length_nm.exact(units)),
        ("diameter", "The diameter", rod.diameter_nm.exact(units)),
    ]
}

/// The page of a size, with either form as it was sent, or fresh.
async fn page(
    app: &App,
    me: &CurrentUser,
    id: &str,
    counting: Option<Form>,
    sizing: Option<Form>,
) -> Result<ShowPage> {
    let id: RodId = id.parse().map_err(|_| Error::NotFound("size of rod"))?;
    let mut read = app.store.read().await?;
    let rod = read.rod(id).await?.ok_or(Error::NotFound("size of rod"))?;
    let changes = read.audit_log_of(EntityKind::Rod, &id.to_string()).await?;
    let fresh = || {
        let mut form = Form::blank(me.units()).with("revision", rod.revision);
        for (name, _, value) in sized(&rod, me.units()) {
            form.set(name, value);
        }
        form
    };
    Ok(ShowPage {
        layout: me.layout(),
        counting: counting.unwrap_or_else(|| Form::blank(me.units()).with("act", RodAct::Bought)),
        sizing: sizing.unwrap_or_else(fresh),
        row: Row::of(rod, me.units()),
        history: history(&changes, &me.zone()),
        instructor: me.is_instructor(),
    })
}

async fn load(app: &App, id: &str) -> Result<Rod> {
    let id: RodId = id.parse().map_err(|_| Error::NotFound("size of rod"))?;
    app.store.read().await?.rod(id).await?.ok_or(Error::NotFound("size of rod"))
}

async fn show(State(app): State<App>, me: CurrentUser, Path(id): Path<String>) -> Result<ShowPage> {
    page(&app, &me, &id, None, None).await
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let rod = load(&app, &id).await?;
    let mut form = posted.form_of(&me);
    let Some((length, diameter)) = read_size(&mut form) else {
        let page = page(&app, &me, &id, None, Some(form)).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    let mut tx = app.write(&me).await?;
    let done = match tx.change_rod(rod.id, form.revision(), length, diameter).await {
        Ok(()) => tx.commit().await,
        Err(refused) => {
            drop(tx);
            Err(refused)
        }
    };
    let status = match done {
        Ok(()) => return Ok(Redirect::to(&format!("/rods/{}?said=saved", rod.id)).into_response()),
        Err(e) if e.violates("u_rod__length_nm__diameter_nm") => {
            form.add_error("length", SIZE_TAKEN);
            StatusCode::UNPROCESSABLE_ENTITY
        }
        Err(store::Error::Stale) => {
            let now = load(&app, &id).await?;
            let who =
                super::audit_log::last_by(&mut app.store.read().await?, EntityKind::Rod, &now.id.to_string())
                    .await?;
            form.conflict(&who, now.revision, &sized(&now, me.units()));
            StatusCode::CONFLICT
        }
        Err(other) => return Err(other.into()),
    };
    Ok((status, page(&app, &me, &id, None, Some(form)).await?).into_response())
}

async fn count(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let rod = load(&app, &id).await?;
    let mut form = posted.form_of(&me);
    let act = form.choice::<RodAct>("act", "what happened");
    let rods = form.count("rods", "The number of rods", 1..=MOST);
    if let (Some(act), Some(rods)) = (act, rods) {
        let to = format!("/rods/{}?said=counted", rod.id);
        let mut tx = app.write(&me).await?;
        tx.idempotent(form.key, &to).await?;
        match tx.count_rods(rod.id, act, rods).await {
            Ok(()) => {
                tx.commit().await?;
                return Ok(Redirect::to(&to).into_response());
            }
            Err(e) if e.violates("ck_rod__counts") => {
                drop(tx);
                let most = act.most(&load(&app, &id).await?).unwrap_or(0);
                let which = if act == RodAct::FoundBent || act == RodAct::Lost { "straight" } else { "bent" };
                form.add_error(
                    "rods",
                    format!("{rods} are more than there are: {most} of this size are here and {which}."),
                );
            }
            Err(other) => return Err(other.into()),
        }
    }
    let page = page(&app, &me, &id, Some(form), None).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
