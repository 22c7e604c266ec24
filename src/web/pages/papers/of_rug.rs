//! Papers of one rug, and the cards of a class: warp card, change tape, reading card.
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Print, QueryData, Result, file};
use crate::pdf::kept;
use crate::services::paper_data::{Reader, RugPaper, rugs_of_term};
use crate::store::{Read, RugId, TermId};
use crate::web::http::id::Id;
use crate::web::pages::rugs;

/// Says before a rug's paper is printed which characters of its names no font draws.
fn warning(
    print: Print,
    (me, reader): (&CurrentUser, &Reader),
    paper: &RugPaper,
    (screen, pdf): (&str, &str),
) -> Option<Response> {
    let id = paper.rug.id;
    print.warning(me, &paper.said(reader), format!("/rugs/{id}/{screen}"), &format!("/rugs/{id}/{pdf}"))
}

pub(super) async fn card(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let (reader, paper) = rugs::paper(&app, &me, &mut read, id).await?;
    let print = Print::of(&me, asked);
    let name = format!("warp card {}", paper.rug.fields.name);
    if let Some(page) = warning(print, (&me, &reader), &paper, ("card", "card.pdf")) {
        return Ok(page);
    }
    drop(read);
    let Print { size, large, .. } = print;
    let pdf = app.search(me.id(), move || kept::warp_cards(&[paper], &reader, size, large)).await??;
    Ok(file(&name, pdf))
}

pub(super) async fn tape(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let (reader, paper) = rugs::paper(&app, &me, &mut read, id).await?;
    let print = Print::of(&me, asked);
    let (size, name) = (print.size, format!("change tape {}", paper.rug.fields.name));
    if let Some(page) = warning(print, (&me, &reader), &paper, ("card", "tape.pdf")) {
        return Ok(page);
    }
    drop(read);
    let pdf = app.search(me.id(), move || kept::change_tape(&paper, &reader, size)).await??;
    Ok(file(&name, pdf))
}

pub(super) async fn reading(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let (reader, paper) = rugs::paper(&app, &me, &mut read, id).await?;
    let print = Print::of(&me, asked);
    let name = format!("reading card {}", paper.rug.fields.name);
    if let Some(page) = warning(print, (&me, &reader), &paper, ("reading", "reading.pdf")) {
        return Ok(page);
    }
    drop(read);
    let Print { size, large, .. } = print;
    let pdf = app.search(me.id(), move || kept::reading_card(&paper, &reader, size, large)).await??;
    Ok(file(&name, pdf))
}

pub(super) async fn cards_of_term(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
    asked: QueryData,
) -> Result<Response> {
    let reader = me.reader(&app);
    let (term, rugs) = rugs_of_term(&mut read, id, |rug| rug.state.is_open()).await?;
    let papers = RugPaper::load_all(&mut read, &reader, rugs, Some(id)).await?;
    drop(read);
    let print = Print::of(&me, asked);
    let said: String = papers.iter().map(|paper| paper.said(&reader)).collect();
    if let Some(page) = print.warning(&me, &said, None, &format!("/terms/{id}/cards.pdf")) {
        return Ok(page);
    }
    let size = print.size;
    // A class takes a fifth of a second: other pages go on meanwhile.
    let draw = move || kept::warp_cards(&papers, &reader, size, false);
    let pdf = app.search(me.id(), draw).await??;
    Ok(file(&format!("warp cards {term}"), pdf))
}
