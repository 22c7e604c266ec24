//! Papers of the class: pull sheet, wall sheet, loan slips, care labels.
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Print, QueryData, Result, file};
use crate::pdf::kept;
use crate::services::paper_data::{Wall, care_labels, rugs_of_term, to_pull};
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
    let size = Print::of(&me, asked).size;
    Ok(file("pull sheet", kept::pull_sheet(&promises, &me.reader(&app), size)?))
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
    let size = Print::of(&me, asked).size;
    Ok(file("wall sheet", kept::wall_sheet(&wall, &reader, id, size)?))
}

pub(super) async fn slip(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<LoanId>,
    asked: QueryData,
) -> Result<Response> {
    let loan = read.loan(id).await?.filter(|loan| me.may_see(loan.weaver_id)).ok_or_else(LoanId::none)?;
    let size = Print::of(&me, asked).size;
    let name = format!("loan slip {}", loan.frame_tag);
    Ok(file(&name, kept::loan_slip(&loan, &me.reader(&app), size)?))
}

pub(super) async fn care_of_rug(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut read, &me, id).await?;
    let size = Print::of(&me, asked).size;
    let name = format!("care labels {}", rug.fields.name);
    Ok(file(&name, kept::care_sheet(care_labels(&me.reader(&app), &[rug])?, size)?))
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
    let size = Print::of(&me, asked).size;
    let labels = care_labels(&me.reader(&app), &rugs)?;
    Ok(file(&format!("care labels {name}"), kept::care_sheet(labels, size)?))
}
