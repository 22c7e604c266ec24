//! Papers of the class: pull sheet, wall sheet, loan slips, care labels.
use axum::extract::{Path, State};
use axum::response::Response;

use super::of_rug::of_term;
use super::{App, CurrentUser, Error, Print, QueryData, Reader, Result, file};
use crate::pdf::{Grid, Label, Labels, LoanSlip, PullSheet, Size, WallSheet};
use crate::services::rug_input::RugInput;
use crate::store::loans::Loan;
use crate::store::rugs::{Rug, RugState};
use crate::store::{LoanId, TermId};
use crate::units::Length;
use crate::units::dates;
use crate::web::pages::rugs;
use crate::web::pages::timetable::page::Wall;

/// The pull sheet: what is promised and not pulled yet.
///
/// # Errors
/// When the database can't answer, or the file can't be written.
pub async fn pull_sheet(app: &App, reader: &Reader, size: Size) -> Result<Vec<u8>> {
    let all = app.store.read().await?.promises().await?;
    let open: Vec<_> = all.into_iter().filter(crate::store::cloth::promises::Promise::is_open).collect();
    let sheet = PullSheet {
        workroom: &reader.workroom,
        promises: &open,
        link: &format!("{}/pull", reader.origin),
        printed: &reader.printed(app),
        units: reader.units,
    };
    Ok(sheet.pdf(size)?)
}

/// A term's wall sheet.
///
/// # Errors
/// When the database can't answer, or the file can't be written.
pub async fn wall_sheet(app: &App, reader: &Reader, term: TermId, size: Size) -> Result<Vec<u8>> {
    let wall =
        Wall::load(app, &mut app.store.read().await?, (reader.zone.clone(), reader.units), term).await?;
    let which = wall.revision.map_or("No timetable yet".into(), |n| format!("Timetable {n}"));
    let sheet = WallSheet {
        workroom: &reader.workroom,
        term: &wall.term,
        frames: &wall.frames,
        meetings: &wall.meetings,
        turns: &wall.turns,
        link: &format!("{}/terms/{term}/timetable", reader.origin),
        printed: &format!("{which}, printed {}.", reader.printed(app)),
    };
    Ok(sheet.pdf(size)?)
}

/// A loan's slip.
///
/// # Errors
/// When the file can't be written.
pub fn loan_slip(app: &App, reader: &Reader, loan: &Loan, size: Size) -> Result<Vec<u8>> {
    let came = loan.taken_back_at.map(|at| dates::moment(at, &reader.zone));
    let slip = LoanSlip {
        workroom: &reader.workroom,
        loan,
        due: &dates::day(loan.due_on.0),
        went: &dates::moment(loan.handed_out_at, &reader.zone),
        came: came.as_deref(),
        link: &format!("{}/loans/{}", reader.origin, loan.id),
        printed: &reader.printed(app),
        units: reader.units,
    };
    Ok(slip.pdf(size)?)
}

/// The care labels of these rugs, one each; a rug alone fills a sheet.
///
/// # Errors
/// When a rug can't be planned, or the file can't be written.
pub fn care_labels(reader: &Reader, rugs: &[Rug], size: Size) -> Result<Vec<u8>> {
    let grid = Grid::plain(size, 2, 5);
    let mut labels = Vec::new();
    for rug in rugs {
        labels.push(care_label(reader, rug)?);
    }
    if let [one] = labels.as_slice() {
        labels = vec![one.clone(); (grid.across * grid.down) as usize];
    }
    let sheet = Labels { title: "Care labels", labels: &labels, grid, skip: 0, edges: true };
    Ok(sheet.pdf(size)?)
}

fn care_label(reader: &Reader, rug: &Rug) -> Result<Label> {
    let fault = |e: &dyn std::fmt::Display| Error::Internal(format!("rug {} can't be planned: {e}", rug.id));
    let planned = RugInput::of(&rug.fields, &rug.bands, reader.units).map_err(|e| fault(&e))?;
    let plan = planned.plan(reader.units).map_err(|e| fault(&e))?;
    let (warp, weft) = (rug.fields.warp_kind.facts().title, rug.fields.weft_kind.facts().title);
    let cloth = if warp == weft {
        format!("Rag strips of {} warp and weft, second-hand; fibres as far as known.", warp.to_lowercase())
    } else {
        format!(
            "Rag strips: warp {}, weft {}, second-hand; fibres as far as known.",
            warp.to_lowercase(),
            weft.to_lowercase()
        )
    };
    let fringe = if rug.fields.fringe_nm > Length::ZERO { ", fringed" } else { "" };
    let backing = if rug.fields.backing {
        "Non-slip backing, which may hold latex."
    } else {
        "No backing: it slides on a smooth floor."
    };
    Ok(Label {
        big: rug.fields.name.clone(),
        lines: vec![
            format!(
                "{} × {}{fringe}. Woven by {}.",
                plan.width.show(reader.units),
                plan.length.show(reader.units),
                crate::pdf::own(&rug.weaver)
            ),
            cloth,
            "Wash delicate and cool, in a bag. Reshape flat, dry on a line. No tumble dryer. Keep from fires and heaters."
                .into(),
            backing.into(),
        ],
        link: None,
    })
}

pub(super) async fn pull(State(app): State<App>, me: CurrentUser, asked: QueryData) -> Result<Response> {
    let size = Print::of(&me, asked).size;
    Ok(file("pull sheet", pull_sheet(&app, &Reader::of(&me), size).await?))
}

pub(super) async fn wall(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    asked: QueryData,
) -> Result<Response> {
    let term: TermId = id.parse().map_err(|_| Error::NotFound("term"))?;
    let size = Print::of(&me, asked).size;
    Ok(file("wall sheet", wall_sheet(&app, &Reader::of(&me), term, size).await?))
}

pub(super) async fn slip(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    asked: QueryData,
) -> Result<Response> {
    let id: LoanId = id.parse().map_err(|_| Error::NotFound("loan"))?;
    let loan = app.store.read().await?.loan(id).await?;
    let loan = loan.filter(|loan| me.may_see(loan.weaver_id)).ok_or(Error::NotFound("loan"))?;
    let size = Print::of(&me, asked).size;
    let name = format!("loan slip {}", loan.frame_tag);
    Ok(file(&name, loan_slip(&app, &Reader::of(&me), &loan, size)?))
}

pub(super) async fn care_of_rug(
    State(app): State<App>,
    me: CurrentUser,
    path: Path<String>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut app.store.read().await?, &me, path).await?;
    let size = Print::of(&me, asked).size;
    let name = format!("care labels {}", rug.fields.name);
    Ok(file(&name, care_labels(&Reader::of(&me), &[rug], size)?))
}

pub(super) async fn care_of_term(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    asked: QueryData,
) -> Result<Response> {
    // Finished rugs too: those are the ones that need a label.
    let (_, name, rugs) = of_term(&app, &id, |rug| rug.state != RugState::GivenUp).await?;
    let size = Print::of(&me, asked).size;
    Ok(file(&format!("care labels {name}"), care_labels(&Reader::of(&me), &rugs, size)?))
}
