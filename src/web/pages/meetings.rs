//! One term's page: its meetings, called off and on, and who is enrolled. The list of terms is in `terms`.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;
use jiff::ToSpan as _;

use super::meeting_times::{MeetingTimes, refuse_skipped};
use super::terms::from_to;
use crate::store::notices::Event;
use crate::store::terms::{Enrolled, Meeting, Term};
use crate::store::waiting::{Seat, Waiting};
use crate::store::{MeetingId, PersonId, Read, TermId};
use crate::units::dates::{self, Hours};
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Error, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms/{id}", Who::Instructor, show_term),
        post("/terms/{id}/meetings", Who::Instructor, add_meeting),
        post("/terms/{id}/enrol", Who::Instructor, enrol),
        post("/terms/{id}/withdraw", Who::Instructor, withdraw),
        post("/terms/{id}/waiting", Who::Instructor, waiting),
        post("/meetings/{id}/off", Who::Instructor, call_off),
        post("/meetings/{id}/on", Who::Instructor, call_on),
    ]
}

/// A meeting as its term's page shows it.
struct MeetingLine {
    meeting: Meeting,
    past: bool,
    hours: Hours,
}

impl MeetingLine {
    fn day(&self) -> String {
        dates::day(self.meeting.on_day.0)
    }

    fn starts(&self) -> String {
        dates::time(self.meeting.starts_at.0, self.hours)
    }

    fn act(&self) -> &'static str {
        match (self.past, self.meeting.called_off) {
            (false, false) => "Call off",
            (false, true) => "Call on again",
            (true, false) => "Did not happen",
            (true, true) => "Did happen",
        }
    }

    fn length(&self) -> String {
        dates::minutes(self.meeting.minutes as f64)
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "meetings/list.html")]
struct TermPage {
    layout: Layout,
    term: Term,
    meetings: Vec<MeetingLine>,
    /// Where the next meeting stands among them, counted from 1 as the page's loop does.
    next: usize,
    enrolled: Vec<Enrolled>,
    others: Vec<Enrolled>,
    /// Who waits for a place, the next first.
    waiting: Vec<Waiting>,
    /// Whether there is a rug whose papers can be printed.
    papers: bool,
    /// For one more meeting, and for the weavers to enrol.
    form: Form,
}

impl TermPage {
    /// How many places are free, where it takes so many.
    fn free(&self) -> Option<usize> {
        let most = usize::try_from(self.term.most?).ok()?;
        Some(most.saturating_sub(self.enrolled.len()))
    }

    /// Whether a place is free, be it that somebody waits for it.
    fn has_room(&self) -> bool {
        self.free() != Some(0)
    }

    /// Whether somebody can be enrolled without waiting.
    fn is_open(&self) -> bool {
        self.free().is_none_or(|free| free > self.waiting.len())
    }

    fn room(&self) -> String {
        match self.free() {
            None => "There is room".into(),
            Some(1) => "A place is free".into(),
            Some(free) => format!("{free} places are free"),
        }
    }

    async fn load(
        app: &App,
        me: &CurrentUser,
        read: &mut Read,
        id: TermId,
        form: Option<Form>,
    ) -> Result<Self> {
        let term = read.term(id).await?.ok_or_else(TermId::none)?;
        let (now, zone, hours) = (app.clock.now(), me.zone(), me.wall().hours);
        let line = |meeting: Meeting| {
            let past = meeting.end(&zone).is_none_or(|end| end <= now);
            MeetingLine { meeting, past, hours }
        };
        let meetings: Vec<_> = read.meetings(id).await?.into_iter().map(line).collect();
        let next = meetings.iter().position(|line| !line.past && !line.meeting.called_off);
        let form = form.unwrap_or_else(|| one_more(me, &meetings));
        Ok(Self {
            layout: me.layout(),
            term,
            next: next.map_or(0, |at| at + 1),
            meetings,
            enrolled: read.enrolled(id).await?,
            others: read.not_enrolled(id).await?,
            waiting: read.waiting(id).await?,
            papers: read.has_rugs_to_make(id).await?,
            form,
        })
    }
}

/// The form for one more meeting, filled in with the last one's time, a week on.
fn one_more(me: &CurrentUser, meetings: &[MeetingLine]) -> Form {
    let form = Form::blank(me.units());
    match meetings.last().map(|line| &line.meeting) {
        None => form,
        Some(last) => form
            .with("day", last.on_day.0.checked_add(1.week()).unwrap_or(last.on_day.0))
            .with("starts", dates::time_typed(last.starts_at.0))
            .with("minutes", last.minutes),
    }
}

async fn show_term(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
) -> Result<TermPage> {
    TermPage::load(&app, &me, &mut read, id, None).await
}

