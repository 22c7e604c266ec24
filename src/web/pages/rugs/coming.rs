//! A weaver says by their own link that they are here, or that they can't come to the next meeting.
use axum::extract::State;
use axum::response::Response;

use crate::store::attendance::{Coming, OwnMeeting};
use crate::store::{Day, MeetingId, Read, RugId};
use crate::units::dates;
use crate::web::http::answer::done;
use crate::web::{App, CurrentUser, Error, FormData, Result};

/// A weaver's next meeting, as their pages ask about it.
pub(super) struct Asked {
    pub meeting: OwnMeeting,
    /// `Wed 7 Oct`, or `tonight`.
    pub when: String,
    pub today: bool,
    /// The rug whose page it is on.
    pub rug: Option<RugId>,
}

impl Asked {
    pub(super) async fn load(
        read: &mut Read,
        app: &App,
        me: &CurrentUser,
        rug: Option<RugId>,
    ) -> Result<Option<Self>> {
        let day = me.today(app);
        let meeting = read.own_meeting(me.id(), Day(day)).await?;
        Ok(meeting.map(|meeting| {
            let starts = meeting.on_day.0.to_datetime(meeting.starts_at.0);
            let today = meeting.on_day.0 == day;
            let named = dates::coming(starts, day);
            let when = if named == dates::short_day(starts.date()) { named } else { named.to_lowercase() };
            Self { meeting, when, today, rug }
        }))
    }
}

pub(super) async fn say(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let form = posted.form_of(&me);
    let to = match form.value("rug").parse::<RugId>() {
        Ok(rug) => format!("/rugs/{rug}?said=coming"),
        Err(_) => "/my?said=coming".to_owned(),
    };
    let coming = match form.value("coming") {
        "here" => Coming::Here,
        "away" => Coming::Away,
        "expected" => Coming::Expected,
        _ => return Err(Error::Unreadable("it doesn’t say whether you come")),
    };
    let id = form.value("meeting").parse::<MeetingId>().ok();
    let mut tx = app.write(&me).await?;
    let today = me.today(&app);
    let next = tx.own_meeting(me.id(), Day(today)).await?.filter(|next| Some(next.id) == id);
    let Some(next) = next else {
        return Err(Error::Unreadable("this meeting is over, called off or not yours"));
    };
    if coming == Coming::Here && next.on_day.0 != today {
        return Err(Error::Unreadable("this meeting isn’t today"));
    }
    tx.says_coming(next.id, me.id(), coming).await?;
    done(tx, &to).await
}
