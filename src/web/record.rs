//! The record: who changed what, when; to read, and to take away as a table.
use askama_web::WebTemplate;
use axum::extract::{Query, State};
use axum::response::Response;

use super::route::{Route, Who, get};
use super::{App, Me, Result, Shell};
use crate::store::record::Change;
use crate::store::{ChangeId, Noun};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/record", Who::Instructor, list), get("/record.csv", Who::Instructor, table)]
}

/// Who changed a thing last, for "changed by …".
pub(super) async fn last_by(app: &App, noun: Noun, id: &str) -> Result<String> {
    let lines = app.store.read().await?.record_of(noun, id).await?;
    Ok(lines.into_iter().next().and_then(|line| line.who).unwrap_or_else(|| "somebody".into()))
}

const PAGE: i64 = 100;

#[derive(serde::Deserialize)]
struct From {
    before: Option<ChangeId>,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "record/list.html")]
struct ListPage {
    shell: Shell,
    lines: Vec<Line>,
    older: Option<ChangeId>,
}

struct Line {
    when: String,
    change: Change,
}

async fn list(State(app): State<App>, me: Me, Query(from): Query<From>) -> Result<ListPage> {
    let changes = app.store.read().await?.record_before(from.before, PAGE).await?;
    let older = (changes.len() as i64 == PAGE).then(|| changes.last().map(|line| line.id)).flatten();
    let lines = changes
        .into_iter()
        .map(|change| Line { when: super::show::moment(change.at, &me.zone()), change })
        .collect();
    Ok(ListPage { shell: me.shell(), lines, older })
}

async fn table(State(app): State<App>, me: Me) -> Result<Response> {
    let changes = app.store.read().await?.record_before(None, i64::MAX).await?;
    let head = ["when", "who", "what", "which", "did", "particulars"];
    let rows = changes.into_iter().map(|c| {
        let when = super::show::stamp(c.at, &me.zone());
        [when, c.who.unwrap_or_default(), c.noun.to_string(), c.noun_id, c.act, c.detail]
    });
    super::show::csv_file("record.csv", &head, rows)
}
