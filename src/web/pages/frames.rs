//! Frames: the inventory, each frame's page, adding, changing, retiring. Handing out and taking back are in `loans`.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::Response;
use jiff::civil::Date;

use super::audit_log::{Told, history, last_by};
use super::loans::{InLine, next_in_line};
use super::sizes::{read_sizes, rows_said, rows_typed};
use crate::planning::rods::least_length;
use crate::store::frames::{Condition, Frame, FrameFields};
use crate::store::loans::Loan;
use crate::store::rods::Rod;
use crate::store::{self, EntityKind, FrameId, Read};
use crate::units::dates::{day, moment, short_day};
use crate::units::{Length, Units};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::download::csv_file;
use crate::web::http::form::NOTE;
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::part::{Part, PartQuery};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, QueryData, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/frames", Who::Staff, list).kept(),
        get("/frames.csv", Who::Staff, table),
        get("/frames/new", Who::Instructor, new),
        post("/frames", Who::Instructor, add),
        get("/frames/{id}", Who::Staff, show).kept(),
        get("/frames/{id}/edit", Who::Instructor, edit),
        post("/frames/{id}", Who::Instructor, save),
        post("/frames/{id}/retire", Who::Instructor, retire),
        post("/frames/{id}/restore", Who::Instructor, restore),
    ]
}

/// The longest tag: it has to be readable on the frame.
const TAG: usize = 24;

/// Where a frame is, in few words.
struct Place {
    /// How it stands out: good, warn, bad, plain.
    tone: &'static str,
    badge: &'static str,
    /// The day that matters, after the badge.
    day: String,
    word: &'static str,
}

impl Place {
    fn of(frame: &Frame, today: Date) -> Self {
        let day = |before: &str| frame.due_on.map(|due| format!("{before} {}", short_day(due.0)));
        let (tone, badge, day, word) = match frame.due_on {
            Some(due) if due.0 < today => ("bad", "Overdue", day("since"), "overdue"),
            Some(_) => ("warn", "Out", day("until"), "out"),
            None if frame.retired => ("plain", "Retired", None, "retired"),
            None if frame.fields.condition == Condition::Broken => ("bad", "In, broken", None, "in"),
            None => ("good", "In", None, "in"),
        };
        Self { tone, badge, day: day.unwrap_or_default(), word }
    }
}

/// A frame's pitch in words.
fn pitch(f: &FrameFields, units: Units) -> String {
    f.pitch_nm.map_or_else(|| "spread evenly".into(), |pitch| pitch.show(units))
}

struct Row {
    frame: Frame,
    place: Place,
    pitch: String,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "frames/list.html")]
struct ListPage {
    layout: Layout,
    lead: String,
    rows: Vec<Row>,
    none_at_all: bool,
    instructor: bool,
    units: Units,
    filter: Form,
    part: Part,
}

#[derive(serde::Deserialize)]
struct Filter {
    #[serde(default)]
    place: String,
    #[serde(default)]
    condition: String,
    #[serde(flatten)]
    part: PartQuery,
}

/// Frames on one page.
const PAGE: i64 = 100;

async fn list(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Query(filter): Query<Filter>,
) -> Result<ListPage> {
    let frames = read.frames().await?;
    let (none_at_all, today) = (frames.is_empty(), me.today(&app));
    let rows: Vec<Row> = frames
        .into_iter()
        .map(|frame| Row { place: Place::of(&frame, today), pitch: pitch(&frame.fields, me.units()), frame })
        .collect();
    let count = |word: &str| rows.iter().filter(|row| row.place.word == word).count();
    let (inside, late) = (count("in"), count("overdue"));
    let lead = match (count("out") + late, late) {
        (out, 0) => format!("{inside} here, {out} out."),
        (out, late) => format!("{inside} here, {out} out, {late} of them overdue."),
    };
    let words = filter.part.text().trim().to_lowercase();
    let named = |name: &str| name.to_lowercase().contains(&words);
    let wanted = |row: &Row| {
        let place = match filter.place.as_str() {
            "" => row.place.word != "retired",
            "out" => row.frame.loan_id.is_some(),
            word => row.place.word == word,
        };
        place
            && (filter.condition.is_empty() || row.frame.fields.condition.word() == filter.condition)
            && (words.is_empty()
                || named(&row.frame.fields.tag)
                || row.frame.weaver.as_deref().is_some_and(named))
    };
    let mut rows: Vec<Row> = rows.into_iter().filter(wanted).collect();
    let (from, most) = filter.part.rows(PAGE);
    rows.drain(..rows.len().min(usize::try_from(from).unwrap_or(usize::MAX)));
    rows.truncate(usize::try_from(most).unwrap_or(usize::MAX));
    let more = [("place", filter.place.as_str()), ("condition", filter.condition.as_str())];
    let part = filter.part.part_of(("/frames", &more), PAGE, &mut rows, me.units());
    let filter = Form::blank(me.units()).with("place", &filter.place).with("condition", &filter.condition);
    let page = ListPage {
        layout: me.layout(),
        lead,
        rows,
        none_at_all,
        instructor: me.is_instructor(),
        units: me.units(),
        filter,
        part,
    };
    Ok(page)
}

