//! A proposal accepted, a place locked, a weaver told.
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::page::ProposalPage;
use super::read_options;
use super::{App, CurrentUser, Error, Form, FormData, Result, term_id};
use crate::optimize::timetable::Placed;
use crate::services::timetable::{TimetableData, number};
use crate::store;
use crate::store::RugId;
use crate::store::timetable::NewPlace;

/// A place as the proposal's form carries it: the ids of rug, frame, first and last meeting.
fn read_place(text: &str) -> Option<NewPlace> {
    let mut parts = text.split(' ');
    let mut next = || parts.next();
    Some(NewPlace {
        rug: next()?.parse().ok()?,
        frame: next()?.parse().ok()?,
        from: next()?.parse().ok()?,
        to: next()?.parse().ok()?,
    })
}

/// What of the class changed since the proposal was made, so that it can't be kept; nothing when it still can.
fn in_the_way(board: &TimetableData, places: &[NewPlace]) -> Option<String> {
    let mut turns: Vec<Option<Placed>> = vec![None; board.rows.len()];
    for place in places {
        let row = board.rows.iter().position(|row| row.rug.id == place.rug);
        let frame = board.frames.iter().position(|frame| frame.id == place.frame);
        let (from, to) = (number(&board.meetings, place.from), number(&board.meetings, place.to));
        let (Some(row), Some(frame), Some(from), Some(to)) = (row, frame, from, to) else {
            return Some("a rug, a frame or a meeting that it counts on is gone".into());
        };
        turns[row] = Some(Placed { frame, from, to });
    }
    board.problem.holds(&turns).err()
}

pub(super) async fn accept(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let id = term_id(&id)?;
    let mut form = posted.form_of(&me);
    let to = format!("/terms/{id}/timetable?said=timetable");
    let options = read_options(&form);
    let places: Vec<NewPlace> = form.values("place").filter_map(read_place).collect();
    let board =
        TimetableData::load(&mut app.store.read().await?, me.local(), (id, app.clock.now()), options).await?;
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    let refused = match in_the_way(&board, &places) {
        Some(why) => Some(format!("Meanwhile the class changed: {why}.")),
        None => match tx.accept_timetable(id, form.revision(), &places).await {
            Ok(()) => {
                tx.commit().await?;
                return Ok(Redirect::to(&to).into_response());
            }
            Err(store::Error::Stale) => {
                let kept = board.kept.as_ref();
                let who = kept.and_then(|kept| kept.who.as_deref()).unwrap_or("Somebody");
                Some(format!("{who} accepted another timetable meanwhile."))
            }
            Err(other) => return Err(other.into()),
        },
    };
    drop(tx);
    let why = refused.unwrap_or_default();
    form.add_error("", format!("{why} Nothing was kept. This is worked out anew from how things are now."));
    Ok((StatusCode::CONFLICT, ProposalPage::load(&app, &me, id, form).await?).into_response())
}

/// The rug that a small form is about.
fn rug(form: &Form) -> Result<RugId> {
    form.value("rug").parse().map_err(|_| Error::NotFound("rug"))
}

pub(super) async fn lock(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let id = term_id(&id)?;
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    tx.lock_place(id, rug(&form)?, form.value("locked") == "yes").await?;
    tx.commit().await?;
    Ok(Redirect::to(&format!("/terms/{id}/timetable#places")).into_response())
}

pub(super) async fn told(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    posted: FormData,
) -> Result<Response> {
    let id = term_id(&id)?;
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    tx.mark_told(id, rug(&form)?).await?;
    tx.commit().await?;
    Ok(Redirect::to(&format!("/terms/{id}/timetable#tell")).into_response())
}
