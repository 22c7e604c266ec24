//! The timetable that holds, and one that is proposed.
use askama_web::WebTemplate;
use axum::extract::State;

use super::found::{TurnLine, Without, days, found, picture};
use super::read_options;
use crate::drawing::wall::Turn;
use crate::services::paper_data::turn;
use crate::services::timetable::{Options, TimetableData, number};
use crate::store::rugs::RugState;
use crate::store::timetable::Place;
use crate::store::{Read, RugId, TermId};
use crate::units::dates;
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Form, Layout, QueryData, Result};

/// A place that holds, as it is shown.
struct KeptTurn {
    place: Place,
    words: String,
    /// What is wrong with it, if anything: then it should be worked out again.
    broken: Option<String>,
    /// Whether the frame is with them now.
    out: bool,
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "timetable/show.html")]
pub(super) struct TimetablePage {
    layout: Layout,
    timetable: TimetableData,
    made: Option<String>,
    picture: Option<String>,
    places: Vec<KeptTurn>,
    /// Rugs that wait without a place.
    without: Vec<(RugId, String, String)>,
    printed: String,
    instructor: bool,
}

impl TimetablePage {
    fn broken(&self) -> usize {
        self.places.iter().filter(|kept| kept.broken.is_some()).count()
    }

    fn to_tell(&self) -> impl Iterator<Item = &KeptTurn> {
        self.places.iter().filter(|kept| !kept.place.told && !kept.out && kept.broken.is_none())
    }
}

/// Why a place can't be kept as it is.
fn broken(timetable: &TimetableData, place: &Place) -> Option<String> {
    let row = timetable.rows.iter().find(|row| row.rug.id == place.rug_id);
    let meeting = |id| number(&timetable.meetings, id);
    let Some(row) = row else {
        return (place.rug_state != RugState::Finished)
            .then(|| format!("{} no longer weaves this rug in this term.", place.weaver));
    };
    if row.out.is_none() && !timetable.frames.iter().any(|frame| frame.id == place.frame_id) {
        return Some(format!("Frame {} can’t be used.", place.frame_tag));
    }
    match row.out {
        Some(frame) if timetable.frames[frame].id != place.frame_id => {
            Some(format!("It is on frame {} instead.", timetable.frames[frame].fields.tag))
        }
        Some(_) => {
            let left = meeting(place.to_meeting).unwrap_or(0);
            // Nobody can have more meetings than there are.
            let all = timetable.meetings.len() as u32;
            (row.meetings > left && left < all).then(|| {
                let needed = row.meetings;
                format!("It needs {needed} more meetings; its turn has {left}.")
            })
        }
        None if meeting(place.from_meeting).is_none() => {
            Some("The meeting at which it should have begun is over or called off.".into())
        }
        None if meeting(place.to_meeting).is_none() => Some("Its last meeting is called off.".into()),
        None => {
            let begins = timetable.meetings.iter().find(|one| one.id == place.from_meeting)?;
            let frame = timetable.frames.iter().find(|frame| frame.id == place.frame_id)?;
            let (weaver, due) = (frame.weaver.as_ref()?, frame.due_on?);
            (begins.on_day < due)
                .then(|| format!("The frame is with {weaver} until {}.", dates::short_day(due.0)))
        }
    }
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
) -> Result<TimetablePage> {
    let at = (id, app.clock.now());
    let timetable = TimetableData::load(&mut read, me.local(), at, Options::USUAL).await?;
    let places: Vec<KeptTurn> = timetable
        .places
        .iter()
        .filter(|place| place.rug_state != RugState::Finished)
        .map(|place| KeptTurn {
            words: days(&timetable, place),
            broken: broken(&timetable, place),
            out: timetable.rows.iter().any(|row| row.rug.id == place.rug_id && row.out.is_some()),
            place: place.clone(),
        })
        .collect();
    let turns: Vec<Turn> = places.iter().filter_map(|kept| turn(&timetable, &kept.place)).collect();
    let without = timetable.rows.iter().filter(|row| row.place.is_none() && row.out.is_none());
    Ok(TimetablePage {
        layout: me.layout(),
        made: timetable.kept.as_ref().map(|kept| {
            let who = kept.who.as_deref().map_or_else(String::new, |who| format!(" by {who}"));
            format!("Accepted {}{who}.", dates::moment(kept.made_at, &me.wall()))
        }),
        picture: (!turns.is_empty()).then(|| picture(&timetable, &turns)),
        without: without
            .map(|row| (row.rug.id, row.rug.fields.name.clone(), row.rug.weaver.clone()))
            .collect(),
        places,
        printed: dates::day(me.today(&app)),
        instructor: me.is_instructor(),
        timetable,
    })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "timetable/new.html")]
pub(super) struct ProposalPage {
    layout: Layout,
    form: Form,
    id: TermId,
    term: String,
    revision: i64,
    near: String,
    picture: Option<String>,
    lines: Vec<TurnLine>,
    without: Vec<Without>,
    more: Vec<(String, usize)>,
    asked_all: bool,
    meetings: usize,
    rugs: usize,
}

impl ProposalPage {
    fn changes(&self) -> impl Iterator<Item = &TurnLine> {
        self.lines.iter().filter(|line| !line.change.is_empty())
    }

    fn losing(&self) -> impl Iterator<Item = &Without> {
        self.without.iter().filter(|one| !one.before.is_empty())
    }

    /// Reads, lets go of the database, and works the timetable out.
    pub(super) async fn load(
        app: &App,
        me: &CurrentUser,
        mut read: Read,
        id: TermId,
        form: Form,
    ) -> Result<Self> {
        let (at, options) = ((id, app.clock.now()), read_options(&form));
        let timetable = TimetableData::load(&mut read, me.local(), at, options).await?;
        drop(read);
        let found = found(app, me.id(), &timetable, me.units()).await?;
        Ok(Self {
            layout: me.layout(),
            near: found.near(&timetable),
            picture: (!timetable.meetings.is_empty() && !timetable.frames.is_empty())
                .then(|| found.picture(&timetable)),
            lines: found.lines(&timetable),
            without: found.without(&timetable),
            meetings: timetable.meetings.len(),
            rugs: timetable.rows.len(),
            revision: timetable.kept.as_ref().map_or(0, |kept| kept.revision),
            term: timetable.term.name,
            more: found.more,
            asked_all: found.asked_all,
            id,
            form,
        })
    }
}

pub(super) async fn propose(
    State(app): State<App>,
    me: CurrentUser,
    read: Read,
    Id(id): Id<TermId>,
    asked: QueryData,
) -> Result<ProposalPage> {
    let form =
        asked.form_of(&me).unwrap_or_else(|| Form::blank(me.units()).with("sure", "nine").with("gap", "0"));
    ProposalPage::load(&app, &me, read, id, form).await
}
