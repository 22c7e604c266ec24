//! Calendar feeds by secret link: a weaver's meetings with what is to be done at each, and when their frame is due; for
//! staff the meetings of all terms and every frame that is out. What a feed looks like is `calendar`'s.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use jiff::tz::TimeZone;
use std::collections::{BTreeMap, HashMap};

use crate::calendar::{self, Event, Told, When, feed};
use crate::drawing::qr;
use crate::secrets;
use crate::services::learning::Learning;
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::plan_of;
use crate::store::auth::Visitor;
use crate::store::calendar::{DatedLoan, DatedMeeting};
use crate::store::people::Role;
use crate::store::{Actor, MeetingId, Read};
use crate::units::dates::{self, WallClock};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/calendar/{token}", Who::Anyone, show), post("/me/calendar", Who::SignedIn, make_link)]
}

const ENDING: &str = ".ics";

#[derive(askama::Template, WebTemplate)]
#[template(path = "calendar/link.html")]
struct CalendarLinkPage {
    layout: Layout,
    link: String,
    /// The same for programs that subscribe when they are handed such an address.
    subscribe: String,
    qr: String,
}

/// Makes a new calendar link and shows it this once: only its hash is kept, so it can't be shown again.
async fn make_link(State(app): State<App>, me: CurrentUser) -> Result<CalendarLinkPage> {
    let secret = secrets::secret();
    let mut tx = app.write(&me).await?;
    tx.replace_calendar_link(me.id(), &secrets::secret_hash(&secret)).await?;
    tx.commit().await?;
    let link = format!("{}/calendar/{secret}{ENDING}", me.origin);
    let subscribe = link.split_once("://").map_or_else(String::new, |(_, rest)| format!("webcal://{rest}"));
    Ok(CalendarLinkPage { layout: me.layout(), qr: qr::svg(&link)?, link, subscribe })
}

const WHAT: Error = Error::NotFound("calendar; its link may have been replaced");

async fn show(
    State(app): State<App>,
    mut read: Read,
    Path(file): Path<String>,
    headers: HeaderMap,
) -> Result<Response> {
    let token = file.strip_suffix(ENDING).ok_or(WHAT)?;
    let owner = read.calendar_owner(&secrets::secret_hash(token)).await?.ok_or(WHAT)?;
    let mut events = events(&app, &mut read, &owner).await?;
    revise(&app, read, &owner, &mut events).await?;
    let text = feed(&format!("{}: {}", owner.workroom, owner.name), &events);
    // Calendars ask again and again; what hasn't changed needs no second telling.
    let mark = format!("\"{}\"", secrets::secret_hash(&text));
    let known = headers.get(header::IF_NONE_MATCH).is_some_and(|seen| seen.as_bytes() == mark.as_bytes());
    let headers = [
        (header::ETAG, mark),
        (header::CACHE_CONTROL, "private, no-cache".to_owned()),
        (header::CONTENT_TYPE, "text/calendar; charset=utf-8".to_owned()),
    ];
    Ok(if known {
        (StatusCode::NOT_MODIFIED, headers).into_response()
    } else {
        (headers, text).into_response()
    })
}

/// Lets the entries that are other than this calendar was told last say so. A reader that asks again and again is mostly told
/// the same, and nothing is written then.
async fn revise(app: &App, mut read: Read, owner: &Visitor, events: &mut [Event]) -> Result<()> {
    let parsed = |text: &str| serde_json::from_str::<BTreeMap<String, Told>>(text).unwrap_or_default();
    let now = app.clock.now();
    let mut told = parsed(&read.calendar_told(owner.person_id).await?);
    drop(read);
    let mut looked_at = events.to_vec();
    if !calendar::revise(&mut looked_at, &mut told, now) {
        events.clone_from_slice(&looked_at);
        return Ok(());
    }
    let mut tx = app.store.write(Actor { person: Some(owner.person_id), at: now }).await?;
    // Asked again under a lock: another reader of the same feed may have been told meanwhile.
    let Some(told) = tx.lock_calendar_told(owner.person_id).await? else { return Err(WHAT) };
    let mut told = parsed(&told);
    calendar::revise(events, &mut told, now);
    let entries = serde_json::to_string(&told).map_err(|e| Error::Internal(e.to_string()))?;
    tx.keep_calendar_told(owner.person_id, entries).await?;
    Ok(tx.commit().await?)
}

async fn events(app: &App, read: &mut Read, owner: &Visitor) -> Result<Vec<Event>> {
    let wall = owner.wall();
    let own = (owner.role == Role::Weaver).then_some(owner.person_id);
    let meetings = read.dated_meetings(own).await?;
    let loans = read.dated_loans(own).await?;
    let to_do = if own.is_some() { to_do(app, read, owner).await? } else { HashMap::new() };
    let none = Vec::new();
    let told = meetings.iter().filter_map(|one| {
        let lines = to_do.get(&one.id).unwrap_or(&none);
        meeting(one, lines, &wall.zone)
    });
    Ok(told.chain(loans.iter().map(|one| due(one, own.is_some(), &wall))).collect())
}

/// What a weaver has to do by the end of each meeting, and at home after it, line by line.
async fn to_do(app: &App, read: &mut Read, owner: &Visitor) -> Result<HashMap<MeetingId, Vec<String>>> {
    let (zone, units) = (owner.zone(), owner.units());
    let rugs = read.rugs(Some(owner.person_id), None).await?;
    let log = read.logs().await?;
    let learning = Learning::load(read).await?;
    let terms = read.running_terms().await?;
    let mut lines: HashMap<MeetingId, Vec<String>> = HashMap::new();
    for rug in rugs.iter().filter(|rug| rug.state.is_open()) {
        let Some(term) = terms.iter().find(|term| Some(term.id) == rug.fields.term_id) else { continue };
        let own: Vec<_> = log.iter().filter(|entry| entry.rug_id == rug.id).cloned().collect();
        let known = plan_of(rug, &learning, &own, units)?;
        for entry in Calendar::of(rug, &known, &term.meetings, app.clock.now(), &zone, units).entries {
            let Some((meeting, home)) = entry.at else { continue };
            let home = if home { "At home afterwards, " } else { "" };
            let line = format!("{home}{}: {}", rug.fields.name, entry.what.join("; "));
            lines.entry(meeting).or_default().push(line);
        }
    }
    Ok(lines)
}

/// Nothing for a time that the workroom's clock doesn't have.
fn meeting(one: &DatedMeeting, lines: &[String], zone: &TimeZone) -> Option<Event> {
    let (start, end) = dates::stretch(one.on_day.0.to_datetime(one.starts_at.0), one.minutes, zone)?;
    Some(Event {
        uid: format!("meeting-{}@thrumhall", one.id),
        sequence: u32::try_from(one.revision - 1).unwrap_or(0),
        changed: one.changed_at.0,
        when: When::Between(start, end),
        title: if one.called_off { format!("Called off: {}", one.term) } else { one.term.clone() },
        text: if one.called_off { String::new() } else { lines.join("\n") },
        cancelled: one.called_off,
    })
}

fn due(loan: &DatedLoan, own: bool, wall: &WallClock) -> Event {
    let whose = if own { loan.rug.clone() } else { format!("{}, {}", loan.weaver, loan.rug) };
    Event {
        uid: format!("loan-{}@thrumhall", loan.id),
        sequence: 0,
        changed: loan.handed_out_at.0,
        when: When::Day(loan.due_on.0),
        title: format!("Frame {} is due back ({whose})", loan.frame_tag),
        text: format!("Handed out {}.", dates::moment(loan.handed_out_at, wall)),
        cancelled: false,
    }
}
