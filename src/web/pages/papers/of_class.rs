//! Papers of the class: pull sheet, wall sheet, loan slips, care labels.
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Print, QueryData, Result, file};
use crate::pdf::kept;
use crate::services::paper_data::{
    Label, Wall, care_labels, rugs_of_term, said_of_loan, said_of_promises, to_pull,
};
use crate::store::rugs::RugState;
use crate::store::{LoanId, Read, RugId, TermId};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::rugs;

pub(super) async fn pull(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    asked: QueryData,
) -> Result<Response> {
    let promises = to_pull(&mut read).await?;
    let print = Print::of(&me, asked);
    let size = print.size;
    drop(read);
    let reader = me.reader(&app);
    let said = said_of_promises(&promises, &reader);
    if let Some(page) = print.warning(&me, &said, "/pull".to_owned(), "/pull.pdf") {
        return Ok(page);
    }
    let pdf = app.search(me.id(), move || kept::pull_sheet(&promises, &reader, size)).await??;
    Ok(file("pull sheet", pdf))
}

pub(super) async fn wall(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
    asked: QueryData,
) -> Result<Response> {
    let reader = me.reader(&app);
    let wall = Wall::load(&mut read, &reader, id).await?;
    let print = Print::of(&me, asked);
    let size = print.size;
    let (screen, pdf) = (format!("/terms/{id}/timetable"), format!("/terms/{id}/wall.pdf"));
    if let Some(page) = print.warning(&me, &wall.said(&reader), screen, &pdf) {
        return Ok(page);
    }
    drop(read);
    let pdf = app.search(me.id(), move || kept::wall_sheet(&wall, &reader, id, size)).await??;
    Ok(file("wall sheet", pdf))
}

pub(super) async fn slip(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<LoanId>,
    asked: QueryData,
) -> Result<Response> {
    let loan = read.loan(id).await?.filter(|loan| me.may_see(loan.weaver_id)).ok_or_else(LoanId::none)?;
    let print = Print::of(&me, asked);
    let (size, name) = (print.size, format!("loan slip {}", loan.frame_tag));
    drop(read);
    let (reader, pdf) = (me.reader(&app), format!("/loans/{id}/slip.pdf"));
    if let Some(page) = print.warning(&me, &said_of_loan(&loan, &reader), format!("/loans/{id}"), &pdf) {
        return Ok(page);
    }
    let pdf = app.search(me.id(), move || kept::loan_slip(&loan, &reader, size)).await??;
    Ok(file(&name, pdf))
}

pub(super) async fn care_of_rug(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut read, &me, id).await?;
    let print = Print::of(&me, asked);
    let (size, name) = (print.size, format!("care labels {}", rug.fields.name));
    drop(read);
    let labels = care_labels(&me.reader(&app), &[rug])?;
    if let Some(page) = print.warning(&me, &Label::said(&labels), None, &format!("/rugs/{id}/care.pdf")) {
        return Ok(page);
    }
    let pdf = app.search(me.id(), move || kept::care_sheet(labels, size)).await??;
    Ok(file(&name, pdf))
}

pub(super) async fn care_of_term(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
    asked: QueryData,
) -> Result<Response> {
    // Finished rugs too: those are the ones that need a label.
    let (name, rugs) = rugs_of_term(&mut read, id, |rug| rug.state != RugState::GivenUp).await?;
    let print = Print::of(&me, asked);
    let size = print.size;
    drop(read);
    let labels = care_labels(&me.reader(&app), &rugs)?;
    if let Some(page) = print.warning(&me, &Label::said(&labels), None, &format!("/terms/{id}/care.pdf")) {
        return Ok(page);
    }
    let pdf = app.search(me.id(), move || kept::care_sheet(labels, size)).await??;
    Ok(file(&format!("care labels {name}"), pdf))
}
