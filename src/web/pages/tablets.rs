//! Tablets at the scale: an instructor opens one for an evening, volunteers tap their names on it, and it ends by itself or by any
//! instructor. What is weighed in on one is in [`super::cloth`].
use askama_web::WebTemplate;
use axum::extract::State;
use axum::http::Uri;
use axum::response::Response;
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan as _};

use super::cloth::reading::mark;
use crate::store::auth::tablets::MOST_HOURS;
use crate::store::{Actor, Read, TabletId};
use crate::units::dates::{self, WallClock};
use crate::web::http::answer::{done, invalid};
use crate::web::http::asking::AtTablet;
use crate::web::http::auth::entering::{Visit, leave_tablet, open_tablet_for};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::page;
use crate::web::http::paths::NAMES;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/tablets", Who::Instructor, list),
        post("/tablets", Who::Instructor, open),
        post("/tablets/{id}/end", Who::Instructor, end),
        get(NAMES, Who::Tablet, names),
        post("/cloth/weigh-in/names/end", Who::Tablet, end_here),
    ]
}

/// An open tablet, in words.
pub(super) struct TabletLine {
    pub id: TabletId,
    pub opened_by: String,
    pub since: String,
    pub used: String,
    pub until: String,
}

/// The tablets that are open.
pub(super) async fn open_now(app: &App, read: &mut Read, wall: &WallClock) -> Result<Vec<TabletLine>> {
    let open = read.open_tablets(app.clock.now()).await?;
    let line = |one: crate::store::auth::tablets::OpenTablet| TabletLine {
        id: one.id,
        opened_by: one.opened_by,
        since: dates::moment(one.opened_at, wall),
        used: dates::moment(one.used_at, wall),
        until: dates::moment(one.ends_at, wall),
    };
    Ok(open.into_iter().map(line).collect())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "tablets/list.html")]
struct TabletsPage {
    layout: Layout,
    form: Form,
    open: Vec<TabletLine>,
    /// How many names there are to tap.
    names: usize,
}

impl TabletsPage {
    async fn load(app: &App, read: &mut Read, me: &CurrentUser, form: Form) -> Result<Self> {
        let open = open_now(app, read, &me.wall()).await?;
        Ok(Self { layout: me.layout(), form, open, names: read.volunteers().await?.len() })
    }
}

/// An evening at the scale, if nobody says otherwise.
const USUAL_HOURS: i64 = 4;

async fn list(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<TabletsPage> {
    let usual = app.clock.now().saturating_add(USUAL_HOURS.hours()).unwrap_or(Timestamp::MAX);
    let usual = dates::time_typed(usual.to_zoned_datetime(me.zone()).time());
    let form = Form::blank(me.units()).with("until", usual);
    TabletsPage::load(&app, &mut read, &me, form).await
}

/// When an evening ends that is to last until this time of day: the next time that it is.
fn read_end(form: &mut Form, now: Timestamp, zone: &TimeZone) -> Option<Timestamp> {
    let until = form.time("until", "The end")?;
    let today = now.to_zoned_datetime(zone.clone()).date();
    let end = [today, today.tomorrow().unwrap_or(today)]
        .into_iter()
        .filter_map(|day| zone.to_zoned_datetime(day.to_datetime(until)).ok())
        .map(|end| end.timestamp())
        .find(|end| *end > now);
    let latest = now.saturating_add(MOST_HOURS.hours()).unwrap_or(now);
    let end = end.filter(|end| *end <= latest);
    if end.is_none() {
        form.add_error(
            "until",
            format!("A tablet is open for {MOST_HOURS} hours at most: choose an earlier end."),
        );
    }
    end
}

/// Makes this device the scale's: the session of who opens it ends here.
async fn open(State(app): State<App>, me: CurrentUser, visit: Visit, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let mut tx = app.write(&me).await?;
    let end = read_end(&mut form, app.clock.now(), &me.zone());
    if tx.volunteers().await?.is_empty() {
        form.add_error("", "Nobody’s name could be tapped: add a volunteer among the people first.");
    }
    let Some(end) = end.filter(|_| form.is_ok()) else {
        return Ok(invalid(TabletsPage::load(&app, &mut tx, &me, form).await?));
    };
    open_tablet_for(&app, tx, &visit, me.id(), end, &format!("{NAMES}?said=tablet-opened")).await
}

async fn end(State(app): State<App>, me: CurrentUser, Id(id): Id<TabletId>) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    if !tx.end_tablet(id).await? {
        return Err(TabletId::none());
    }
    done(tx, "/tablets?said=tablet-ended").await
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "tablets/names.html")]
struct NamesPage {
    layout: Layout,
    names: Vec<NameToTap>,
    until: String,
    /// Seconds until it ends by itself.
    left: i64,
}

/// A volunteer who may weigh in.
struct NameToTap {
    id: String,
    /// Whose weigh-ins wait on a device, as a mark that tells nothing.
    who: String,
    name: String,
}

async fn names(
    State(app): State<App>,
    AtTablet(tablet): AtTablet,
    mut read: Read,
    uri: Uri,
) -> Result<NamesPage> {
    let workroom = read.workroom().await?.ok_or(Error::NotFound("workroom"))?;
    let names = read.volunteers().await?.into_iter().map(|one| NameToTap {
        id: one.id.to_string(),
        who: mark(one.id),
        name: one.name,
    });
    let ends = tablet.ends_at.0;
    Ok(NamesPage {
        layout: Layout::at_tablet(&workroom.name, page::flash(uri.query())),
        names: names.collect(),
        until: dates::moment(ends, &workroom.wall()),
        left: ends.as_second() - app.clock.now().as_second(),
    })
}

/// Ends the tablet from itself: whoever stands before it may, since it only takes something away.
async fn end_here(State(app): State<App>, AtTablet(tablet): AtTablet) -> Result<Response> {
    let mut tx = app.store.write(Actor { person: None, at: app.clock.now() }).await?;
    tx.end_tablet(tablet.id).await?;
    tx.commit().await?;
    Ok(leave_tablet(&app, "/sign-in?said=tablet-ended"))
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use jiff::tz::TimeZone;

    use super::read_end;
    use crate::units::Units;
    use crate::web::Form;

    #[test]
    fn an_evening_ends_at_the_next_such_time_within_twelve_hours() {
        // 19:30 on a Wednesday in Los Angeles.
        let now: Timestamp = "2026-10-01T02:30:00Z".parse().unwrap();
        let zone = TimeZone::get("America/Los_Angeles").unwrap();
        for (until, ends) in [
            ("22:00", Some("2026-10-01T05:00:00Z")),
            ("00:15", Some("2026-10-01T07:15:00Z")),
            ("07:30", Some("2026-10-01T14:30:00Z")),
            ("07:31", None),
            ("19:30", None),
            ("25:00", None),
            ("", None),
        ] {
            let mut form = Form::blank(Units::Metric).with("until", until);
            let ends = ends.map(|at| at.parse().unwrap());
            assert_eq!(read_end(&mut form, now, &zone), ends, "{until}");
            assert_eq!(form.error("until").is_none(), ends.is_some(), "{until}");
        }
    }
}