async fn table(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<Response> {
    let frames = read.frames().await?;
    let (units, today) = (me.units(), me.today(&app));
    let head =
        ["tag", "span", "width", "nails per end", "pitch", "condition", "where", "with", "due", "note"];
    let rows = frames.into_iter().map(|frame| {
        let f = &frame.fields;
        [
            f.tag.clone(),
            f.span_nm.exact(units),
            f.width_nm.exact(units),
            f.nails.to_string(),
            f.pitch_nm.map_or_else(String::new, |pitch| pitch.exact(units)),
            f.condition.to_string(),
            Place::of(&frame, today).word.to_owned(),
            frame.weaver.clone().unwrap_or_default(),
            frame.due_on.map_or_else(String::new, |due| due.0.to_string()),
            f.note.clone(),
        ]
    });
    csv_file("frames.csv", &head, rows)
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "frames/edit.html")]
struct EditPage {
    layout: Layout,
    form: Form,
    /// The tag of the frame that is changed; a new one has none.
    tag: Option<String>,
    to: String,
}

/// A new frame; its sizes may come along in the address, as from the page of a frame to build.
async fn new(me: CurrentUser, asked: QueryData) -> EditPage {
    let mut form = Form::blank(me.units()).with("condition", Condition::Sound);
    if let Some(asked) = asked.form_of(&me) {
        for name in ["span", "width", "nails", "pitch"] {
            form.set(name, asked.value(name));
        }
    }
    EditPage { layout: me.layout(), form, tag: None, to: "/frames".into() }
}

fn read_fields(form: &mut Form) -> Option<FrameFields> {
    let tag = form.text("tag", "The tag", TAG);
    let sizes = read_sizes(form);
    let condition = form.choice("condition", "its condition");
    let note = form.optional_text("note", "The note", NOTE);
    let (sizes, nail_rows) = sizes?;
    Some(FrameFields {
        tag: tag?,
        span_nm: sizes.span,
        width_nm: sizes.width,
        nails: sizes.nails.into(),
        pitch_nm: sizes.pitch,
        nail_rows,
        condition: condition?,
        note: note?,
    })
}

/// The values of a frame's fields, as its form shows them.
fn typed(f: &FrameFields, units: Units) -> Vec<(&'static str, &'static str, String)> {
    let mut typed = vec![
        ("tag", "The tag", f.tag.clone()),
        ("span", "The span", f.span_nm.exact(units)),
        ("width", "The width", f.width_nm.exact(units)),
        ("nails", "The number of nails", f.nails.to_string()),
        ("pitch", "The pitch", f.pitch_nm.map_or_else(String::new, |pitch| pitch.exact(units))),
        ("condition", "The condition", f.condition.to_string()),
        ("note", "The note", f.note.clone()),
    ];
    typed.extend(rows_typed(&f.nail_rows, units));
    typed
}

const TAG_TAKEN: &str = "Another frame has this tag, perhaps a retired one. Each frame needs its own.";

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let page = |form| EditPage { layout: me.layout(), form, tag: None, to: "/frames".into() };
    let Some(fields) = read_fields(&mut form) else { return Ok(invalid(page(form))) };
    let id = FrameId::new();
    let to = format!("/frames/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    match tx.add_frame(id, &fields).await {
        Ok(()) => done(tx, &to).await,
        Err(e) if e.violates("u_frame__tag_key") => {
            form.add_error("tag", TAG_TAKEN);
            Ok(invalid(page(form)))
        }
        Err(other) => Err(other.into()),
    }
}

