//! Tags for bundles and frames, on label sheets of the user's own measures.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Response};

use super::{App, CurrentUser, Form, Layout, Print, QueryData, Result, file};
use crate::pdf::{Grid, Label, Labels, Size};
use crate::services::paper_data::{bundle_labels, frame_labels};
use crate::store::Read;
use crate::store::cloth::bundles::BundleState;
use crate::units::{Length, Units};
use crate::web::http::answer::invalid;

/// What is tagged.
#[derive(Clone, Copy, PartialEq, Eq)]
enum What {
    Bundles,
    Frames,
}

impl What {
    const fn path(self) -> &'static str {
        match self {
            Self::Bundles => "/cloth/tags",
            Self::Frames => "/frames/tags",
        }
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "papers/tags.html")]
struct TagsPage {
    layout: Layout,
    form: Form,
    what: What,
}

impl TagsPage {
    fn bundles(&self) -> bool {
        self.what == What::Bundles
    }

    fn path(&self) -> &'static str {
        self.what.path()
    }
}

/// Plain paper, cut into equal parts.
fn blank(units: Units, size: Size) -> Form {
    let plain = Grid::plain(size, 3, 7);
    let length = |mm: f64| {
        // To a step that a ruler shows.
        let step = if units == Units::Inches { 25.4 / 16.0 } else { 0.5 };
        Length::millimetres((mm / step).floor() * step).exact(units)
    };
    Form::blank(units)
        .with("size", size)
        .with("across", plain.across)
        .with("down", plain.down)
        .with("wide", length(plain.wide))
        .with("high", length(plain.high))
        .with("left", length(plain.left + 0.01))
        .with("top", length(plain.top + 0.01))
        .with("between", length(0.0))
        .with("below", length(0.0))
        .with("skip", 0)
        .with("edges", "yes")
        .with("state", "all")
}

/// Reads the sheet's measures.
fn read_grid(form: &mut Form, size: Size) -> Option<Grid> {
    let across = form.count("across", "The number of labels side by side", 1..=12);
    let down = form.count("down", "The number of labels below each other", 1..=30);
    let mm = Length::millimetres;
    let mut length = |name: &str, most: f64| form.length(name, Length::ZERO, mm(most)).map(Length::mm);
    let (wide, high) = (length("wide", 300.0), length("high", 300.0));
    let (left, top) = (length("left", 100.0), length("top", 100.0));
    let (between, below) = (length("between", 100.0), length("below", 100.0));
    let grid = Grid {
        across: u32::try_from(across?).ok()?,
        down: u32::try_from(down?).ok()?,
        wide: wide?,
        high: high?,
        left: left?,
        top: top?,
        between: between?,
        below: below?,
    };
    if let Some((field, why)) = grid.wrong(size) {
        form.add_error(field, why);
        return None;
    }
    Some(grid)
}

fn page(me: &CurrentUser, what: What, form: Form) -> TagsPage {
    TagsPage { layout: me.layout(), form, what }
}

/// The page with its form, filled in with what was asked in the address.
fn asked_page(me: &CurrentUser, what: What, asked: QueryData) -> TagsPage {
    let size = Print::in_form(None, me.units()).size;
    let mut form = blank(me.units(), size);
    if let Some(asked) = asked.form_of(me) {
        for name in ["from", "to", "tag"] {
            form.set(name, asked.value(name));
        }
    }
    page(me, what, form)
}

pub(super) async fn bundles(me: CurrentUser, asked: QueryData) -> Response {
    asked_page(&me, What::Bundles, asked).into_response()
}

pub(super) async fn frames(me: CurrentUser, asked: QueryData) -> Response {
    asked_page(&me, What::Frames, asked).into_response()
}

/// The file of these labels, or the page again with what is wrong.
async fn answer(
    app: &App,
    me: &CurrentUser,
    what: What,
    mut form: Form,
    labels: Vec<Label>,
) -> Result<Response> {
    let size = Print::in_form(Some(&form), me.units()).size;
    let grid = read_grid(&mut form, size);
    let skip = form.count("skip", "The number of labels that are gone", 0..=360);
    if labels.is_empty() {
        let field = if what == What::Bundles { "from" } else { "tag" };
        form.add_error(field, "Nothing of this is there to be tagged.");
    }
    let (Some(grid), Some(skip), true) = (grid, skip, form.is_ok()) else {
        return Ok(invalid(page(me, what, form)));
    };
    let title = if what == What::Bundles { "Bundle tags" } else { "Frame tags" };
    let pdf = format!("{}.pdf?{}", what.path(), form.serialize(&["size", "anyway"]));
    let print = Print::in_form(Some(&form), me.units());
    if let Some(page) = print.warning(me, &Label::said(&labels), None, &pdf) {
        return Ok(page);
    }
    let (skip, edges) = (u32::try_from(skip).unwrap_or(0), form.ticked("edges"));
    let draw = move || Labels { title, labels: &labels, grid, skip, edges }.pdf(size);
    Ok(file(title, app.search(me.id(), draw).await??))
}

/// The most bundles tagged at once.
const MOST: usize = 1000;

fn form_of(me: &CurrentUser, asked: QueryData) -> Form {
    asked.form_of(me).unwrap_or_else(|| blank(me.units(), Print::in_form(None, me.units()).size))
}

pub(super) async fn bundles_pdf(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    asked: QueryData,
) -> Result<Response> {
    let mut form = form_of(&me, asked);
    let state = form.value("state").parse::<BundleState>().ok();
    let mut number = |name: &'static str, what: &str| {
        form.optional(name, None, |form| form.count(name, what, 1..=i64::from(u32::MAX)).map(Some))
    };
    let (Some(from), Some(to)) = (number("from", "The first tag"), number("to", "The last tag")) else {
        return Ok(invalid(page(&me, What::Bundles, form)));
    };
    let labels = bundle_labels(&mut read, &me.reader(&app), state, (from, to)).await?;
    if labels.len() > MOST {
        form.add_error(
            "from",
            format!("These are {} tags; at most {MOST} can be printed at once.", labels.len()),
        );
    }
    drop(read);
    answer(&app, &me, What::Bundles, form, labels).await
}

pub(super) async fn frames_pdf(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    asked: QueryData,
) -> Result<Response> {
    let form = form_of(&me, asked);
    let tag = form.value("tag").trim().to_owned();
    let tag = Some(tag.as_str()).filter(|tag| !tag.is_empty());
    let labels = frame_labels(&mut read, &me.reader(&app), tag).await?;
    drop(read);
    answer(&app, &me, What::Frames, form, labels).await
}
