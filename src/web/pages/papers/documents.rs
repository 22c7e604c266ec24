//! Papers that are read from top to bottom, on the screen and as PDF: of an evening, of the shelf, of a rug.
use axum::response::Response;

use super::shown::Asked;
use super::{CurrentUser, Result};
use crate::services::paper_data::{
    attendance, blank_weigh_in, booklet, colour_card, exhibition, first_row_page, log_sheet, rugs_of_term,
    stocktake_list, tally, tonight,
};
use crate::store::rugs::RugState;
use crate::store::{Read, RugId, StocktakeId, TermId};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get};
use crate::web::pages::rugs;

/// The routes of this file: each paper's page and its file, by one handler.
pub(super) fn routes() -> Vec<Route> {
    vec![
        get("/tonight", Who::Instructor, evening),
        get("/tonight.pdf", Who::Instructor, evening),
        get("/terms/{id}/attendance", Who::Staff, attendance_of_term),
        get("/terms/{id}/attendance.pdf", Who::Staff, attendance_of_term),
        get("/terms/{id}/log-sheet", Who::Staff, log_sheet_of_term),
        get("/terms/{id}/log-sheet.pdf", Who::Staff, log_sheet_of_term),
        get("/terms/{id}/exhibition", Who::Staff, exhibition_of_term),
        get("/terms/{id}/exhibition.pdf", Who::Staff, exhibition_of_term),
        get("/cloth/weigh-in/sheet", Who::Staff, weigh_in_sheet),
        get("/cloth/weigh-in/sheet.pdf", Who::Staff, weigh_in_sheet),
        get("/cloth/count/{id}/list", Who::Staff, list_of_count),
        get("/cloth/count/{id}/list.pdf", Who::Staff, list_of_count),
        get("/cloth/colours", Who::SignedIn, colours),
        get("/cloth/colours.pdf", Who::SignedIn, colours),
        get("/rugs/{id}/booklet", Who::SignedIn, booklet_of_rug),
        get("/rugs/{id}/booklet.pdf", Who::SignedIn, booklet_of_rug),
        get("/rugs/{id}/first-row", Who::SignedIn, first_row_of_rug),
        get("/rugs/{id}/first-row.pdf", Who::SignedIn, first_row_of_rug),
        get("/rugs/{id}/tally", Who::SignedIn, tally_of_rug),
        get("/rugs/{id}/tally.pdf", Who::SignedIn, tally_of_rug),
        get("/rugs/{id}/exhibition", Who::SignedIn, exhibition_of_rug),
        get("/rugs/{id}/exhibition.pdf", Who::SignedIn, exhibition_of_rug),
    ]
}

async fn evening(asked: Asked, mut read: Read) -> Result<Response> {
    let document = tonight(&mut read, &asked.reader()).await?;
    drop(read);
    asked.answer(document, "tonight", ("/today".into(), "Today")).await
}

/// The way back to a term: its page is the instructor's, its timetable everybody's who runs the class.
fn to_term(me: &CurrentUser, id: TermId) -> (String, &'static str) {
    if me.is_instructor() {
        (format!("/terms/{id}"), "The term")
    } else {
        (format!("/terms/{id}/timetable"), "The timetable")
    }
}

async fn attendance_of_term(asked: Asked, mut read: Read, Id(id): Id<TermId>) -> Result<Response> {
    let document = attendance(&mut read, &asked.reader(), id).await?;
    drop(read);
    let back = to_term(&asked.me, id);
    asked.answer(document, "attendance", back).await
}

async fn log_sheet_of_term(asked: Asked, mut read: Read, Id(id): Id<TermId>) -> Result<Response> {
    let document = log_sheet(&mut read, &asked.reader(), id).await?;
    drop(read);
    let back = to_term(&asked.me, id);
    asked.answer(document, "log sheet", back).await
}

/// The labels of a term's rugs, those that were given up left out.
async fn exhibition_of_term(asked: Asked, mut read: Read, Id(id): Id<TermId>) -> Result<Response> {
    let (_, rugs) = rugs_of_term(&mut read, id, |rug| rug.state != RugState::GivenUp).await?;
    drop(read);
    let (document, back) = (exhibition(&asked.reader(), &rugs)?, to_term(&asked.me, id));
    asked.answer(document, "exhibition labels", back).await
}

async fn weigh_in_sheet(asked: Asked) -> Result<Response> {
    let document = blank_weigh_in(&asked.reader());
    asked.answer(document, "weigh-in sheet", ("/cloth/weigh-in".into(), "The scale")).await
}

async fn list_of_count(asked: Asked, mut read: Read, Id(id): Id<StocktakeId>) -> Result<Response> {
    if read.stocktake(id).await?.is_none() {
        return Err(StocktakeId::none());
    }
    let document = stocktake_list(&mut read, &asked.reader(), id).await?;
    drop(read);
    asked.answer(document, "stocktake list", (format!("/cloth/count/{id}"), "The stocktake")).await
}

async fn colours(asked: Asked, mut read: Read) -> Result<Response> {
    let document = colour_card(&mut read, &asked.reader()).await?;
    drop(read);
    asked.answer(document, "colour card", ("/cloth".into(), "The shelf")).await
}

async fn tally_of_rug(asked: Asked, mut read: Read, Id(id): Id<RugId>) -> Result<Response> {
    let (reader, paper) = rugs::paper(&asked.app, &asked.me, &mut read, id).await?;
    drop(read);
    let name = format!("row tally {}", paper.rug.fields.name);
    asked.answer(tally(&paper, &reader), &name, (format!("/rugs/{id}"), "The rug")).await
}

async fn booklet_of_rug(asked: Asked, mut read: Read, Id(id): Id<RugId>) -> Result<Response> {
    let (reader, paper) = rugs::paper(&asked.app, &asked.me, &mut read, id).await?;
    drop(read);
    let name = format!("guide {}", paper.rug.fields.name);
    let document = booklet(&paper, &reader, asked.begin);
    asked.answer(document, &name, (format!("/rugs/{id}/guide"), "The guide")).await
}

async fn first_row_of_rug(asked: Asked, mut read: Read, Id(id): Id<RugId>) -> Result<Response> {
    let (reader, paper) = rugs::paper(&asked.app, &asked.me, &mut read, id).await?;
    drop(read);
    let name = format!("first row {}", paper.rug.fields.name);
    let document = first_row_page(&paper, &reader, asked.begin);
    asked.answer(document, &name, (format!("/rugs/{id}/guide"), "The guide")).await
}

async fn exhibition_of_rug(asked: Asked, mut read: Read, Id(id): Id<RugId>) -> Result<Response> {
    let rug = rugs::load(&mut read, &asked.me, id).await?;
    drop(read);
    let name = format!("exhibition label {}", rug.fields.name);
    let document = exhibition(&asked.reader(), &[rug])?;
    asked.answer(document, &name, (format!("/rugs/{id}"), "The rug")).await
}
