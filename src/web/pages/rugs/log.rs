//! The log of a rug under way: how far it is, how long it took, what is left; in a minute's break, on a phone.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::services::row_counter::MOST_ROWS;
use crate::store::rugs::log::{LogEntry, LogFields};
use crate::store::rugs::{Colour, Rug, RugState};
use crate::store::{LogId, Read, RugId};
use crate::units::{Length, Mass, Units};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// Closer rows than threads have, and wider than a hand leaves: one of the two figures is a slip.
const ROWS_PER_INCH: std::ops::RangeInclusive<f64> = 0.5..=30.0;

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/log.html")]
pub(super) struct LogPage {
    layout: Layout,
    form: Form,
    rug: RugId,
    name: String,
    colours: Vec<Field>,
    last: Option<String>,
}

/// A colour's field of the form.
struct Field {
    name: String,
    colour: Colour,
}

fn field(i: usize) -> String {
    format!("left-{}", i + 1)
}

impl LogPage {
    pub(super) async fn of(read: &mut Read, me: &CurrentUser, rug: &Rug, form: Form) -> Result<Self> {
        let log = read.rug_log(rug.id).await?;
        let colours = rug.colours().into_iter().enumerate();
        let colours = colours.map(|(i, colour)| Field { name: field(i), colour: colour.clone() }).collect();
        Ok(Self {
            layout: me.layout(),
            form,
            rug: rug.id,
            name: rug.fields.name.clone(),
            colours,
            last: last_place(&log, me.units()),
        })
    }
}

/// What the last entry with a place said: `64 rows, 16 in`.
fn last_place(log: &[LogEntry], units: Units) -> Option<String> {
    let last = log.iter().rev().find(|entry| entry.placed())?;
    let rows = last.fields.rows.map(|rows| format!("{rows} rows"));
    let woven = last.fields.woven.map(|woven| woven.show(units));
    Some([rows, woven].into_iter().flatten().collect::<Vec<_>>().join(", "))
}

pub(super) async fn new(me: CurrentUser, mut read: Read, Id(id): Id<RugId>) -> Result<LogPage> {
    let rug = super::load(&mut read, &me, id).await?;
    LogPage::of(&mut read, &me, &rug, Form::blank(me.units())).await
}

pub(super) async fn add(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let mut form = posted.form_of(&me);
    if matches!(rug.state, RugState::Finished | RugState::GivenUp) {
        form.add_error("", closed(rug.state));
    }
    let Some(fields) = read(&mut form, &rug).filter(|_| form.is_ok()) else {
        return Ok(invalid(LogPage::of(&mut tx, &me, &rug, form).await?));
    };
    let to = format!("/rugs/{id}?said=logged#standing");
    tx.idempotent(form.key, &to).await?;
    tx.log_rug(LogId::new(), id, &fields).await?;
    done(tx, &to).await
}

/// Why nothing is logged of a rug that isn't under way.
pub(super) fn closed(state: RugState) -> String {
    format!("This rug is {state}. Say first that it is being woven again.")
}

fn read(form: &mut Form, rug: &Rug) -> Option<LogFields> {
    let units = form.units();
    let rows =
        form.optional("rows", None, |form| form.count("rows", "The number of rows", 0..=MOST_ROWS).map(Some));
    let woven =
        form.optional("woven", None, |form| form.length("woven", Length::ZERO, rug.length()).map(Some));
    let minutes =
        form.optional("minutes", None, |form| form.count("minutes", "The time worked", 1..=1440).map(Some));
    let mut left = Vec::new();
    let mut whole = true;
    for (i, colour) in rug.colours().into_iter().enumerate() {
        let name = field(i);
        // Nothing left weighs nothing in any unit.
        if form.value(&name).trim() == "0" {
            left.push((colour.clone(), Mass::ZERO));
            continue;
        }
        let most = Mass::from_grams(20_000.0);
        match form.optional(&name, None, |form| form.mass(&name, Mass::ZERO, most).map(Some)) {
            Some(Some(mass)) => left.push((colour.clone(), mass)),
            Some(None) => {}
            None => whole = false,
        }
    }
    let fields = LogFields { rows: rows?, woven: woven?, minutes: minutes?, left };
    if let (Some(rows), Some(woven)) = (fields.rows, fields.woven) {
        let per_inch = rows as f64 / woven.in_inches();
        if (rows > 0 || woven > Length::ZERO) && !ROWS_PER_INCH.contains(&per_inch) {
            let woven = woven.show(units);
            form.add_error("rows", format!("{rows} rows in {woven} can’t be: one of the two is a slip."));
            return None;
        }
    }
    if whole && fields == LogFields::default() {
        form.add_error("rows", "Give one figure at least: rows, length, minutes or a weight.");
        return None;
    }
    whole.then_some(fields)
}

pub(super) async fn undo(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    super::load(&mut tx, &me, id).await?;
    let form = posted.form_of(&me);
    let entry: LogId =
        form.value("entry").parse().map_err(|_| Error::Unreadable("it doesn’t say which entry to undo"))?;
    // Looked for beforehand: where a twin is quicker, PostgreSQL answers nothing more in this change.
    if tx.rug_log(id).await?.iter().all(|known| known.id != entry) {
        return Err(RugId::none());
    }
    let to = format!("/rugs/{id}?said=log-undone#standing");
    tx.idempotent(form.key, &to).await?;
    if tx.undo_log(LogId::new(), id, entry).await? {
        return done(tx, &to).await;
    }
    // Undone by somebody else meanwhile.
    Ok(Redirect::to(&to).into_response())
}
