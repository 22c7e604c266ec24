//! Papers of an evening and of a term's evenings: tonight's sheet, attendance, and sheets to log on where there is no power.
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::document::{Block, Cell, Column, Document, Table};
use super::{Reader, RugPaper};
use crate::services::guide;
use crate::services::rug_status::lasts;
use crate::services::{Error, Result};
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Meeting;
use crate::store::today::Running;
use crate::store::{Read, TermId};
use crate::units::{dates, isolated};

/// The meeting that comes next or goes on just now, one that began yesterday and runs past midnight among them; and its
/// term, or the newest where no meeting is ahead.
pub fn at_hand(
    mut terms: Vec<Running>,
    now: Timestamp,
    zone: &TimeZone,
) -> (Option<Running>, Option<Meeting>) {
    let ahead = |meeting: &&Meeting| !meeting.called_off && meeting.end(zone).is_some_and(|end| end > now);
    let next = terms.iter().flat_map(|term| &term.meetings).filter(ahead);
    let next = next.min_by_key(|meeting| (meeting.on_day, meeting.starts_at)).cloned();
    let term = match &next {
        Some(meeting) => terms.iter().position(|term| term.id == meeting.term_id),
        None => (!terms.is_empty()).then_some(0),
    };
    (term.map(|at| terms.swap_remove(at)), next)
}

/// The rugs of a term that are still to be made.
async fn open_rugs(read: &mut Read, term: TermId) -> Result<Vec<Rug>> {
    let mut rugs = read.rugs(None, Some(term)).await?;
    rugs.retain(|rug| rug.state.is_open());
    Ok(rugs)
}

/// What the instructor has in hand at the next meeting: who comes, with which frame, what is next for them, and their cloth.
pub async fn tonight(read: &mut Read, reader: &Reader) -> Result<Document> {
    let (term, next) = at_hand(read.running_terms().await?, reader.now, &reader.wall.zone);
    let under = match (&term, &next) {
        (Some(term), Some(next)) => format!(
            "{}, {}, for {}: {}",
            dates::day(next.on_day.0),
            dates::time(next.starts_at.0, reader.wall.hours),
            dates::minutes(next.minutes as f64),
            isolated(&term.name)
        ),
        (Some(term), None) => format!("{}: no meeting is ahead", isolated(&term.name)),
        (None, _) => "No term is running".to_owned(),
    };
    let mut document = reader.document("Tonight", under, "/today", "today’s page");
    document.one_page = true;
    let Some(term) = term else { return Ok(document) };
    let rugs = open_rugs(read, term.id).await?;
    let papers = RugPaper::load_all(read, reader, rugs, Some(term.id)).await?;
    let mut rows = Vec::new();
    let mut comes = 0;
    for enrolled in read.enrolled(term.id).await? {
        comes += 1;
        let own: Vec<&RugPaper> =
            papers.iter().filter(|paper| paper.rug.weaver_id == enrolled.person_id).collect();
        if own.is_empty() {
            rows.push(line(&enrolled.name, "", "no rug to make".into(), String::new()));
        }
        for (at, paper) in own.iter().enumerate() {
            let frame = paper.rug.frame_tag.as_deref().unwrap_or("none");
            // Of several rugs the name stands once.
            let name = if at == 0 { enrolled.name.as_str() } else { "" };
            rows.push(line(name, frame, next_step(paper), cloth(paper, reader)));
        }
    }
    let weavers = if comes == 1 { "1 weaver is".to_owned() } else { format!("{comes} weavers are") };
    document.blocks.push(Block::Text(format!("{weavers} expected.")));
    document.blocks.push(Block::Table(Table {
        name: "Who comes, and what is next for them".into(),
        columns: vec![
            Column::words("Weaver"),
            Column::words("Frame"),
            Column::words("Next"),
            Column::words("Cloth"),
            Column::room("Here", 9.0),
        ],
        rows,
        high: 7.0,
    }));
    Ok(document)
}

fn line(name: &str, frame: &str, next: String, cloth: String) -> Vec<Cell> {
    let here = if name.is_empty() { Cell::ROOM } else { Cell::Tick };
    vec![isolated(name).into(), isolated(frame).into(), next.into(), cloth.into(), here]
}

/// How many steps stand on the sheet: the one at hand, and what comes after it.
const STEPS: usize = 2;

/// What is next for a rug: the first things on its calendar, and where it is now.
fn next_step(paper: &RugPaper) -> String {
    let name = isolated(&paper.rug.fields.name);
    let progress = &paper.known.status.progress;
    let place = if progress.began {
        format!(", row {} of {}", progress.rows, progress.rows_in_all)
    } else {
        String::new()
    };
    let next: Vec<&str> =
        paper.calendar.entries.iter().flat_map(|entry| &entry.what).take(STEPS).map(String::as_str).collect();
    if next.is_empty() {
        return format!("{name}{place}: nothing is left to do");
    }
    let step = guide::named(guide::at_hand(&paper.rug, &paper.known, progress.rows));
    format!("{name}{place}: {}. {step}", next.join(", then "))
}

