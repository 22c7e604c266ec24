//! The record: who changed what, when; to read, and to take away as a table.
mod sentence;

use askama_web::WebTemplate;
use axum::extract::Query;
use axum::response::Response;

use crate::store::audit_log::Change;
use crate::store::{ChangeId, EntityKind, Read};
use crate::units::dates::{self, WallClock};
use crate::web::http::download::csv_file;
use crate::web::http::route::{Route, Who, get};
use crate::web::{CurrentUser, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/record", Who::Instructor, list), get("/record.csv", Who::Instructor, table)]
}

/// Who changed a thing last, for "changed by …".
pub(in crate::web) async fn last_by(read: &mut Read, entity: EntityKind, id: &str) -> Result<String> {
    let lines = read.audit_log_of(entity, id).await?;
    Ok(lines.into_iter().next().and_then(|line| line.who).unwrap_or_else(|| "somebody".into()))
}

/// One line of a thing's own history, in words.
pub(in crate::web) struct Told {
    /// When.
    pub when: String,
    /// Who.
    pub who: String,
    /// What was done.
    pub act: String,
    /// The details; of a change, those that became different.
    pub what: String,
}

/// A thing's history, newest first, from the lines of the record about it.
pub(in crate::web) fn history(changes: &[Change], wall: &WallClock) -> Vec<Told> {
    let mut known = serde_json::Map::new();
    let mut told: Vec<Told> = changes.iter().rev().map(|change| tell(change, &mut known, wall)).collect();
    told.reverse();
    told
}

fn tell(change: &Change, known: &mut serde_json::Map<String, serde_json::Value>, wall: &WallClock) -> Told {
    let detail = serde_json::from_str::<serde_json::Map<_, _>>(&change.detail).unwrap_or_default();
    let mut parts = Vec::new();
    for (name, value) in detail {
        let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
        let as_before = change.act == "changed" && known.get(&name) == Some(&value);
        match text.as_str() {
            _ if as_before => {}
            "" if known.contains_key(&name) => parts.push(format!("no {name}")),
            "" => {}
            text => parts.push(format!("{name} {text}")),
        }
        known.insert(name, value);
    }
    Told {
        when: dates::moment(change.at, wall),
        who: change.who.clone().unwrap_or_else(|| "the program".into()),
        act: change.act.clone(),
        what: parts.join("; "),
    }
}

const PAGE: i64 = 100;

#[derive(serde::Deserialize)]
struct From {
    before: Option<ChangeId>,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "audit_log/list.html")]
struct ListPage {
    layout: Layout,
    lines: Vec<Line>,
    older: Option<ChangeId>,
}

struct Line {
    when: String,
    who: String,
    did: String,
    particulars: String,
}

async fn list(me: CurrentUser, mut read: Read, Query(from): Query<From>) -> Result<ListPage> {
    let changes = read.audit_log_before(from.before, PAGE).await?;
    let older = (changes.len() as i64 == PAGE).then(|| changes.last().map(|line| line.change.id)).flatten();
    let lines = changes
        .into_iter()
        .map(|line| {
            let (did, particulars) = sentence::of(&line, me.units());
            let when = dates::moment(line.change.at, &me.wall());
            let who = line.change.who.unwrap_or_else(|| "The program".into());
            Line { when, who, did, particulars }
        })
        .collect();
    Ok(ListPage { layout: me.layout(), lines, older })
}

async fn table(me: CurrentUser, mut read: Read) -> Result<Response> {
    let changes = read.audit_log().await?;
    let head = ["when", "who", "what", "which", "did", "particulars"];
    let rows = changes.into_iter().map(|c| {
        let when = dates::stamp(c.at, &me.zone());
        [when, c.who.unwrap_or_default(), c.entity.to_string(), c.entity_id, c.act, c.detail]
    });
    csv_file("record.csv", &head, rows)
}
