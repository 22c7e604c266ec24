//! Papers of one rug, and the cards of a class: warp card, change tape, reading card.
use axum::extract::{Path, State};
use axum::response::Response;

use super::printed::Printed;
use super::{App, CurrentUser, Error, Print, QueryData, Reader, Result, file};
use crate::pdf::{ChangeTape, Coloured, PaperError, ReadingCard, Size, Target, WarpCard};
use crate::services::learning::Learning;
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::{RugPlan, plan_of};
use crate::store::cloth::promises::Promise;
use crate::store::rugs::Rug;
use crate::store::rugs::log::LogEntry;
use crate::store::terms::Meeting;
use crate::store::{RugId, TermId};
use crate::web::http::id::Id;
use crate::web::http::state::one_at_a_time;
use crate::web::pages::rugs;

/// A rug with all that its papers say.
struct Worked {
    rug: Rug,
    known: RugPlan,
    calendar: Calendar,
    colours: Vec<String>,
}

impl Worked {
    fn of(app: &App, reader: &Reader, rug: Rug, known: RugPlan, meetings: &[Meeting]) -> Self {
        let calendar = Calendar::of(&rug, &known, meetings, app.clock.now(), &reader.zone, reader.units);
        let colours = known.planned.colours.iter().map(|colour| colour.name.clone()).collect();
        Self { rug, known, calendar, colours }
    }

    async fn load(app: &App, reader: &Reader, rug: Rug) -> Result<Self> {
        let mut read = app.store.read().await?;
        let meetings = rugs::meetings(&mut read, &rug).await?;
        let (known, _) = rugs::known(&mut read, &rug, reader.units).await?;
        Ok(Self::of(app, reader, rug, known, &meetings))
    }

    fn link(&self, reader: &Reader) -> String {
        Printed::of(&self.rug, &self.known.plan).link(&reader.origin, &self.rug)
    }

    fn steps(&self) -> Vec<(String, String)> {
        self.calendar.entries.iter().map(|entry| (entry.when.clone(), entry.what.join(", "))).collect()
    }
}

/// The warp cards of these rugs in one file; of one alone in large print when asked for. One question for each kind of
/// thing, however many rugs there are.
///
/// # Errors
/// When the database can't answer, or the file can't be written.
pub async fn cards(
    app: &App,
    reader: &Reader,
    rugs: Vec<Rug>,
    term: Option<TermId>,
    size: Size,
    large: bool,
) -> Result<Vec<u8>> {
    let mut read = app.store.read().await?;
    let learning = Learning::load(&mut read).await?;
    let (logs, meetings, promises): (Vec<LogEntry>, Vec<Meeting>, Vec<Promise>) =
        match (term, rugs.as_slice()) {
            (Some(term), _) => {
                (read.term_log(term).await?, read.meetings(term).await?, read.promises().await?)
            }
            (None, [one]) => {
                let meetings = match one.fields.term_id {
                    Some(term) => read.meetings(term).await?,
                    None => Vec::new(),
                };
                (read.rug_log(one.id).await?, meetings, read.promises_to(one.id).await?)
            }
            (None, _) => (read.logs().await?, Vec::new(), read.promises().await?),
        };
    drop(read);
    let printed = reader.printed(app);
    let mut worked = Vec::new();
    for rug in rugs {
        let own: Vec<LogEntry> = logs.iter().filter(|entry| entry.rug_id == rug.id).cloned().collect();
        let cloth: Vec<Promise> =
            promises.iter().filter(|promise| promise.part.rug_id == rug.id).cloned().collect();
        let known = plan_of(&rug, &learning, &own, reader.units)?;
        worked.push((Worked::of(app, reader, rug, known, &meetings), cloth));
    }
    // A class takes a fifth of a second: other pages go on meanwhile.
    let reader = reader.clone();
    let pdf = one_at_a_time(&app.searching, move || drawn(&worked, &reader, &printed, size, large)).await?;
    Ok(pdf?)
}

/// The cards of rugs that are worked out already.
fn drawn(
    worked: &[(Worked, Vec<Promise>)],
    reader: &Reader,
    printed: &str,
    size: Size,
    large: bool,
) -> std::result::Result<Vec<u8>, PaperError> {
    let texts: Vec<_> = worked.iter().map(|(one, _)| (one.steps(), one.link(reader))).collect();
    let cards: Vec<WarpCard<'_>> = worked
        .iter()
        .zip(&texts)
        .map(|((one, promises), (steps, link))| WarpCard {
            workroom: &reader.workroom,
            rug: &one.rug,
            plan: &one.known.plan,
            colours: &one.colours,
            steps,
            promises,
            link,
            printed,
            units: reader.units,
        })
        .collect();
    match cards.as_slice() {
        [one] => one.pdf(size, large),
        many => WarpCard::all(many, "Warp cards", size),
    }
}