async fn add_meeting(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let mut form = posted.form_of(&me);
    let times = MeetingTimes::read(&mut form, "The day");
    if let Some(times) = &times {
        refuse_skipped(&mut form, &me.zone(), times.starts, &[times.day]);
    }
    let (Some(times), true) = (times, form.is_ok()) else {
        return Ok(invalid(TermPage::load(&app, &me, &mut tx, id, Some(form)).await?));
    };
    let to = format!("/terms/{id}?said=added");
    tx.idempotent(form.key, &to).await?;
    match tx.add_meeting(&times.meeting(id, times.day)).await {
        Ok(()) => done(tx, &to).await,
        Err(e) if e.violates("u_meeting__term_id__on_day__starts_at") => {
            form.add_error("day", "The term has a meeting on this day and at this time already.");
            // What the database refused can't read any more.
            drop(tx);
            let mut read = app.store.read().await?;
            Ok(invalid(TermPage::load(&app, &me, &mut read, id, Some(form)).await?))
        }
        Err(other) => Err(other.into()),
    }
}

async fn enrol(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let form = posted.form_of(&me);
    let chosen: Option<Vec<PersonId>> = if form.ticked("all") {
        Some(tx.not_enrolled(id).await?.into_iter().map(|one| one.person_id).collect())
    } else {
        form.values("weaver").map(|text| text.parse().ok()).collect()
    };
    let chosen = chosen.filter(|chosen| !chosen.is_empty());
    let Some(chosen) = chosen else {
        let mut page = TermPage::load(&app, &me, &mut tx, id, None).await?;
        page.form.add_error("weaver", "Tick at least one weaver.");
        return Ok(invalid(page));
    };
    let (mut enrolled, mut wait) = (0, 0);
    for weaver in chosen {
        match tx.enrol_or_wait(id, weaver).await? {
            Seat::Enrolled => enrolled += 1,
            Seat::Waiting => wait += 1,
        }
    }
    let said = match (enrolled, wait) {
        (_, 0) => "enrolled",
        (0, _) => "waits",
        (_, _) => "some-wait",
    };
    done(tx, &format!("/terms/{id}?said={said}")).await
}

/// What an instructor does with somebody who waits: gives them a place, moves them up, or takes them off the list.
async fn waiting(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let term = tx.term(id).await?.ok_or_else(TermId::none)?;
    let form = posted.form_of(&me);
    let waiting = tx.waiting(id).await?;
    let who = waiting.into_iter().find(|one| one.person_id.to_string() == form.value("person"));
    let who = who.ok_or_else(PersonId::none)?;
    let said = match form.value("do") {
        "place" if tx.give_place(id, who.person_id).await? => {
            let about = format!("place:{id}:{}:{}", who.person_id, app.clock.now().as_second());
            let event = Event::PlaceFree { term: term.name, weaver: who.name };
            tx.enqueue(&(about, event, vec![who.person_id])).await?;
            "place-given"
        }
        "place" => {
            let mut page = TermPage::load(&app, &me, &mut tx, id, None).await?;
            page.form.add_error("waiting", "The class is full: nobody can be moved up yet.");
            return Ok(invalid(page));
        }
        "up" => {
            tx.move_up(id, who.person_id).await?;
            "moved-up"
        }
        "off" => {
            tx.stop_waiting(id, who.person_id).await?;
            "waits-no-more"
        }
        _ => return Err(Error::Unreadable("it doesn’t say what to do with who waits")),
    };
    done(tx, &format!("/terms/{id}?said={said}")).await
}

async fn withdraw(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let weaver = posted.form_of(&me).value("person").parse().map_err(|_| PersonId::none())?;
    tx.withdraw(id, weaver).await?;
    done(tx, &format!("/terms/{id}?said=withdrawn")).await
}

async fn call_off(State(app): State<App>, me: CurrentUser, Id(id): Id<MeetingId>) -> Result<Response> {
    set_called_off(&app, &me, id, true).await
}

async fn call_on(State(app): State<App>, me: CurrentUser, Id(id): Id<MeetingId>) -> Result<Response> {
    set_called_off(&app, &me, id, false).await
}

async fn set_called_off(app: &App, me: &CurrentUser, id: MeetingId, off: bool) -> Result<Response> {
    let mut tx = app.write(me).await?;
    let meeting = tx.meeting(id).await?.ok_or_else(MeetingId::none)?;
    let term = tx.term(meeting.term_id).await?.ok_or_else(TermId::none)?;
    let past = meeting.end(&me.zone()).is_none_or(|end| end <= app.clock.now());
    let revision = tx.call_off(id, off).await?;
    // Of a meeting that is over nobody needs to be told: it is set right in the books.
    if let (Some(revision), false) = (revision, past) {
        let enrolled = tx.enrolled(term.id).await?;
        let (term, day, starts) = (term.name, meeting.on_day.0, meeting.starts_at.0);
        let event =
            if off { Event::CalledOff { term, day, starts } } else { Event::OnAgain { term, day, starts } };
        let people = enrolled.iter().map(|who| who.person_id).collect();
        tx.enqueue(&(format!("meeting:{id}:{revision}"), event, people)).await?;
    }
    let said = if off { "called-off" } else { "called-on" };
    done(tx, &format!("/terms/{}?said={said}", meeting.term_id)).await
}
