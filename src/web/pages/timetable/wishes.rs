//! What is wanted for each rug's turn, and who won't come to which meeting.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use crate::services::timetable::{Options, TimetableData};
use crate::store::timetable::{Absence, TurnWish};
use crate::store::{Read, TermId};
use crate::units::dates;
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// How urgent a rug's turn is, in words.
const URGENCY: [(&str, &str); 3] = [("1", "as any"), ("2", "before others"), ("3", "first of all")];

#[derive(askama::Template, WebTemplate)]
#[template(path = "timetable/turns.html")]
pub(super) struct TurnsPage {
    layout: Layout,
    form: Form,
    id: TermId,
    term: String,
    /// Each rug: its key in the form, its name, its weaver.
    rugs: Vec<(String, String, String)>,
    /// The meetings ahead, to choose from.
    meetings: Vec<(String, String)>,
    /// Each weaver: their id and name.
    weavers: Vec<(String, String)>,
    absent: Vec<(String, String)>,
}

impl TurnsPage {
    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn urgency(&self) -> &'static [(&'static str, &'static str)] {
        &URGENCY
    }

    fn is_absent(&self, weaver: &str, meeting: &str) -> bool {
        self.absent.iter().any(|(who, when)| who == weaver && when == meeting)
    }
}

async fn timetable(app: &App, me: &CurrentUser, read: &mut Read, id: TermId) -> Result<TimetableData> {
    Ok(TimetableData::load(read, me.local(), (id, app.clock.now()), Options::USUAL).await?)
}

fn page(me: &CurrentUser, timetable: TimetableData, form: Option<Form>) -> TurnsPage {
    let mut weavers: Vec<(String, String)> =
        timetable.rows.iter().map(|row| (row.rug.weaver_id.to_string(), row.rug.weaver.clone())).collect();
    weavers.sort_by(|a, b| a.1.cmp(&b.1).then(a.0.cmp(&b.0)));
    weavers.dedup();
    let form = form.unwrap_or_else(|| {
        timetable.rows.iter().fold(Form::blank(me.units()), |form, row| {
            let wish = row.wish;
            let form = form
                .with(&format!("urgent-{}", row.rug.id), wish.map_or(1, |wish| wish.priority.clamp(1, 3)));
            match wish.and_then(|wish| wish.not_before) {
                Some(meeting) => form.with(&format!("from-{}", row.rug.id), meeting),
                None => form,
            }
        })
    });
    TurnsPage {
        layout: me.layout(),
        form,
        id: timetable.term.id,
        rugs: timetable
            .rows
            .iter()
            .map(|row| (row.rug.id.to_string(), row.rug.fields.name.clone(), row.rug.weaver.clone()))
            .collect(),
        meetings: timetable
            .meetings
            .iter()
            .map(|meeting| (meeting.id.to_string(), dates::short_day(meeting.on_day.0)))
            .collect(),
        absent: timetable
            .absences
            .iter()
            .map(|one| (one.person_id.to_string(), one.meeting_id.to_string()))
            .collect(),
        weavers,
        term: timetable.term.name,
    }
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
) -> Result<TurnsPage> {
    Ok(page(&me, timetable(&app, &me, &mut read, id).await?, None))
}

pub(super) async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let timetable = timetable(&app, &me, &mut tx, id).await?;
    let mut form = posted.form_of(&me);
    let mut wishes = Vec::new();
    for row in &timetable.rows {
        let (urgent, from) = (format!("urgent-{}", row.rug.id), format!("from-{}", row.rug.id));
        let priority = form.count(&urgent, "How urgent it is", 1..=3);
        let not_before = form.optional(&from, None, |form| {
            let known = timetable.meetings.iter().find(|meeting| meeting.id.to_string() == form.value(&from));
            if known.is_none() {
                form.add_error(&from, "Choose a meeting from the list.");
            }
            known.map(|meeting| Some(meeting.id))
        });
        if let (Some(priority), Some(not_before)) = (priority, not_before) {
            let wish = TurnWish { rug_id: row.rug.id, priority, not_before };
            let usual = TurnWish { rug_id: row.rug.id, priority: 1, not_before: None };
            if row.wish.unwrap_or(usual) != wish {
                wishes.push(wish);
            }
        }
    }
    if !form.is_ok() {
        return Ok(invalid(page(&me, timetable, Some(form))));
    }
    let to = format!("/terms/{id}/turns?said=saved");
    // Where nothing is wished otherwise there is nothing to keep.
    if wishes.is_empty() {
        return Ok(Redirect::to(&to).into_response());
    }
    for wish in wishes {
        tx.wish_turn(id, wish).await?;
    }
    done(tx, &to).await
}

pub(super) async fn save_absences(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let form = posted.form_of(&me);
    let read = |text: &str| {
        let (person, meeting) = text.split_once(' ')?;
        Some(Absence { person_id: person.parse().ok()?, meeting_id: meeting.parse().ok()? })
    };
    let absences: Vec<Absence> = form.values("absent").filter_map(read).collect();
    let mut tx = app.write(&me).await?;
    tx.set_absences(id, &absences).await?;
    done(tx, &format!("/terms/{id}/turns?said=saved#absences")).await
}
