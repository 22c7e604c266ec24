//! The station at the scale: one form, made for the next bundle as soon as the last is in.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::Response;
use jiff::ToSpan as _;

use super::{App, CurrentUser, Form, FormData, Layout, Result, columns, reading};
use crate::planning::cloth::Kind;
use crate::planning::colour::{Hex, NAMED};
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::ledger::WeighIn;
use crate::store::{BundleId, Instant, Read, RequestKey};
use crate::units::{Mass, Units};
use crate::web::http::answer::{done, invalid};

/// How far back "this evening" reaches: past midnight, not to the evening before.
const EVENING_HOURS: i64 = 10;

/// Which bundle the page comes back from.
#[derive(Default, serde::Deserialize)]
pub(super) struct After {
    done: Option<String>,
    undone: Option<String>,
    /// The next is of the same cloth as this.
    like: Option<String>,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/weigh_in.html")]
pub(super) struct StationPage {
    layout: Layout,
    form: Form,
    done: Option<WeighIn>,
    evening: Vec<WeighIn>,
    kinds: Vec<(&'static str, &'static str)>,
    colours: Vec<(&'static str, &'static str, Hex)>,
    seconds: Vec<(&'static str, &'static str)>,
    units: Units,
    undo_key: RequestKey,
    /// Where cloth came from before.
    sources: Vec<String>,
}

impl StationPage {
    fn new(me: &CurrentUser, form: Form, (evening, sources): Evening, done: Option<WeighIn>) -> Self {
        let own = Hex::parse(form.value("own_hex")).unwrap_or(Hex::rgb(0x0080_8080));
        let listed = NAMED.iter().map(|colour| (colour.key, colour.name, colour.hex));
        Self {
            layout: me.layout(),
            done,
            evening,
            kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
            colours: listed.chain([(reading::OWN, "Another", own)]).collect(),
            seconds: named_or_own(),
            units: me.units(),
            undo_key: RequestKey::new(),
            sources,
            form,
        }
    }

    fn total(&self) -> String {
        let kept = self.evening.iter().filter(|one| !one.undone);
        kept.map(|one| one.change_mg).sum::<Mass>().show(self.units)
    }

    fn bundles(&self) -> usize {
        self.evening.iter().filter(|one| !one.undone).count()
    }

    fn under_the_number(&self, one: &WeighIn) -> String {
        let (kind, weight) = (one.kind.facts().title, one.change_mg.show(self.units));
        let second = one.second().map_or_else(String::new, |(name, _)| format!(" and {name}"));
        format!("{kind}: {}{second}, {weight}, {}", one.colour_name, one.state.title())
    }
}

fn named_or_own() -> Vec<(&'static str, &'static str)> {
    let listed = NAMED.iter().map(|named| (named.key, named.name));
    listed.chain([(reading::OWN, "Another, given beside it")]).collect()
}

/// What was weighed in this evening, and where cloth came from before.
type Evening = (Vec<WeighIn>, Vec<String>);

async fn evening(app: &App, read: &mut Read, me: &CurrentUser) -> Result<Evening> {
    let now = app.clock.now();
    let since = Instant(now.saturating_sub(EVENING_HOURS.hours()).unwrap_or(now));
    Ok((read.weighed_in_by(me.id(), since).await?, read.sources().await?))
}

/// The form for the next bundle of the same heap.
fn next(one: &WeighIn, units: Units) -> Form {
    let form = Form::blank(units)
        .with("kind", one.kind.key())
        .with("washed", if one.state == BundleState::Arrived { "no" } else { "yes" })
        .with("source", &one.source);
    if one.tare_mg > Mass::ZERO { form.with("tare", one.tare_mg.exact(units)) } else { form }
}

/// The form for another bundle of the same cloth: all but its weight is filled in.
fn alike(one: &WeighIn, units: Units) -> Form {
    let mut form = next(one, units);
    fill(&mut form, ["colour", "own_name", "own_hex"], &one.colour_name, one.colour_hex);
    if let Some((name, hex)) = one.second() {
        fill(&mut form, ["second", "second_name", "second_hex"], name, hex);
    }
    form
}

/// Fills in a colour: one of the list, or another with its own name and look.
fn fill(form: &mut Form, [choice, own_name, own_hex]: [&str; 3], name: &str, hex: Hex) {
    if let Some(named) = NAMED.iter().find(|named| named.name == name && named.hex == hex) {
        form.set(choice, named.key);
    } else {
        form.set(choice, reading::OWN);
        form.set(own_hex, hex);
        form.set(own_name, name);
    }
}

/// The form as it was typed for a bundle that was then undone.
fn again(one: &WeighIn, units: Units) -> Form {
    let mut form = alike(one, units).with("weight", &one.typed).with("note", &one.note);
    if let Some(sheets) = one.sheets {
        form.set("sheets", sheets);
    }
    if let (Some(length), Some(width)) = (one.sheet_length_nm, one.sheet_width_nm) {
        form.set("sheet_length", length.exact(units));
        form.set("sheet_width", width.exact(units));
    }
    form
}

pub(super) async fn station(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Query(after): Query<After>,
) -> Result<StationPage> {
    let evening = evening(&app, &mut read, &me).await?;
    let named = |id: Option<String>| {
        let id: BundleId = id?.parse().ok()?;
        evening.0.iter().find(|one| one.bundle_id == id).cloned()
    };
    let done = named(after.done).filter(|one| !one.undone);
    let units = me.units();
    let form = match (named(after.like), &done, named(after.undone)) {
        (Some(like), ..) => alike(&like, units),
        (None, Some(done), _) => next(done, units),
        (None, None, Some(undone)) => again(&undone, units),
        (None, None, None) => Form::blank(units),
    };
    Ok(StationPage::new(&me, form, evening, done))
}

pub(super) async fn weigh(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let fields = columns::fields(&mut form);
    let weighing = reading::weighing(&mut form, "", false);
    let (Some(fields), Some(weighing), true) = (fields, weighing, form.is_ok()) else {
        let evening = evening(&app, &mut tx, &me).await?;
        return Ok(invalid(StationPage::new(&me, form, evening, None)));
    };
    let id = BundleId::new();
    let to = format!("/cloth/weigh-in?done={id}");
    tx.idempotent(form.key, &to).await?;
    tx.weigh_in(id, form.key, &fields, &weighing).await?;
    done(tx, &to).await
}
