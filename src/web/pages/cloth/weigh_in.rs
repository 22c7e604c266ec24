//! The station at the scale: one form, made for the next bundle as soon as the last is in.
use std::cmp::Reverse;

use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::Response;
use jiff::ToSpan as _;

use super::{App, CurrentUser, Form, FormData, Layout, Result, columns, reading};
use crate::planning::cloth::Kind;
use crate::planning::colour::{Hex, NAMED, Named};
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::ledger::{ClothOfLate, WeighIn};
use crate::store::{BundleId, Instant, Read, RequestKey};
use crate::units::{Mass, Units};
use crate::web::http::answer::{done, invalid};

/// How far back "this evening" reaches: past midnight, not to the evening before.
const EVENING_HOURS: i64 = 10;

/// So many kinds and colours are in sight at once on a phone, those that came most often of late first.
const KINDS_FIRST: usize = 6;
const COLOURS_FIRST: usize = 12;
/// So many bundles say what comes most often.
const OF_LATE: i64 = 200;

/// Which bundle the page comes back from.
#[derive(Default, serde::Deserialize)]
pub(super) struct After {
    done: Option<String>,
    undone: Option<String>,
    /// The next is of the same cloth as this.
    like: Option<String>,
    /// The page is kept on the device for when the network is away: nothing of anybody stands in it.
    offline: Option<String>,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/weigh_in.html")]
pub(super) struct StationPage {
    layout: Layout,
    form: Form,
    done: Option<WeighIn>,
    evening: Vec<WeighIn>,
    kinds: Vec<(&'static str, &'static str)>,
    more_kinds: Vec<(&'static str, &'static str)>,
    colours: Vec<(&'static str, &'static str, Hex)>,
    more_colours: Vec<(&'static str, &'static str, Hex)>,
    seconds: Vec<(&'static str, &'static str)>,
    units: Units,
    undo_key: RequestKey,
    /// Whose weigh-ins wait on a device, as a mark that tells nothing.
    who: String,
    /// Who stands there, where it is a tablet that volunteers share: their id, and their name.
    by: Option<(String, String)>,
    offline: bool,
    /// Where cloth came from before.
    sources: Vec<String>,
}

impl StationPage {
    fn new(me: &CurrentUser, form: Form, evening: Evening, done: Option<WeighIn>) -> Self {
        let Evening { weighed: evening, sources, of_late } = evening;
        let own = Hex::parse(form.value("own_hex")).unwrap_or(Hex::rgb(0x0080_8080));
        let mut kinds = Kind::ALL.to_vec();
        kinds.sort_by_key(|kind| Reverse(of_late.iter().filter(|late| late.kind == *kind).count()));
        let mut kinds: Vec<_> = kinds.iter().map(|kind| (kind.key(), kind.facts().title)).collect();
        let mut named: Vec<_> = NAMED.iter().collect();
        let same = |late: &&ClothOfLate, named: &Named| late.colour_name == named.name;
        named.sort_by_key(|named| Reverse(of_late.iter().filter(|late| same(late, named)).count()));
        let mut colours: Vec<_> = named.iter().map(|named| (named.key, named.name, named.hex)).collect();
        let (more_kinds, mut more_colours) = (kinds.split_off(KINDS_FIRST), colours.split_off(COLOURS_FIRST));
        more_colours.push((reading::OWN, "Another", own));
        Self {
            layout: me.layout(),
            done,
            evening,
            kinds,
            more_kinds,
            colours,
            more_colours,
            seconds: named_or_own(),
            units: me.units(),
            undo_key: RequestKey::new(),
            sources,
            who: reading::mark(me.id()),
            by: me.tablet().map(|_| (me.id().to_string(), me.name().to_owned())),
            offline: false,
            form,
        }
    }

    /// The page as a device keeps it for when the network is away.
    fn kept(me: &CurrentUser) -> Self {
        let at_tablet = me.tablet().is_some();
        let layout = Layout { workroom: me.layout().workroom, at_tablet, ..Layout::bare() };
        let mut page = Self::new(me, Form::blank(me.units()), Evening::default(), None);
        // At a tablet somebody else may stand by then, who is asked for their name.
        if at_tablet {
            (page.who, page.by) = (String::new(), Some((String::new(), String::new())));
        }
        Self { layout, offline: true, ..page }
    }

