//! Papers of one rug, and the cards of a class: warp card, change tape, reading card.
use axum::extract::State;
use axum::response::Response;

use super::{App, CurrentUser, Print, QueryData, Result, file};
use crate::pdf::kept;
use crate::services::paper_data::{RugPaper, rugs_of_term};
use crate::store::{Read, RugId, TermId};
use crate::web::http::id::Id;
use crate::web::http::state::one_at_a_time;
use crate::web::pages::rugs;

pub(super) async fn card(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let (reader, paper) = rugs::paper(&app, &me, &mut read, id).await?;
    let (Print { size, large }, name) =
        (Print::of(&me, asked), format!("warp card {}", paper.rug.fields.name));
    Ok(file(&name, kept::warp_cards(&[paper], &reader, size, large)?))
}

pub(super) async fn tape(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let (reader, paper) = rugs::paper(&app, &me, &mut read, id).await?;
    let (size, name) = (Print::of(&me, asked).size, format!("change tape {}", paper.rug.fields.name));
    Ok(file(&name, kept::change_tape(&paper, &reader, size)?))
}

pub(super) async fn reading(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let (reader, paper) = rugs::paper(&app, &me, &mut read, id).await?;
    let (Print { size, large }, name) =
        (Print::of(&me, asked), format!("reading card {}", paper.rug.fields.name));
    Ok(file(&name, kept::reading_card(&paper, &reader, size, large)?))
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
    let size = Print::of(&me, asked).size;
    // A class takes a fifth of a second: other pages go on meanwhile.
    let draw = move || kept::warp_cards(&papers, &reader, size, false);
    let pdf = one_at_a_time(&app.searching, draw).await??;
    Ok(file(&format!("warp cards {term}"), pdf))
}
