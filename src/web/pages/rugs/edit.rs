//! Planning a new rug, changing one, and saying how far it is.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::{IntoResponse as _, Redirect, Response};

use super::choices::{Choices, choices, known_term, whose};
use super::compare;
use super::preview::Preview;
use super::typed;
use crate::planning::cloth::Kind;
use crate::planning::frame::size_words;
use crate::services::learning::Learning;
use crate::store::rugs::{Rug, RugState};
use crate::store::{self, EntityKind, PersonId, Read, RugId};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::audit_log::last_by;
use crate::web::pages::sizes;
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The choice of a size that no frame here has.
const OTHER_SIZE: &str = "other";

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/edit.html")]
pub(super) struct RugEditPage {
    layout: Layout,
    form: Form,
    /// The rug that is changed; `None` for a new one.
    rug: Option<RugId>,
    /// (value, words) of each choice.
    sizes: Vec<(String, String)>,
    terms: Vec<(String, String)>,
    weavers: Vec<(String, String)>,
    kinds: Vec<(&'static str, &'static str)>,
    colours: Vec<(String, String)>,
    bands: Vec<usize>,
    back: String,
    preview: Result<Preview, String>,
    /// The variant that was set aside to compare with, where one was.
    held: Option<Result<Preview, String>>,
}

fn band_wrong(form: &Form, n: &usize) -> bool {
    ["height", "first", "other", "strip"].iter().any(|part| form.error(&format!("band-{n}-{part}")).is_some())
}

/// Whether the warp is wound otherwise than usual, or so typed that it can't be read.
fn winding_open(form: &Form) -> bool {
    let usual = [("doubled", ""), ("every", "1"), ("extra_wraps", "0"), ("left_out", "")];
    usual.iter().any(|(name, usual)| {
        !(form.is_empty(name) || form.value(name) == *usual) || form.error(name).is_some()
    })
}

fn sample_open(form: &Form) -> bool {
    ["sample_length", "sample_rows", "sample_mass"]
        .iter()
        .any(|name| !form.is_empty(name) || form.error(name).is_some())
}

async fn page(
    read: &mut Read,
    me: &CurrentUser,
    choices: &Choices,
    mut form: Form,
    rug: Option<&Rug>,
) -> Result<RugEditPage> {
    let units = me.units();
    let learning = Learning::load(read).await?;
    if choices.sizes.iter().all(|s| typed::size_word(s) != form.value("size")) {
        form.set("size", OTHER_SIZE);
    }
    let sizes = choices.sizes.iter().map(|s| {
        let frames = if s.frames == 1 { "1 frame".to_owned() } else { format!("{} frames", s.frames) };
        let rows = sizes::rows_said(&s.nail_rows, units).map_or(String::new(), |rows| format!(", {rows}"));
        let words = format!("{}{rows} ({frames})", size_words(s.width_nm, s.span_nm, s.nails, units));
        (typed::size_word(s), words)
    });
    // Whose figures the preview takes: the rug's weaver's, the chosen one's, one's own.
    let weaver = match rug {
        Some(rug) => Some(rug.weaver_id),
        None if me.is_staff() => form.value("weaver").parse().ok(),
        None => Some(me.id()),
    };
    let measured = rug.map_or(&[][..], |rug| &rug.measured);
    let rug = rug.map(|rug| rug.id);
    let preview = |form: &Form, id| Preview::of(form, &choices.sizes, &learning, weaver, measured, id);
    Ok(RugEditPage {
        layout: me.layout(),
        rug,
        sizes: sizes.chain([(OTHER_SIZE.to_owned(), "another size".to_owned())]).collect(),
        terms: choices.term_words(),
        weavers: choices.weaver_words(),
        kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
        colours: typed::colour_choices(&form),
        bands: (1..=typed::rows(&form)).collect(),
        preview: preview(&form, "now"),
        held: compare::held(&form).map(|held| preview(&held, "held")),
        back: rug.map_or("/".to_owned(), |id| format!("/rugs/{id}")),
        form,
    })
}

#[derive(serde::Deserialize)]
pub(super) struct NewQuery {
    weaver: Option<PersonId>,
}

pub(super) async fn new(
    me: CurrentUser,
    mut read: Read,
    Query(query): Query<NewQuery>,
) -> Result<RugEditPage> {
    let choices = choices(&mut read, &me).await?;
    let mut form = typed::blank(me.units());
    if let Some(weaver) = query.weaver {
        form.set("weaver", weaver);
    }
    if let Some(term) = choices.terms.first() {
        form.set("term", term.id);
    }
    if let Some(s) = choices.sizes.first() {
        form.set("size", typed::size_word(s));
    }
    page(&mut read, &me, &choices, form, None).await
}

