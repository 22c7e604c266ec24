//! Planning a new rug, changing one, and saying how far it is.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::{IntoResponse as _, Redirect, Response};

use super::board::{self, Shelf};
use super::choices::{Choices, choices, known_term, whose};
use super::compare;
use super::preview::{Known, Preview};
use super::typed;
use crate::planning::cloth::Kind;
use crate::planning::frame::size_words;
use crate::services::learning::Learning;
use crate::store::people::Role;
use crate::store::rugs::noted::ClassPattern;
use crate::store::rugs::{Rug, RugState};
use crate::store::{self, EntityKind, PersonId, Read, RugId, Write};
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::pages::audit_log::last_by;
use crate::web::pages::sizes;
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The choice of a size that no frame here has.
const OTHER_SIZE: &str = "other";

/// Set where a form is to begin with a plain rug of what there is most of.
const BEGINS: &str = "begins";

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/edit.html")]
pub(super) struct RugEditPage {
    layout: Layout,
    form: Form,
    /// The rug that is changed; `None` for a new one.
    rug: Option<RugId>,
    /// (value, words) of each choice.
    sizes: Vec<(String, String)>,
    /// The words of the size that is chosen.
    frame: String,
    terms: Vec<(String, String)>,
    weavers: Vec<(String, String)>,
    kinds: Vec<(&'static str, &'static str)>,
    colours: Vec<(String, String)>,
    bands: Vec<usize>,
    /// Rugs that a new one can start from.
    patterns: Vec<ClassPattern>,
    /// Whether it can be kept as a pattern of the class at once.
    patterns_kept: bool,
    back: String,
    preview: Result<Preview, String>,
    /// The variant that was set aside to compare with, where one was.
    held: Option<Result<Preview, String>>,
}

fn band_wrong(form: &Form, n: &usize) -> bool {
    ["height", "first", "other", "strip", "chart", "right", "up"]
        .iter()
        .any(|part| form.error(&format!("band-{n}-{part}")).is_some())
}

/// Whether a band's chart is shown at once: where there is one, or what is wrong with it.
fn chart_open(form: &Form, n: &usize) -> bool {
    ["chart", "right", "up"].iter().any(|part| {
        let name = format!("band-{n}-{part}");
        !form.is_empty(&name) || form.error(&name).is_some()
    })
}

/// Whether the warp is wound otherwise than usual, or so typed that it can't be read.
fn winding_open(form: &Form) -> bool {
    let usual = [("doubled", ""), ("every", "1"), ("extra_wraps", "0"), ("left_out", "")];
    usual.iter().any(|(name, usual)| {
        !(form.is_empty(name) || form.value(name) == *usual) || form.error(name).is_some()
    })
}

fn sample_open(form: &Form) -> bool {
    any_filled(form, ["sample_length", "sample_rows", "sample_mass"])
}

fn yarn_open(form: &Form) -> bool {
    any_filled(form, ["warp_yarn_length", "warp_yarn_mass", "warp_yarn_thickness"])
}

/// Whether the bands are told in figures at once: where one of them is wrong, and where no board shows them.
fn bands_open(form: &Form, preview: &Result<Preview, String>) -> bool {
    !preview.as_ref().is_ok_and(|preview| preview.board.is_some())
        || form.ticked("more")
        || (1..=typed::MOST_BANDS).any(|n| band_wrong(form, &n))
}

/// Whether the frame is shown at once: where none of the class's sizes is chosen, or what is wrong with it.
fn frame_open(form: &Form) -> bool {
    form.value("size") == OTHER_SIZE
        || any_wrong(form, &["size", "width", "span", "nails", "pitch", "woven_width"])
        || any_wrong(form, &["far_nails", "set_off", "near_places", "far_places"])
        || any_wrong(form, &["doubled", "every", "extra_wraps", "left_out"])
}

fn cloth_open(form: &Form) -> bool {
    any_wrong(form, &["warp_kind", "weft_kind", "strip_width", "warp_strip"]) || yarn_wrong(form)
}

fn yarn_wrong(form: &Form) -> bool {
    any_wrong(form, &["warp_yarn_length", "warp_yarn_mass", "warp_yarn_thickness"])
}

fn finish_open(form: &Form) -> bool {
    any_wrong(form, &["fringe", "backing", "unit_size", "rugs_before", "home_minutes"])
}

fn any_wrong(form: &Form, names: &[&str]) -> bool {
    names.iter().any(|name| form.error(name).is_some())
}

