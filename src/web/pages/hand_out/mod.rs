//! Handing out: one form, begun from a frame (which rug?) or from a rug (which frame?), with everything else filled in.
mod page;

use axum::extract::{Query, State};
use axum::response::Response;
use jiff::civil::Date;

use super::loans::read_due;
use crate::services::hand_out::{HandOutData, HandOutStart, InTheWay, RODS, hand_out, too_short};
use crate::services::turns::words;
use crate::store::frames::Frame;
use crate::store::loans::{HandOut, Refused, RugInLine};
use crate::store::rods::Rod;
use crate::store::timetable::Place;
use crate::store::{FrameId, LoanId, Read, RodId, RugId};
use crate::units::dates::day;
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::id::Id;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Result};
use page::{HandOutPage, page};

/// The routes of this folder.
pub fn routes() -> Vec<Route> {
    vec![
        get("/frames/{id}/hand-out", Who::Instructor, of_frame),
        post("/frames/{id}/hand-out", Who::Instructor, settle_frame),
        get("/rugs/{id}/hand-out", Who::Instructor, for_rug),
        post("/rugs/{id}/hand-out", Who::Instructor, settle_rug),
    ]
}

/// The form with the likeliest hand-out filled in.
fn filled(data: &HandOutData, me: &CurrentUser, today: Date, wanted: Option<FrameId>) -> Form {
    let likeliest = data.likeliest(today, wanted);
    let mut form = Form::blank(me.units()).with("rods", RODS).with("due_on", likeliest.due_on);
    form.set("rod", likeliest.rod.map_or_else(|| "none".to_owned(), |rod| rod.to_string()));
    if let Some(frame) = likeliest.frame {
        form.set("frame", frame);
    }
    if let Some(rug) = likeliest.rug {
        form.set("rug", rug);
    }
    form
}

fn frame<'a>(data: &'a HandOutData, form: &Form) -> Option<&'a Frame> {
    data.frames.iter().find(|frame| frame.id.to_string() == form.value("frame"))
}

fn rug<'a>(data: &'a HandOutData, form: &Form) -> Option<&'a RugInLine> {
    data.rugs.iter().find(|rug| rug.rug_id.to_string() == form.value("rug"))
}

fn rod<'a>(data: &'a HandOutData, form: &Form) -> Option<&'a Rod> {
    data.rods.iter().find(|rod| rod.id.to_string() == form.value("rod"))
}

/// What the form says is to be handed out; what is wrong stands in the form.
fn read(data: &HandOutData, form: &mut Form, today: Date) -> Option<HandOut> {
    let frame = frame(data, form);
    if frame.is_none() {
        form.add_error("frame", "Choose a frame from the list.");
    }
    let rug = rug(data, form);
    if rug.is_none() {
        form.add_error("rug", "Choose a rug from the list.");
    }
    let rods = read_rods(data, form, frame);
    let due_on = read_due(form, today);
    let what = HandOut { frame: frame?.id, rug: rug?.rug_id, rods, due_on: due_on? };
    let broken = data.broken_by(&what);
    if !broken.is_empty() && !form.ticked("against") {
        add_turns(form, broken);
    }
    form.is_ok().then_some(what)
}

/// The rods that go along, if any; what is wrong stands in the form.
fn read_rods(data: &HandOutData, form: &mut Form, frame: Option<&Frame>) -> Option<(RodId, i64)> {
    if form.value("rod") == "none" {
        return None;
    }
    let Some(rod) = rod(data, form) else {
        form.add_error("rod", "Choose a size of rod from the list, or no rods.");
        return None;
    };
    let count = form.count("rods", "The number of rods", 1..=20);
    let (units, frame) = (form.units(), frame?);
    if let Some(least) = too_short(rod, frame) {
        let [size, span, least] = [rod.length_nm, frame.fields.span_nm, least].map(|l| l.show(units));
        form.add_error(
            "rod",
            format!("{size} is too short for a span of {span}: at least {least} is needed."),
        );
    }
    Some((rod.id, count?))
}