/// A rug's change tape.
///
/// # Errors
/// When the database can't answer, or the file can't be written.
pub async fn change_tape(app: &App, reader: &Reader, rug: Rug, size: Size) -> Result<Vec<u8>> {
    let worked = Worked::load(app, reader, rug).await?;
    let plan = &worked.known.plan;
    let rows: Vec<u32> = worked.calendar.woven.iter().map(|(_, rows)| *rows).collect();
    let done = worked.known.standing.progress.rows as u32;
    // What is woven already needs no arrow.
    let ahead: Vec<u32> = rows.iter().map(|rows| (*rows).max(done)).collect();
    let mut targets = Target::of(plan, &ahead, |slot| worked.calendar.woven[slot].0.clone());
    targets.retain(|target| target.rows > done);
    let rug = &worked.rug;
    let foot = format!(
        "{}: {}, {}. Revision {} of the plan, printed {}.",
        reader.workroom,
        rug.fields.name,
        rug.weaver,
        rug.revision,
        reader.printed(app)
    );
    let link = worked.link(reader);
    let tape = ChangeTape {
        name: &rug.fields.name,
        foot: &foot,
        plan,
        colours: &worked.colours,
        targets: &targets,
        link: Some(&link),
        units: reader.units,
    };
    Ok(tape.pdf(size)?)
}

/// A rug's reading card.
///
/// # Errors
/// When the database can't answer, or the file can't be written.
pub async fn reading_card(app: &App, reader: &Reader, rug: Rug, size: Size, large: bool) -> Result<Vec<u8>> {
    let worked = Worked::load(app, reader, rug).await?;
    let card = ReadingCard {
        workroom: &reader.workroom,
        rug: &worked.rug,
        coloured: Coloured { plan: &worked.known.plan, colours: &worked.colours, units: reader.units },
        link: &worked.link(reader),
        printed: &reader.printed(app),
    };
    Ok(card.pdf(size, large)?)
}

pub(super) async fn card(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut app.store.read().await?, &me, id).await?;
    let (Print { size, large }, name) = (Print::of(&me, asked), format!("warp card {}", rug.fields.name));
    let pdf = cards(&app, &Reader::of(&me), vec![rug], None, size, large).await?;
    Ok(file(&name, pdf))
}

pub(super) async fn tape(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut app.store.read().await?, &me, id).await?;
    let name = format!("change tape {}", rug.fields.name);
    let size = Print::of(&me, asked).size;
    Ok(file(&name, change_tape(&app, &Reader::of(&me), rug, size).await?))
}

pub(super) async fn reading(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<Response> {
    let rug = rugs::load(&mut app.store.read().await?, &me, id).await?;
    let (Print { size, large }, name) = (Print::of(&me, asked), format!("reading card {}", rug.fields.name));
    Ok(file(&name, reading_card(&app, &Reader::of(&me), rug, size, large).await?))
}

/// A term's rugs that a paper is of use for, and the term.
pub(super) async fn of_term(
    app: &App,
    id: &str,
    wanted: impl Fn(&Rug) -> bool,
) -> Result<(TermId, String, Vec<Rug>)> {
    let id: TermId = id.parse().map_err(|_| Error::NotFound("term"))?;
    let mut read = app.store.read().await?;
    let term = read.term(id).await?.ok_or(Error::NotFound("term"))?;
    let rugs: Vec<Rug> = read.rugs(None, Some(id)).await?.into_iter().filter(wanted).collect();
    if rugs.is_empty() { Err(Error::NotFound("rug to print this for")) } else { Ok((id, term.name, rugs)) }
}

pub(super) async fn cards_of_term(
    State(app): State<App>,
    me: CurrentUser,
    Path(id): Path<String>,
    asked: QueryData,
) -> Result<Response> {
    let (id, term, rugs) = of_term(&app, &id, |rug| rug.state.is_open()).await?;
    let size = Print::of(&me, asked).size;
    let pdf = cards(&app, &Reader::of(&me), rugs, Some(id), size, false).await?;
    Ok(file(&format!("warp cards {term}"), pdf))
}
