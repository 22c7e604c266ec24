//! Who is here: ticked on Today, or on a meeting's own page, before, during or after it.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::services::attendance::Attendance;
use crate::store::terms::{Enrolled, Meeting, Term};
use crate::store::{MeetingId, PersonId, Read, TermId};
use crate::units::dates::{self, Hours};
use crate::web::http::answer::done;
use crate::web::http::id::{Id, PathId as _};
use crate::web::{App, CurrentUser, FormData, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "today/attendance.html")]
pub(super) struct AttendancePage {
    layout: Layout,
    term: Term,
    meeting: Meeting,
    enrolled: Vec<Enrolled>,
    attendance: Attendance,
    instructor: bool,
    hours: Hours,
}

impl AttendancePage {
    fn day(&self) -> String {
        format!(
            "{}, {}",
            dates::day(self.meeting.on_day.0),
            dates::time(self.meeting.starts_at.0, self.hours)
        )
    }
}

pub(super) async fn page(me: CurrentUser, mut read: Read, Id(id): Id<MeetingId>) -> Result<AttendancePage> {
    let meeting = read.meeting(id).await?.ok_or_else(MeetingId::none)?;
    Ok(AttendancePage {
        layout: me.layout(),
        term: read.term(meeting.term_id).await?.ok_or_else(TermId::none)?,
        enrolled: read.enrolled(meeting.term_id).await?,
        attendance: Attendance::load(&mut read, meeting.term_id).await?,
        instructor: me.is_instructor(),
        hours: me.wall().hours,
        meeting,
    })
}

/// Keeps the ticks of those who stood on the page; who was enrolled meanwhile stays as they are.
pub(super) async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<MeetingId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let to = match form.value("back") {
        "today" => "/today?said=roll".to_owned(),
        _ => format!("/meetings/{id}/attendance?said=roll"),
    };
    let people = |name| form.values(name).filter_map(|id| id.parse().ok()).collect::<Vec<PersonId>>();
    let (here, shown) = (people("here"), people("shown"));
    let not_here: Vec<PersonId> = shown.into_iter().filter(|one| !here.contains(one)).collect();
    let mut tx = app.write(&me).await?;
    tx.meeting(id).await?.ok_or_else(MeetingId::none)?;
    tx.take_roll(id, &here, &not_here).await?;
    done(tx, &to).await
}