/// What may run out, and what waits on the shelf to be pulled.
fn cloth(paper: &RugPaper, reader: &Reader) -> String {
    let colours = paper.colours();
    let short = paper.known.status.sufficiency.iter().filter(|told| told.short()).map(|told| {
        format!("{} {}", isolated(&colours[usize::from(told.colour)].to_lowercase()), lasts(told.chance))
    });
    let pull = paper.promises.iter().filter(|promise| promise.is_open()).map(|promise| {
        let part =
            if promise.part.warp { "warp".into() } else { isolated(&promise.bundle_colour.to_lowercase()) };
        format!("pull {} of {part} from {}", promise.promised_mg.show(reader.units), promise.tag)
    });
    let all: Vec<String> = short.chain(pull).collect();
    if all.is_empty() { "enough".into() } else { all.join("; ") }
}

/// How many meetings stand side by side on one table.
const MOST_MEETINGS: usize = 14;
/// Lines for those who come and aren't on the list.
const SPARE: usize = 3;

/// A term's meetings across, its weavers down, boxes to tick.
pub async fn attendance(read: &mut Read, reader: &Reader, id: TermId) -> Result<Document> {
    let term = read.term(id).await?.ok_or(Error::NotFound("term"))?;
    let (meetings, weavers) = (read.meetings(id).await?, read.enrolled(id).await?);
    let mut document =
        reader.document("Attendance", isolated(&term.name), &format!("/terms/{id}"), "the term’s page");
    document.across = true;
    if meetings.is_empty() {
        document.blocks.push(Block::Text("The term has no meetings yet: add them on its page.".into()));
    }
    // A class of some twenty stays on one page.
    let high = if weavers.len() + SPARE > 20 { 5.2 } else { 6.6 };
    // Parts of about one length, so that no table has a single column.
    let parts = meetings.len().div_ceil(MOST_MEETINGS).max(1);
    for part in meetings.chunks(meetings.len().div_ceil(parts).max(1)) {
        let head = |meeting: &Meeting| {
            let off = if meeting.called_off { " called off" } else { "" };
            Column::room(&format!("{}{off}", dates::short_day(meeting.on_day.0)), 15.0)
        };
        let columns = std::iter::once(Column::words("Weaver")).chain(part.iter().map(head)).collect();
        let cells = |name: String| {
            let boxes = part.iter().map(|m| if m.called_off { "–".into() } else { Cell::Tick });
            std::iter::once(name.into()).chain(boxes).collect::<Vec<Cell>>()
        };
        let names = weavers.iter().map(|weaver| isolated(&weaver.name));
        let spare = std::iter::repeat_n(String::new(), SPARE);
        document.blocks.push(Block::Table(Table {
            name: "Weavers down, meetings across".into(),
            columns,
            rows: names.chain(spare).map(cells).collect(),
            high,
        }));
    }
    Ok(document)
}

/// How many lines stay blank under so many that are filled in: three at least, and as many as fill the page. The first page has room for
/// twelve on A4 and Letter, each other for fourteen.
fn blank_lines(filled: usize) -> usize {
    const FIRST: usize = 12;
    const OTHER: usize = 14;
    let least = filled + 3;
    let more = least.saturating_sub(FIRST).div_ceil(OTHER);
    FIRST + OTHER * more - filled
}

/// A sheet to log on by hand: the term's rugs on frames with where they stand, and room for what else is woven.
pub async fn log_sheet(read: &mut Read, reader: &Reader, id: TermId) -> Result<Document> {
    let term = read.term(id).await?.ok_or(Error::NotFound("term"))?;
    let rugs = open_rugs(read, id).await?;
    let papers = RugPaper::load_all(read, reader, rugs, Some(id)).await?;
    let mut document =
        reader.document("Log sheet", isolated(&term.name), &format!("/terms/{id}"), "the term’s page");
    document.across = true;
    document.blocks.push(Block::Text(
        "For an evening without power. One line a rug: rows, or the length woven, counted for this evening alone, and the \
         minutes at the frame. Weigh the balls that are left, a colour each. Type the lines in afterwards on each rug’s \
         page, then keep this sheet with the term."
            .into(),
    ));
    let woven: Vec<&RugPaper> = papers.iter().filter(|paper| paper.rug.state == RugState::Weaving).collect();
    let row = |paper: &&RugPaper| {
        let progress = &paper.known.status.progress;
        let at = format!("{} of {}", progress.rows, progress.rows_in_all);
        let who = format!("{}: {}", isolated(&paper.rug.weaver), isolated(&paper.rug.fields.name));
        let frame = isolated(paper.rug.frame_tag.as_deref().unwrap_or(""));
        [who.into(), frame.into(), at.into()].into_iter().chain(std::iter::repeat_n(Cell::ROOM, 5)).collect()
    };
    let mut rows: Vec<Vec<Cell>> = woven.iter().map(row).collect();
    rows.extend(std::iter::repeat_n(vec![Cell::ROOM; 8], blank_lines(rows.len())));
    document.blocks.push(Block::Table(Table {
        name: "What was woven".into(),
        columns: vec![
            Column::words("Weaver and rug"),
            Column::words("Frame"),
            Column::words("At row"),
            Column::room("Day", 18.0),
            Column::room("Rows woven", 22.0),
            Column::room("Length woven", 24.0),
            Column::room("Minutes", 18.0),
            Column::room("Balls left: colour, weight", 60.0),
        ],
        rows,
        high: 10.0,
    }));
    Ok(document)
}