/// Tells a form whose turns it breaks.
fn add_turns<'a>(form: &mut Form, broken: impl IntoIterator<Item = &'a Place>) {
    let whose: Vec<String> =
        broken.into_iter().map(|one| format!("{} waits for {}", one.weaver, words(one))).collect();
    form.add_error(
        "against",
        format!("Against the timetable: {}. To hand it out anyway, tick the box.", whose.join("; ")),
    );
}

/// Tells a form why nothing is handed out: at the field, or above the form where that is about what is settled.
fn add_refused(data: &HandOutData, form: &mut Form, refused: &Refused) {
    let tag = frame(data, form).map_or("", |frame| &frame.fields.tag);
    let (name, message) = match refused {
        Refused::FrameOut { weaver, due_on } => {
            ("frame", format!("Frame {tag} is with {weaver} until {}.", day(due_on.0)))
        }
        Refused::FrameUnfit => ("frame", format!("Frame {tag} is broken or retired, so it stays here.")),
        Refused::RugClosed => ("rug", "This rug is finished or given up, or its weaver left.".into()),
        Refused::RugOnFrame => ("rug", "This rug is on a frame already. Take that one back first.".into()),
        Refused::RodsShort => {
            let (size, inside) =
                rod(data, form).map_or_else(Default::default, |rod| (rod.size(form.units()), rod.inside()));
            ("rods", format!("Of the rods {size}, {inside} are here and straight."))
        }
        Refused::Store(error) => ("", error.to_string()),
    };
    let settled = match data.start {
        HandOutStart::Frame(_) => "frame",
        HandOutStart::Rug(_) => "rug",
    };
    form.add_error(if name == settled { "" } else { name }, message);
}

#[derive(serde::Deserialize)]
struct WantedFrame {
    frame: Option<String>,
}

async fn of_frame(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<FrameId>,
) -> Result<HandOutPage> {
    offer(&app, &me, &mut read, HandOutStart::Frame(id), None).await
}

async fn for_rug(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    Query(wanted): Query<WantedFrame>,
) -> Result<HandOutPage> {
    let wanted = wanted.frame.and_then(|id| id.parse().ok());
    offer(&app, &me, &mut read, HandOutStart::Rug(id), wanted).await
}

async fn offer(
    app: &App,
    me: &CurrentUser,
    read: &mut Read,
    start: HandOutStart,
    wanted: Option<FrameId>,
) -> Result<HandOutPage> {
    let data = HandOutData::load(read, start, None).await?;
    let mut form = filled(&data, me, me.today(app), wanted);
    if let Some(refused) = data.in_the_way() {
        add_refused(&data, &mut form, &refused);
    }
    Ok(page(&data, me, form))
}

async fn settle_frame(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<FrameId>,
    posted: FormData,
) -> Result<Response> {
    settle(&app, &me, HandOutStart::Frame(id), posted.form_of(&me).with("frame", id)).await
}

async fn settle_rug(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    settle(&app, &me, HandOutStart::Rug(id), posted.form_of(&me).with("rug", id)).await
}

async fn settle(app: &App, me: &CurrentUser, start: HandOutStart, mut form: Form) -> Result<Response> {
    let chosen = form.value("rug").parse().ok();
    let mut tx = app.write(me).await?;
    let data = HandOutData::load(&mut tx, start, chosen).await?;
    let Some(what) = read(&data, &mut form, me.today(app)) else {
        return Ok(invalid(page(&data, me, form)));
    };
    let id = LoanId::new();
    let to = format!("/loans/{id}?said=handed-out");
    tx.idempotent(form.key, &to).await?;
    let Err(in_the_way) = hand_out(&mut tx, id, &what, form.ticked("against")).await? else {
        return done(tx, &to).await;
    };
    // What was half handed out is undone first: the desk is shown as it is without that, and as it is now.
    drop(tx);
    let data = HandOutData::load(&mut app.store.read().await?, start, chosen).await?;
    match in_the_way {
        InTheWay::Refused(refused) => add_refused(&data, &mut form, &refused),
        InTheWay::Turns(broken) => add_turns(&mut form, &broken),
    }
    Ok(conflict(page(&data, me, form)))
}