    /// Whether a choice is among those that are folded.
    fn folded(&self, name: &str) -> bool {
        let chosen = self.form.value(name);
        let kinds = self.more_kinds.iter().map(|kind| kind.0);
        !chosen.is_empty()
            && kinds.chain(self.more_colours.iter().map(|colour| colour.0)).any(|key| key == chosen)
    }

    /// What an address of the scale's ends in, so that a tablet stays with whose name was tapped.
    fn still(&self) -> String {
        self.by.as_ref().map_or_else(String::new, |(id, _)| format!("by={id}"))
    }

    fn total(&self) -> String {
        let kept = self.evening.iter().filter(|one| !one.undone);
        kept.map(|one| one.change_mg).sum::<Mass>().show(self.units)
    }

    fn bundles(&self) -> usize {
        self.evening.iter().filter(|one| !one.undone).count()
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn under_the_number(&self, one: &WeighIn) -> String {
        let (kind, weight) = (one.kind.facts().title, confirmed(one));
        let second = one.second().map_or_else(String::new, |(name, _)| format!(" and {name}"));
        format!("{kind}: {}{second}, {weight}, {}", one.colour_name, one.state.title())
    }
}

/// The weight of the cloth as it was typed; where a basket was taken off, in the units of what was typed.
fn confirmed(one: &WeighIn) -> String {
    if one.tare_mg == Mass::ZERO && !one.typed.is_empty() {
        return one.typed.clone();
    }
    let metric = one.typed.to_lowercase().contains(['g', 'k']);
    one.change_mg.show(if metric { Units::Metric } else { Units::Inches })
}

pub(super) fn named_or_own() -> Vec<(&'static str, &'static str)> {
    let listed = NAMED.iter().map(|named| (named.key, named.name));
    listed.chain([(reading::OWN, "Another, given beside it")]).collect()
}

/// What the page knows of cloth that came before.
#[derive(Default)]
pub(super) struct Evening {
    /// What somebody weighed in this evening.
    pub weighed: Vec<WeighIn>,
    /// Where cloth came from.
    sources: Vec<String>,
    /// What came last.
    of_late: Vec<ClothOfLate>,
}

/// What an address of the scale's ends in, so that a tablet stays with whose name was tapped.
pub(super) fn still_by(me: &CurrentUser) -> String {
    me.tablet().map_or_else(String::new, |_| format!("&by={}", me.id()))
}

/// What somebody weighed in this evening, and where cloth came from before.
pub(super) async fn evening(app: &App, read: &mut Read, me: &CurrentUser) -> Result<Evening> {
    let now = app.clock.now();
    let since = Instant(now.saturating_sub(EVENING_HOURS.hours()).unwrap_or(now));
    Ok(Evening {
        weighed: read.weighed_in_by(me.id(), since).await?,
        sources: read.sources().await?,
        of_late: read.cloth_of_late(OF_LATE).await?,
    })
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
pub(super) fn fill(form: &mut Form, [choice, own_name, own_hex]: [&str; 3], name: &str, hex: Hex) {
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
        form.set("sheet_size", if one.sheet_size_labelled { reading::LABEL } else { "" });
    }
    for (field, hem) in [("sheet_hem", one.sheet_hem_nm), ("sheet_top_hem", one.sheet_top_hem_nm)] {
        if let Some(hem) = hem {
            form.set(field, hem.exact(units));
        }
    }
    form
}

pub(super) async fn station(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Query(after): Query<After>,
) -> Result<StationPage> {
    if after.offline.is_some() {
        return Ok(StationPage::kept(&me));
    }
    let evening = evening(&app, &mut read, &me).await?;
    let named = |id: Option<String>| {
        let id: BundleId = id?.parse().ok()?;
        evening.weighed.iter().find(|one| one.bundle_id == id).cloned()
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
    let weighing = reading::boxes(&mut form);
    let (Some(fields), Some(weighing), true) = (fields, weighing, form.is_ok()) else {
        let evening = evening(&app, &mut tx, &me).await?;
        return Ok(invalid(StationPage::new(&me, form, evening, None)));
    };
    let id = BundleId::new();
    let to = format!("/cloth/weigh-in?done={id}{}", still_by(&me));
    tx.idempotent(form.key, &to).await?;
    tx.weigh_in(id, form.key, &fields, &weighing).await?;
    if let Some(tablet) = me.tablet() {
        tx.done_at_tablet(tablet, "weighed in at", id).await?;
    }
    done(tx, &to).await
}
