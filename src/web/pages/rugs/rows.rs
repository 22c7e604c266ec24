//! The row counter: pressed row by row on a phone, also while the network is away, on as many devices as there are.
use askama_web::WebTemplate;
use axum::Json;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use serde_json::json;

use super::log::{self, LogPage};
use crate::services::row_counter::{self, Counted, Outcome, Press, Stretch};
use crate::services::rug_plan::{self, RugPlan};
use crate::store;
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Rug, RugState};
use crate::store::{Read, RequestKey, RugId};
use crate::units::Units;
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::Id;
use crate::web::pages::cloth::reading::mark;
use crate::web::{App, CurrentUser, Error, FormData, Layout, Result};

/// The counter, as `rugs/counter.html` shows it.
pub(super) struct Counter {
    pub rug: RugId,
    pub rows: i64,
    pub from: String,
    pub in_all: u32,
    pub stretches: Vec<Stretch>,
    pub next: String,
    /// Whose presses wait on a device, as a mark that tells nothing.
    pub who: String,
    pub units: Units,
    /// Whether the page is the one that opens without a network: it knows no count of its own.
    pub offline: bool,
    pub mine: bool,
}

impl Counter {
    pub fn of(rug: &Rug, known: &RugPlan, log: &[LogEntry], me: &CurrentUser) -> Self {
        let counted = Counted::of(log, known);
        let stretches = row_counter::stretches(known);
        Self {
            rug: rug.id,
            rows: counted.rows,
            from: counted.from.map(|id| id.to_string()).unwrap_or_default(),
            in_all: known.plan.weft.rows,
            next: row_counter::next(&stretches, counted.rows),
            stretches,
            who: mark(me.id()),
            units: me.units(),
            offline: false,
            mine: me.id() == rug.weaver_id,
        }
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    pub fn key(&self) -> RequestKey {
        RequestKey::new()
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/count.html")]
pub(super) struct CountPage {
    layout: Layout,
    name: String,
    counter: Counter,
}

/// The counter by itself: what a device keeps for when the network is away. Nothing of anybody stands in it but the rug.
pub(super) async fn page(me: CurrentUser, mut read: Read, Id(id): Id<RugId>) -> Result<CountPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let (known, log) = rug_plan::load(&mut read, &rug, me.units()).await?;
    let layout = Layout { workroom: me.layout().workroom, ..Layout::bare() };
    let counter = Counter { offline: true, ..Counter::of(&rug, &known, &log, &me) };
    Ok(CountPage { layout, name: rug.fields.name, counter })
}

/// Counts, and answers a script with where it is now, a browser with the rug's page.
pub(super) async fn press(
    State(app): State<App>,
    me: CurrentUser,
    headers: HeaderMap,
    Id(id): Id<RugId>,
    posted: FormData,
) -> Result<Response> {
    let script = headers.get(header::ACCEPT).is_some_and(|kind| kind.as_bytes() == b"application/json");
    let mut tx = app.write(&me).await?;
    let rug = super::load(&mut tx, &me, id).await?;
    let mut form = posted.form_of(&me);
    if matches!(rug.state, RugState::Finished | RugState::GivenUp) {
        let words = log::closed(rug.state);
        if script {
            let counted = Counted::load(&mut tx, &rug, me.units()).await?;
            return Ok(told(StatusCode::CONFLICT, counted, &words));
        }
        form.add_error("", words);
        return Ok(invalid(LogPage::of(&mut tx, &me, &rug, form).await?));
    }
    let unreadable = || Error::Unreadable("it doesn’t say how many rows");
    let number =
        |name: &str| form.value(name).parse::<i64>().ok().filter(|n| n.abs() <= row_counter::MOST_ROWS);
    let press = if form.is_empty("to") {
        let from = match form.value("from") {
            "" => None,
            from => Some(from.parse().map_err(|_| unreadable())?),
        };
        Press::More { rows: number("more").filter(|n| *n != 0).ok_or_else(unreadable)?, from }
    } else {
        Press::To(number("to").filter(|n| *n >= 0).ok_or_else(unreadable)?)
    };
    let to = format!("/rugs/{id}#count");
    match tx.idempotent(form.key, &to).await {
        // Sent once before, from a device that didn't hear the answer.
        Err(store::Error::Repeated(_)) if script => {
            let counted = Counted::load(&mut tx, &rug, me.units()).await?;
            return Ok(told(StatusCode::OK, counted, ""));
        }
        answer => answer?,
    }
    match row_counter::press(&mut tx, &rug, me.id(), press, me.units()).await? {
        Outcome::Counted(_) if !script => done(tx, &to).await,
        Outcome::Counted(counted) => {
            tx.commit().await?;
            Ok(told(StatusCode::OK, counted, ""))
        }
        Outcome::Overtaken(counted) => {
            let words = format!("Meanwhile row {} was written down.", counted.rows);
            if script {
                return Ok(told(StatusCode::CONFLICT, counted, &words));
            }
            form.add_error("rows", format!("{words} How far is it really?"));
            Ok(invalid(LogPage::of(&mut tx, &me, &rug, form).await?))
        }
    }
}

fn told(status: StatusCode, counted: Counted, words: &str) -> Response {
    let from = counted.from.map(|id| id.to_string()).unwrap_or_default();
    (status, Json(json!({ "rows": counted.rows, "from": from, "words": words }))).into_response()
}