async fn edit(me: CurrentUser, mut read: Read, Id(id): Id<FrameId>) -> Result<EditPage> {
    let frame = read.frame(id).await?.ok_or_else(FrameId::none)?;
    let mut form = Form::blank(me.units()).with("revision", frame.revision);
    for (name, _, value) in typed(&frame.fields, me.units()) {
        form.set(name, value);
    }
    Ok(EditPage {
        layout: me.layout(),
        form,
        to: format!("/frames/{}", frame.id),
        tag: Some(frame.fields.tag),
    })
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<FrameId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let frame = tx.frame(id).await?.ok_or_else(FrameId::none)?;
    let to = format!("/frames/{id}");
    let mut form = posted.form_of(&me);
    let page =
        |form| EditPage { layout: me.layout(), form, to: to.clone(), tag: Some(frame.fields.tag.clone()) };
    let Some(fields) = read_fields(&mut form) else { return Ok(invalid(page(form))) };
    match tx.change_frame(id, form.revision(), &fields).await {
        Ok(()) => done(tx, &format!("{to}?said=saved")).await,
        Err(e) if e.violates("u_frame__tag_key") => {
            form.add_error("tag", TAG_TAKEN);
            Ok(invalid(page(form)))
        }
        Err(store::Error::Stale) => {
            let now = tx.frame(id).await?.ok_or_else(FrameId::none)?;
            let who = last_by(&mut tx, EntityKind::Frame, &id.to_string()).await?;
            form.conflict(&who, now.revision, &typed(&now.fields, me.units()));
            Ok(conflict(page(form)))
        }
        Err(other) => Err(other.into()),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "frames/show.html")]
struct ShowPage {
    layout: Layout,
    form: Form,
    frame: Frame,
    place: Place,
    facts: Vec<(&'static str, String)>,
    loans: Vec<LoanRow>,
    next: Vec<InLine>,
    history: Vec<Told>,
    instructor: bool,
}

struct LoanRow {
    loan: Loan,
    out: String,
    back: Option<String>,
}

/// The rods to take for a span: how long, and the shortest of which two are in.
fn rods_for(span: Length, rods: &[Rod], units: Units) -> String {
    let least = least_length(span);
    match rods.iter().find(|rod| rod.length_nm >= least && rod.inside() >= 2) {
        Some(rod) => {
            format!("two of at least {}: {}, {} here", least.show(units), rod.size(units), rod.inside())
        }
        None => format!("two of at least {}: none are here", least.show(units)),
    }
}

async fn page(app: &App, me: &CurrentUser, read: &mut Read, id: FrameId, form: Form) -> Result<ShowPage> {
    let frame = read.frame(id).await?.ok_or_else(FrameId::none)?;
    let loans = read.loans_of_frame(id).await?;
    let rods = read.rods().await?;
    let changes = read.audit_log_of(EntityKind::Frame, &id.to_string()).await?;
    let line = if frame.usable() { read.rugs_in_line().await? } else { Vec::new() };
    let (units, wall) = (me.units(), me.wall());
    let f = &frame.fields;
    let mut facts = vec![
        ("Span", f.span_nm.show(units)),
        ("Width", f.width_nm.show(units)),
        ("Nails per end", f.nails.to_string()),
        ("Pitch", pitch(f, units)),
        ("Nail rows", rows_said(&f.nail_rows, units).unwrap_or_else(|| "equal, nail facing nail".into())),
        ("Condition", f.condition.to_string()),
        ("Edge rods", rods_for(f.span_nm, &rods, units)),
    ];
    if !f.note.is_empty() {
        facts.push(("Note", f.note.clone()));
    }
    let loans = loans
        .into_iter()
        .map(|loan| LoanRow {
            out: moment(loan.handed_out_at, &wall),
            back: loan.taken_back_at.map(|at| moment(at, &wall)),
            loan,
        })
        .collect();
    Ok(ShowPage {
        layout: me.layout(),
        form,
        place: Place::of(&frame, me.today(app)),
        facts,
        loans,
        next: next_in_line(&frame.fields, &line),
        history: history(&changes, &wall),
        instructor: me.is_instructor(),
        frame,
    })
}

async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<FrameId>,
) -> Result<ShowPage> {
    page(&app, &me, &mut read, id, Form::blank(me.units())).await
}

async fn retire(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<FrameId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let frame = tx.frame(id).await?.ok_or_else(FrameId::none)?;
    if tx.retire_frame(id, form.revision()).await? {
        return done(tx, &format!("/frames/{id}?said=retired")).await;
    }
    let weaver = frame.weaver.unwrap_or_default();
    let due = frame.due_on.map_or_else(String::new, |due| day(due.0));
    form.add_error(
        "",
        format!("This frame is with {weaver} until {due}. Take it back first, then retire it."),
    );
    Ok(conflict(page(&app, &me, &mut tx, id, form).await?))
}

async fn restore(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<FrameId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.frame(id).await?.ok_or_else(FrameId::none)?;
    tx.restore_frame(id, posted.form_of(&me).revision()).await?;
    done(tx, &format!("/frames/{id}?said=restored")).await
}