fn any_filled(form: &Form, names: [&str; 3]) -> bool {
    names.iter().any(|name| !form.is_empty(name) || form.error(name).is_some())
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
    let mut sizes: Vec<(String, String)> = choices
        .sizes
        .iter()
        .map(|s| {
            let frames = if s.frames == 1 { "1 frame".to_owned() } else { format!("{} frames", s.frames) };
            let rows =
                sizes::rows_said(&s.nail_rows, units).map_or(String::new(), |rows| format!(", {rows}"));
            let words = format!("{}{rows} ({frames})", size_words(s.width_nm, s.span_nm, s.nails, units));
            (typed::size_word(s), words)
        })
        .collect();
    sizes.push((OTHER_SIZE.to_owned(), "another size".to_owned()));
    let frame = sizes.iter().find(|(word, _)| *word == form.value("size"));
    let frame = frame.map_or_else(String::new, |(_, words)| words.clone());
    // Whose figures the preview takes: the rug's weaver's, the chosen one's, one's own.
    let weaver = match rug {
        Some(rug) => Some(rug.weaver_id),
        None if me.is_staff() => form.value("weaver").parse().ok(),
        None => Some(me.id()),
    };
    let measured = rug.map_or(&[][..], |rug| &rug.measured);
    let rug = rug.map(|rug| rug.id);
    let shelf = Shelf::load(read).await?;
    if form.ticked(BEGINS) {
        form.set(BEGINS, "");
        if let Some(size) = choices.sizes.first() {
            shelf.begin(&mut form, size.span_nm);
        }
    }
    let held = compare::held(&form);
    let known = Known { sizes: &choices.sizes, learning: &learning, weaver, rug, cloth: measured };
    Ok(RugEditPage {
        layout: me.layout(),
        rug,
        sizes,
        frame,
        terms: choices.term_words(),
        weavers: choices.weaver_words(),
        kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
        colours: typed::colour_choices(&form),
        bands: (1..=typed::rows(&form)).collect(),
        patterns: if rug.is_none() { read.patterns().await? } else { Vec::new() },
        // Beside another variant there is no room for the board.
        preview: Preview::of(&form, known, "now", Some(&shelf).filter(|_| held.is_none())),
        held: held.map(|held| Preview::of(&held, known, "held", None)),
        patterns_kept: me.role() == Role::Instructor,
        back: rug.map_or("/".to_owned(), |id| format!("/rugs/{id}")),
        form,
    })
}

#[derive(serde::Deserialize)]
pub(super) struct NewQuery {
    weaver: Option<PersonId>,
    /// The rug that this one starts from.
    copy: Option<RugId>,
}

pub(super) async fn new(
    me: CurrentUser,
    mut read: Read,
    Query(query): Query<NewQuery>,
) -> Result<RugEditPage> {
    let choices = choices(&mut read, &me).await?;
    let mut form = match query.copy {
        Some(id) => copied(&mut read, &me, id).await?,
        None => typed::blank(me.units()),
    };
    if let Some(weaver) = query.weaver {
        form.set("weaver", weaver);
    }
    if let Some(term) = choices.terms.first() {
        form.set("term", term.id);
    }
    if let Some(s) = choices.sizes.first().filter(|_| query.copy.is_none()) {
        form.set("size", typed::size_word(s));
        form.set(BEGINS, "yes");
    }
    page(&mut read, &me, &choices, form, None).await
}

/// The form as another rug was planned, one's own or a pattern of the class: its frame, cloth and bands, and nothing of its weaver.
async fn copied(read: &mut Read, me: &CurrentUser, id: RugId) -> Result<Form> {
    let rug = read.rug(id).await?.filter(|rug| me.may_see(rug.weaver_id) || rug.pattern);
    let rug = rug.ok_or_else(RugId::none)?;
    let mut form = typed::fill(&rug.fields, &rug.bands, 0, me.units());
    for own in ["sample_length", "sample_rows", "sample_mass", "home_minutes", "rugs_before", "revision"] {
        form.set(own, typed::blank(me.units()).value(own));
    }
    Ok(form)
}

/// "More bands", "See what it needs" and the comparing of variants give the page back as it was typed, and keep nothing.
fn only_looks(form: &mut Form) -> bool {
    compare::act(form) || board::acts::act(form) || form.ticked("more") || form.ticked("look")
}

/// The most rugs of one person that may be neither finished nor given up: far more than anybody weaves, and few enough that
/// nobody fills the workroom's lists.
pub(super) const MOST_OPEN: i64 = 100;

/// What is said of a rug too many.
pub(super) fn too_many_open() -> String {
    format!(
        "This weaver has {MOST_OPEN} rugs that are neither finished nor given up, which are the most. Finish or give up one first."
    )
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
    if tx.open_rugs(weaver).await? >= MOST_OPEN {
        form.add_error("", too_many_open());
        return Ok(invalid(page(&mut tx, &me, &choices, form, None).await?));
    }
    tx.add_rug(id, weaver, &fields, &bands).await?;
    as_pattern(&mut tx, &me, &form, id).await?;
    done(tx, &to).await
}

/// Makes the rug a pattern of the class too, where an instructor kept it as one.
async fn as_pattern(tx: &mut Write, me: &CurrentUser, form: &Form, id: RugId) -> Result<()> {
    if me.role() == Role::Instructor && form.ticked("pattern") {
        tx.set_pattern(id, true).await?;
    }
    Ok(())
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
        Ok(()) => {
            as_pattern(&mut tx, &me, &form, id).await?;
            done(tx, &format!("/rugs/{id}?said=saved")).await
        }
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
    ("warp_strip", "The warp’s strip width"),
    ("warp_yarn_length", "A ball’s length of the warp yarn"),
    ("warp_yarn_mass", "A ball’s weight of the warp yarn"),
    ("warp_yarn_thickness", "The warp yarn’s thickness"),
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
        let parts = [
            ("height", "height"),
            ("first", "first strand"),
            ("other", "other strand"),
            ("chart", "chart"),
            ("right", "chart’s way to the right"),
            ("up", "chart’s way up"),
        ];
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
