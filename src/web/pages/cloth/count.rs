//! The stocktake: begun for a part of the shelf, counted blind tag by tag by as many as like, closed with a reason for each
//! difference.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::Response;

use super::{App, CurrentUser, Form, FormData, Layout, Result, reading};
use crate::planning::cloth::Kind;
use crate::planning::colour::Family;
use crate::store::cloth::ledger::Weighing;
use crate::store::cloth::stocktakes::{Counted, Difference, Stocktake};
use crate::store::{self, BundleId, Read, StocktakeId};
use crate::units::dates;
use crate::units::{Mass, Units};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};

/// Why scale and ledger differ, in plain words: they become the entry's note.
const REASONS: [(&str, &str); 5] = [
    ("wrong", "weighed wrong before"),
    ("taken", "taken without a note"),
    ("dried", "lint and drying"),
    ("mixed", "mixed up with another bundle"),
    ("gone", "not found"),
];
/// How many earlier stocktakes are listed.
const EARLIER: i64 = 12;

fn what(one: &Stocktake) -> String {
    match (one.kind, one.family) {
        (Some(kind), _) => kind.facts().title.to_owned(),
        (None, Some(family)) => family.title().to_owned(),
        (None, None) => "The whole shelf".to_owned(),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/counts.html")]
pub(super) struct CountsPage {
    layout: Layout,
    form: Form,
    kinds: Vec<(&'static str, &'static str)>,
    families: Vec<(&'static str, &'static str)>,
    /// Each with what it counts and when it was begun.
    stocktakes: Vec<(Stocktake, String, String)>,
}

impl CountsPage {
    async fn load(read: &mut Read, me: &CurrentUser, form: Form) -> Result<Self> {
        let all = read.stocktakes(EARLIER).await?;
        let wall = me.wall();
        Ok(Self {
            layout: me.layout(),
            form,
            kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
            families: Family::ALL.iter().map(|family| (family.key(), family.title())).collect(),
            stocktakes: all
                .into_iter()
                .map(|one| (one.clone(), what(&one), dates::moment(one.begun_at, &wall)))
                .collect(),
        })
    }
}

pub(super) async fn counts(me: CurrentUser, mut read: Read) -> Result<CountsPage> {
    CountsPage::load(&mut read, &me, Form::blank(me.units())).await
}

pub(super) async fn begin(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let kind = form.optional("kind", None, |form| form.choice::<Kind>("kind", "a kind of cloth").map(Some));
    let family = form.optional("family", None, |form| form.choice::<Family>("family", "a colour").map(Some));
    let (Some(kind), Some(family), true) = (kind, family, form.is_ok()) else {
        return Ok(invalid(CountsPage::load(&mut tx, &me, form).await?));
    };
    let id = StocktakeId::new();
    let to = format!("/cloth/count/{id}");
    tx.idempotent(form.key, &to).await?;
    tx.begin_stocktake(id, kind, family).await?;
    done(tx, &to).await
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/count.html")]
pub(super) struct CountPage {
    layout: Layout,
    form: Form,
    stocktake: Stocktake,
    what: String,
    lines: Vec<Counted>,
    /// The bundle on the scale; nothing when all are counted.
    now: Option<Counted>,
}

impl CountPage {
    fn done(&self) -> usize {
        self.lines.iter().filter(|line| line.at.is_some()).count()
    }

    async fn load(
        read: &mut Read,
        me: &CurrentUser,
        id: StocktakeId,
        bundle: Option<&str>,
        form: Form,
    ) -> Result<Self> {
        let stocktake = read.stocktake(id).await?.ok_or_else(StocktakeId::none)?;
        let lines = read.counted(id).await?;
        let wanted = bundle.and_then(|id| lines.iter().find(|line| line.bundle_id.to_string() == id));
        let now = wanted.or_else(|| lines.iter().find(|line| line.at.is_none())).cloned();
        Ok(Self { layout: me.layout(), what: what(&stocktake), form, stocktake, lines, now })
    }
}

#[derive(serde::Deserialize)]
pub(super) struct CountQuery {
    bundle: Option<String>,
}

pub(super) async fn count(
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<StocktakeId>,
    Query(query): Query<CountQuery>,
) -> Result<CountPage> {
    let form = Form::blank(me.units());
    CountPage::load(&mut read, &me, id, query.bundle.as_deref(), form).await
}

pub(super) async fn line(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<StocktakeId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let bundle: BundleId = form.value("bundle").parse().map_err(|_| BundleId::none())?;
    let mut tx = app.write(&me).await?;
    let weighing = if form.value("found") == "no" {
        Some(None)
    } else {
        reading::weighing(&mut form, "", true).map(Some)
    };
    let Some(weighing) = weighing else {
        let wanted = bundle.to_string();
        return Ok(invalid(CountPage::load(&mut tx, &me, id, Some(&wanted), form).await?));
    };
    if !tx.count_line(id, bundle, weighing.as_ref()).await? {
        return Err(store::Error::Stale.into());
    }
    done(tx, &format!("/cloth/count/{id}?said=line")).await
}

/// A bundle at which scale and ledger differ.
struct Differs {
    line: Counted,
    difference: Mass,
    /// The name of its field.
    field: String,
    shown: String,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/count_close.html")]
pub(super) struct CountClosePage {
    layout: Layout,
    form: Form,
    stocktake: Stocktake,
    what: String,
    differs: Vec<Differs>,
    agree: usize,
    uncounted: usize,
    sum: Mass,
    units: Units,
}

impl CountClosePage {
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn reasons(&self) -> &'static [(&'static str, &'static str)] {
        &REASONS
    }

    async fn load(read: &mut Read, me: &CurrentUser, id: StocktakeId, form: Option<Form>) -> Result<Self> {
        let stocktake = read.stocktake(id).await?.ok_or_else(StocktakeId::none)?;
        let doubt = read.workroom().await?.map_or(Mass::ZERO, |workroom| workroom.scale_mg);
        let lines = read.counted(id).await?;
        let units = me.units();
        let uncounted = lines.iter().filter(|line| line.at.is_none()).count();
        let counted = lines.len() - uncounted;
        let differs: Vec<Differs> =
            lines.into_iter().filter_map(|line| differing(line, doubt, units)).collect();
        let form = form.unwrap_or_else(|| {
            // What wasn't found is gone; the other reasons are for people to choose.
            let gone = differs.iter().filter(|one| one.line.net_mg.is_none());
            gone.fold(Form::blank(units), |form, one| form.with(&one.field, "gone"))
        });
        Ok(Self {
            layout: me.layout(),
            form,
            what: what(&stocktake),
            stocktake,
            agree: counted - differs.len(),
            uncounted,
            sum: differs.iter().map(|one| one.difference).sum(),
            differs,
            units,
        })
    }
}

/// Nothing where scale and ledger agree as nearly as the scale can tell.
fn differing(line: Counted, doubt: Mass, units: Units) -> Option<Differs> {
    let difference = line.difference()?;
    let told = if line.net_mg.is_some() { doubt } else { Mass::ZERO };
    (difference.abs() > told).then(|| Differs {
        field: format!("reason-{}", line.tag),
        shown: format!("{}{}", if difference > Mass::ZERO { "+" } else { "" }, difference.show(units)),
        difference,
        line,
    })
}

pub(super) async fn closing(
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<StocktakeId>,
) -> Result<CountClosePage> {
    CountClosePage::load(&mut read, &me, id, None).await
}

pub(super) async fn close(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<StocktakeId>,
    posted: FormData,
) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    tx.lock_stocktake(id).await?;
    let page = CountClosePage::load(&mut tx, &me, id, None).await?;
    let mut differences = Vec::new();
    for one in &page.differs {
        let reason = REASONS.iter().find(|(word, _)| *word == form.value(&one.field));
        let Some((_, reason)) = reason else {
            form.add_error(&one.field, format!("Choose why bundle {} differs.", one.line.tag));
            continue;
        };
        differences.push(Difference {
            bundle: one.line.bundle_id,
            change: one.difference,
            weighing: Weighing {
                typed: one.line.typed.clone().unwrap_or_default(),
                gross: one.line.net_mg.unwrap_or(Mass::ZERO) + one.line.tare_mg.unwrap_or(Mass::ZERO),
                tare: one.line.tare_mg.unwrap_or(Mass::ZERO),
            },
            reason: format!("stocktake: {reason}"),
        });
    }
    if !form.is_ok() {
        return Ok(invalid(CountClosePage { form, ..page }));
    }
    let to = "/cloth/count?said=closed";
    tx.idempotent(form.key, to).await?;
    if !tx.close_stocktake(id, &differences).await? {
        return Err(store::Error::Stale.into());
    }
    done(tx, to).await
}
