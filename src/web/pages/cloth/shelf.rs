//! The shelf: what cloth there is, found by words, kind, colour and state; and the same as a table to take away.
use askama_web::WebTemplate;
use axum::extract::Query;
use axum::response::Response;

use super::columns::OUT;
use super::{CurrentUser, Form, Layout, Result};
use crate::planning::cloth::Kind;
use crate::planning::colour::Family;
use crate::store::Read;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::shelf::{ShelfFilter, ShelfLine, ShelfTotal};
use crate::units::{Mass, Units};
use crate::web::http::download::csv_file;

/// Rows on one page.
const PAGE: i64 = 100;

/// What is asked of the shelf, in words.
#[derive(Default, serde::Deserialize)]
#[serde(default)]
pub(super) struct ShelfQuery {
    q: String,
    kind: String,
    colour: String,
    state: String,
    empty: String,
    page: String,
}

impl ShelfQuery {
    /// An unknown word filters nothing: links grow old.
    fn filter(&self, me: &CurrentUser) -> ShelfFilter {
        ShelfFilter {
            text: self.q.chars().take(100).collect(),
            kind: self.kind.parse().ok(),
            family: self.colour.parse().ok(),
            state: self.state.parse().ok(),
            empty: !self.empty.is_empty(),
            measured: false,
            notes: me.is_staff(),
        }
    }

    fn page(&self) -> i64 {
        self.page.parse().unwrap_or(1).clamp(1, 100_000)
    }

    fn is_narrow(&self) -> bool {
        [&self.q, &self.kind, &self.colour, &self.state].iter().any(|word| !word.is_empty())
    }

    fn form(&self, units: Units) -> Form {
        Form::blank(units)
            .with("q", &self.q)
            .with("kind", &self.kind)
            .with("colour", &self.colour)
            .with("state", &self.state)
            .with("empty", &self.empty)
    }

    /// The query that asks the same, for another page.
    fn query(&self, page: i64) -> String {
        let fields = [
            ("q", &self.q),
            ("kind", &self.kind),
            ("colour", &self.colour),
            ("state", &self.state),
            ("empty", &self.empty),
        ];
        let mut query = form_urlencoded::Serializer::new(String::new());
        query.extend_pairs(fields.into_iter().filter(|(_, value)| !value.is_empty()));
        if page > 1 {
            query.append_pair("page", &page.to_string());
        }
        query.finish()
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "cloth/shelf.html")]
#[allow(clippy::struct_excessive_bools, reason = "a page's flags are its template's questions")]
pub(super) struct ShelfPage {
    layout: Layout,
    form: Form,
    bundles: Vec<ShelfLine>,
    kinds: Vec<(&'static str, &'static str)>,
    families: Vec<(&'static str, &'static str)>,
    states: Vec<(&'static str, &'static str)>,
    sums: Vec<KindSum>,
    all: KindSum,
    narrow: bool,
    empty: bool,
    staff: bool,
    instructor: bool,
    units: Units,
    take_away: String,
    newer: Option<String>,
    older: Option<String>,
}

/// What lies there of one kind.
#[derive(Clone, Debug)]
struct KindSum {
    title: &'static str,
    bundles: i64,
    ready: Mass,
    to_wash: Mass,
}

impl KindSum {
    fn none(title: &'static str) -> Self {
        Self { title, bundles: 0, ready: Mass::ZERO, to_wash: Mass::ZERO }
    }

    fn add(&mut self, total: &ShelfTotal) {
        self.bundles += total.bundles;
        match total.state {
            BundleState::Ready => self.ready += total.balance_mg,
            BundleState::Arrived | BundleState::Washing => self.to_wash += total.balance_mg,
        }
    }
}

fn sums(totals: &[ShelfTotal]) -> (Vec<KindSum>, KindSum) {
    let mut all = KindSum::none("All");
    for total in totals {
        all.add(total);
    }
    let by_kind = Kind::ALL.into_iter().filter_map(|kind| {
        let mut sum = KindSum::none(kind.facts().title);
        for total in totals.iter().filter(|total| total.kind == kind) {
            sum.add(total);
        }
        (sum.bundles > 0).then_some(sum)
    });
    (by_kind.collect(), all)
}

pub(super) async fn shelf(
    me: CurrentUser,
    mut read: Read,
    Query(asked): Query<ShelfQuery>,
) -> Result<ShelfPage> {
    let (filter, page) = (asked.filter(&me), asked.page());
    let bundles = read.shelf(&filter, PAGE, (page - 1) * PAGE).await?;
    let (sums, all) = sums(&read.shelf_totals(&filter).await?);
    let link = |page: i64| format!("/cloth?{}", asked.query(page));
    Ok(ShelfPage {
        layout: me.layout(),
        form: asked.form(me.units()),
        kinds: Kind::ALL.iter().map(|kind| (kind.key(), kind.facts().title)).collect(),
        families: Family::ALL.iter().map(|family| (family.key(), family.title())).collect(),
        states: BundleState::ALL.iter().map(|state| (state.word(), state.title())).collect(),
        older: (page * PAGE < all.bundles).then(|| link(page + 1)),
        newer: (page > 1).then(|| link(page - 1)),
        take_away: format!("/cloth.csv?{}", asked.query(1)),
        narrow: asked.is_narrow(),
        empty: filter.empty,
        staff: me.is_staff(),
        instructor: me.is_instructor(),
        units: me.units(),
        bundles,
        sums,
        all,
    })
}

pub(super) async fn table(
    me: CurrentUser,
    mut read: Read,
    Query(asked): Query<ShelfQuery>,
) -> Result<Response> {
    let bundles = read.bundles(&asked.filter(&me), i64::MAX, 0).await?;
    let local = me.local();
    let rows = bundles.iter().map(|bundle| OUT.map(|(_, cell)| cell(bundle, &local)));
    csv_file("cloth.csv", &OUT.map(|(name, _)| name), rows)
}