/// "More bands", "See what it needs" and the comparing of variants give the page back as it was typed, and keep nothing.
fn only_looks(form: &mut Form) -> bool {
    compare::act(form) || form.ticked("more") || form.ticked("look")
}

pub(super) async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    if only_looks(&mut form) {
        let mut read = app.store.read().await?;
        let choices = choices(&mut read, &me).await?;
        return Ok(page(&mut read, &me, &choices, form, None).await?.into_response());
    }
    let mut tx = app.write(&me).await?;
    let choices = choices(&mut tx, &me).await?;
    let weaver = whose(&mut form, &me, &choices);
    let known = known_term(&mut form, &choices, None);
    let rug = typed::read(&mut form, &choices.sizes).filter(|_| known);
    let (Some(weaver), Some((fields, bands))) = (weaver, rug) else {
        return Ok(invalid(page(&mut tx, &me, &choices, form, None).await?));
    };
    let id = RugId::new();
    let to = format!("/rugs/{id}?said=added");
    tx.idempotent(form.key, &to).await?;
    tx.add_rug(id, weaver, &fields, &bands).await?;
    done(tx, &to).await
}

pub(super) async fn edit(me: CurrentUser, mut read: Read, Id(id): Id<RugId>) -> Result<RugEditPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let form = typed::fill(&rug.fields, &rug.bands, rug.revision, me.units());
    let choices = choices(&mut read, &me).await?;
    page(&mut read, &me, &choices, form, Some(&rug)).await
}

pub(super) async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    if only_looks(&mut form) {
        let mut read = app.store.read().await?;
        let rug = super::load(&mut read, &me, id).await?;
        let choices = choices(&mut read, &me).await?;
        return Ok(page(&mut read, &me, &choices, form, Some(&rug)).await?.into_response());
    }
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let choices = choices(&mut tx, &me).await?;
    let known = known_term(&mut form, &choices, rug.fields.term_id);
    let Some((fields, bands)) = typed::read(&mut form, &choices.sizes).filter(|_| known) else {
        return Ok(invalid(page(&mut tx, &me, &choices, form, Some(&rug)).await?));
    };
    match tx.change_rug(id, form.revision(), &fields, &bands).await {
        Ok(()) => done(tx, &format!("/rugs/{id}?said=saved")).await,
        Err(store::Error::Stale) => {
            changed_meanwhile(&mut tx, &mut form, id).await?;
            Ok(conflict(page(&mut tx, &me, &choices, form, Some(&rug)).await?))
        }
        Err(other) => Err(other.into()),
    }
}

/// The fields of the form and what each is called, for telling what somebody else changed.
const FIELDS: &[(&str, &str)] = &[
    ("name", "The name"),
    ("term", "The term"),
    ("size", "The frame’s size"),
    ("strip_width", "The strip width"),
    ("warp_kind", "The warp’s cloth"),
    ("weft_kind", "The weft’s cloth"),
    ("fringe", "The fringe"),
    ("backing", "The backing"),
    ("strands", "What the strands do at the rod"),
    ("unit_size", "The warp unit"),
    ("rugs_before", "Rugs before"),
    ("home_minutes", "Minutes at home"),
    ("sample_length", "The sample’s length"),
    ("sample_rows", "The sample’s rows"),
    ("sample_mass", "The sample’s weight"),
];

/// Tells in the form what somebody else changed.
async fn changed_meanwhile(read: &mut Read, form: &mut Form, id: RugId) -> Result<()> {
    let rug = read.rug(id).await?.ok_or_else(RugId::none)?;
    let who = last_by(read, EntityKind::Rug, &id.to_string()).await?;
    let now = typed::fill(&rug.fields, &rug.bands, rug.revision, form.units());
    let mut fields: Vec<(String, String)> =
        FIELDS.iter().map(|(name, label)| ((*name).to_owned(), (*label).to_owned())).collect();
    for n in 1..=typed::MOST_BANDS {
        let parts = [("height", "height"), ("first", "first strand"), ("other", "other strand")];
        fields.extend(parts.map(|(part, words)| (format!("band-{n}-{part}"), format!("Band {n}’s {words}"))));
    }
    let now: Vec<(&str, &str, String)> = fields
        .iter()
        .map(|(name, label)| (name.as_str(), label.as_str(), now.value(name).to_owned()))
        .collect();
    form.conflict(&who, rug.revision, &now);
    Ok(())
}

pub(super) async fn set_state(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let to = format!("/rugs/{id}?said=saved");
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let form = posted.form_of(&me);
    let state = form.value("state").parse::<RugState>();
    let state = state.map_err(|_| Error::Unreadable("it doesn’t say how far the rug is"))?;
    if rug.state == state {
        return Ok(Redirect::to(&to).into_response());
    }
    tx.set_rug_state(id, state).await?;
    done(tx, &to).await
}
