//! A proposal accepted, a place locked, a weaver told.
use axum::extract::State;
use axum::response::Response;

use super::page::ProposalPage;
use super::read_options;
use crate::optimize::timetable::Placed;
use crate::services::timetable::{TimetableData, number};
use crate::store::timetable::NewPlace;
use crate::store::{self, RugId, TermId};
use crate::web::http::answer::{conflict, done};
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, Form, FormData, Result};

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
fn in_the_way(timetable: &TimetableData, places: &[NewPlace]) -> Option<String> {
    let mut turns: Vec<Option<Placed>> = vec![None; timetable.rows.len()];
    for place in places {
        let row = timetable.rows.iter().position(|row| row.rug.id == place.rug);
        let frame = timetable.frames.iter().position(|frame| frame.id == place.frame);
        let (from, to) = (number(&timetable.meetings, place.from), number(&timetable.meetings, place.to));
        let (Some(row), Some(frame), Some(from), Some(to)) = (row, frame, from, to) else {
            return Some("a rug, a frame or a meeting that it counts on is gone".into());
        };
        turns[row] = Some(Placed { frame, from, to });
    }
    timetable.problem.holds(&turns, &timetable.problem.rods_for(&turns)).err()
}

pub(super) async fn accept(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let to = format!("/terms/{id}/timetable?said=timetable");
    let options = read_options(&form);
    let places: Vec<NewPlace> = form.values("place").filter_map(read_place).collect();
    let mut tx = app.write(&me).await?;
    let timetable = TimetableData::load(&mut tx, me.local(), (id, app.clock.now()), options).await?;
    tx.idempotent(form.key, &to).await?;
    let why = match in_the_way(&timetable, &places) {
        Some(why) => format!("Meanwhile the class changed: {why}."),
        None => match tx.accept_timetable(id, form.revision(), &places).await {
            Ok(()) => return done(tx, &to).await,
            Err(store::Error::Stale) => {
                let kept = tx.timetable(id).await?;
                let who = kept.and_then(|kept| kept.who).unwrap_or_else(|| "Somebody".into());
                format!("{who} accepted another timetable meanwhile.")
            }
            Err(other) => return Err(other.into()),
        },
    };
    form.add_error("", format!("{why} Nothing was kept. This was worked out again from how things are now."));
    // Let go before it is worked out again, which takes its time.
    drop(tx);
    let read = app.store.read().await?;
    Ok(conflict(ProposalPage::load(&app, &me, read, id, form).await?))
}

/// The rug that a small form is about.
fn rug(form: &Form) -> Result<RugId> {
    form.value("rug").parse().map_err(|_| RugId::none())
}

pub(super) async fn lock(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    tx.lock_place(id, rug(&form)?, form.value("locked") == "yes").await?;
    done(tx, &format!("/terms/{id}/timetable#places")).await
}

pub(super) async fn told(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    tx.mark_told(id, rug(&form)?).await?;
    done(tx, &format!("/terms/{id}/timetable#tell")).await
}
