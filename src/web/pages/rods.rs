//! Edge rods: sizes and their counts, buying, bending, straightening, losing. How many go out is in `hand_out`.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use super::audit_log::{Told, history, last_by};
use crate::planning::rods::{OVERHANG, USUAL_DIAMETER};
use crate::store::rods::{Rod, RodAct};
use crate::store::{self, EntityKind, Read, RodId};
use crate::units::{Length, Units};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

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

struct RodRow {
    rod: Rod,
    size: String,
    spans: String,
}

impl RodRow {
    fn of(rod: Rod, units: Units) -> Self {
        Self { size: rod.size(units), spans: (rod.length_nm - OVERHANG * 2).show(units), rod }
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rods/list.html")]
struct RodSizesPage {
    layout: Layout,
    lead: String,
    rows: Vec<RodRow>,
    instructor: bool,
}

async fn list(me: CurrentUser, mut read: Read) -> Result<RodSizesPage> {
    let sizes = read.rods().await?;
    let rows = sizes.into_iter().map(|rod| RodRow::of(rod, me.units())).collect();
    let lead = format!(
        "Steel rods that keep a rug’s edges straight, two to a frame. Each stands out {} beyond the nails at both ends.",
        OVERHANG.show(me.units())
    );
    Ok(RodSizesPage { layout: me.layout(), lead, rows, instructor: me.is_instructor() })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rods/new.html")]
struct NewRodPage {
    layout: Layout,
    form: Form,
    overhang: String,
}

impl NewRodPage {
    fn of(me: &CurrentUser, form: Form) -> Self {
        Self { layout: me.layout(), form, overhang: OVERHANG.show(me.units()) }
    }
}

async fn new(me: CurrentUser) -> NewRodPage {
    let form = Form::blank(me.units()).with("diameter", USUAL_DIAMETER.exact(me.units()));
    NewRodPage::of(&me, form)
}

fn read_size(form: &mut Form) -> Option<(Length, Length)> {
    let length = form.length("length", LENGTHS[0], LENGTHS[1]);
    let diameter = form.length("diameter", DIAMETERS[0], DIAMETERS[1]);
    Some((length?, diameter?))
}

const SIZE_TAKEN: &str = "This size is in the list already. Count the rods there.";

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let size = read_size(&mut form);
    let owned = form.count("owned", "The number of rods", 1..=MOST);
    let (Some((length, diameter)), Some(owned)) = (size, owned) else {
        return Ok(invalid(NewRodPage::of(&me, form)));
    };
    let id = RodId::new();
    let to = format!("/rods/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    match tx.add_rod(id, length, diameter, owned).await {
        Ok(()) => done(tx, &to).await,
        Err(e) if e.violates("u_rod__length_nm__diameter_nm") => {
            form.add_error("length", SIZE_TAKEN);
            Ok(invalid(NewRodPage::of(&me, form)))
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rods/show.html")]
struct RodPage {
    layout: Layout,
    row: RodRow,
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
    me: &CurrentUser,
    read: &mut Read,
    id: RodId,
    counting: Option<Form>,
    sizing: Option<Form>,
) -> Result<RodPage> {
    let rod = read.rod(id).await?.ok_or_else(RodId::none)?;
    let changes = read.audit_log_of(EntityKind::Rod, &id.to_string()).await?;
    let fresh = || {
        let mut form = Form::blank(me.units()).with("revision", rod.revision);
        for (name, _, value) in sized(&rod, me.units()) {
            form.set(name, value);
        }
        form
    };
    Ok(RodPage {
        layout: me.layout(),
        counting: counting.unwrap_or_else(|| Form::blank(me.units()).with("act", RodAct::Bought)),
        sizing: sizing.unwrap_or_else(fresh),
        row: RodRow::of(rod, me.units()),
        history: history(&changes, &me.wall()),
        instructor: me.is_instructor(),
    })
}

async fn show(me: CurrentUser, mut read: Read, Id(id): Id<RodId>) -> Result<RodPage> {
    page(&me, &mut read, id, None, None).await
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RodId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.rod(id).await?.ok_or_else(RodId::none)?;
    let mut form = posted.form_of(&me);
    let Some((length, diameter)) = read_size(&mut form) else {
        return Ok(invalid(page(&me, &mut tx, id, None, Some(form)).await?));
    };
    match tx.change_rod(id, form.revision(), length, diameter).await {
        Ok(()) => done(tx, &format!("/rods/{id}?said=saved")).await,
        Err(e) if e.violates("u_rod__length_nm__diameter_nm") => {
            form.add_error("length", SIZE_TAKEN);
            // What the database refused can't read any more.
            drop(tx);
            let mut read = app.store.read().await?;
            Ok(invalid(page(&me, &mut read, id, None, Some(form)).await?))
        }
        Err(store::Error::Stale) => {
            let now = tx.rod(id).await?.ok_or_else(RodId::none)?;
            let who = last_by(&mut tx, EntityKind::Rod, &id.to_string()).await?;
            form.conflict(&who, now.revision, &sized(&now, me.units()));
            Ok(conflict(page(&me, &mut tx, id, None, Some(form)).await?))
        }
        Err(other) => Err(other.into()),
    }
}

async fn count(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RodId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.rod(id).await?.ok_or_else(RodId::none)?;
    let mut form = posted.form_of(&me);
    let act = form.choice::<RodAct>("act", "what happened");
    let rods = form.count("rods", "The number of rods", 1..=MOST);
    let (Some(act), Some(rods)) = (act, rods) else {
        return Ok(invalid(page(&me, &mut tx, id, Some(form), None).await?));
    };
    let to = format!("/rods/{id}?said=counted");
    tx.idempotent(form.key, &to).await?;
    match tx.count_rods(id, act, rods).await {
        Ok(()) => done(tx, &to).await,
        Err(e) if e.violates("ck_rod__counts") => {
            // What the database refused can't read any more; and how many there are now is what counts.
            drop(tx);
            let mut read = app.store.read().await?;
            let rod = read.rod(id).await?.ok_or_else(RodId::none)?;
            let most = act.most(&rod).unwrap_or(0);
            let which = if act == RodAct::FoundBent || act == RodAct::Lost { "straight" } else { "bent" };
            form.add_error(
                "rods",
                format!("{rods} are more than there are: {most} of this size are here and {which}."),
            );
            Ok(invalid(page(&me, &mut read, id, Some(form), None).await?))
        }
        Err(other) => Err(other.into()),
    }
}
