//! Today: what an instructor sees first. The next meeting, who is expected, and what waits to be settled, each line with
//! the act that settles it; in a new workroom, what to set up next.
mod attendance;

use std::sync::Arc;

use askama_web::WebTemplate;
use axum::extract::State;
use jiff::civil;

use super::backups::overdue;
use super::rugs::list::small;
use crate::services::attendance::Attendance;
use crate::services::messages::Messages;
use crate::services::outlook::Outlook;
use crate::services::paper_data::at_hand;
use crate::services::turns::{of_rug, turns, words};
use crate::store::cloth::promises::Promise;
use crate::store::rugs::RugState;
use crate::store::terms::Meeting;
use crate::store::timetable::Place;
use crate::store::today::{Counts, Due, Expected, Running};
use crate::store::{Day, PersonId, Read, RugId, TermId};
use crate::units::Units;
use crate::units::dates::{self, Hours};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Layout, Result};

/// So many who wait for a frame are shown at once, besides those whose turn has come.
const WAITING_SHOWN: usize = 2;

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/today", Who::Instructor, today).kept(),
        get("/meetings/{id}/attendance", Who::Staff, attendance::page),
        post("/meetings/{id}/attendance", Who::Staff, attendance::save),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "today/page.html")]
struct TodayPage {
    layout: Layout,
    day: String,
    units: Units,
    counts: Counts,
    term: Option<Running>,
    meeting: Option<NextMeeting>,
    setup: Vec<SetupStep>,
    due: Vec<DueLine>,
    weavers: Vec<Weaver>,
    attendance: Attendance,
    outlook: Arc<Outlook>,
    /// The turns of the timetables that hold.
    turns: Vec<Place>,
    /// Promised cloth that the stock no longer covers.
    broken: Vec<Promise>,
    /// Promised cloth that waits to be pulled.
    to_pull: usize,
    /// To how many people somebody should send a message.
    messages: usize,
    /// Where the last good backup is too old, or there never was one: that, in words.
    no_backup: Option<String>,
}

async fn today(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<TodayPage> {
    let day = me.today(&app);
    let (now, zone, wall) = (app.clock.now(), me.zone(), me.wall());
    let counts = read.counts().await?;
    let (term, next) = at_hand(read.running_terms().await?, now, &zone);
    let (mut weavers, mut outlook, mut attendance) = (Vec::new(), Arc::default(), Attendance::default());
    if let Some(term) = &term {
        weavers = by_weaver(read.expected(term.id).await?);
        attendance = Attendance::load(&mut read, term.id).await?;
        let expected: Vec<PersonId> = weavers.iter().map(|weaver| weaver.id).collect();
        outlook = Outlook::load(&mut read, term, &expected, (now, &zone), me.units()).await?;
    } else if counts.terms > 0 {
        weavers = by_weaver(read.unfinished().await?);
    }
    let meeting = match (next, &term) {
        (Some(meeting), Some(term)) => Some(NextMeeting::new(meeting, &term.meetings, day, wall.hours)),
        _ => None,
    };
    let until = match (&term, &meeting) {
        (Some(_), Some(next)) => next.meeting.on_day.0.max(day),
        (Some(_), None) => day,
        // No meeting is left to bring a frame to: all that is out stands here.
        (None, _) => civil::Date::MAX,
    };
    let due = read.frames_due(Day(until)).await?;
    let turns = turns(&mut read).await?;
    let no_backup = overdue(&mut read, &app.config.backups, now).await?;
    let no_backup = no_backup.map(|since| {
        if since.any {
            format!("The last good backup was made {}.", dates::moment(since.at, &wall))
        } else {
            "No backup of this workroom was ever made.".to_owned()
        }
    });
    let promises = read.promises().await?.into_iter().filter(Promise::is_open);
    let (broken, kept): (Vec<_>, Vec<_>) = promises.partition(|promise| promise.broken().is_some());
    let messages = Messages::load(&mut read, now, &wall, me.units()).await?.messages.len();
    Ok(TodayPage {
        layout: me.layout(),
        messages,
        day: dates::day(day),
        units: me.units(),
        setup: setup(&counts, term.as_ref().map(|term| term.id)),
        counts,
        term,
        meeting,
        due: due.into_iter().map(|due| DueLine::new(due, day)).collect(),
        weavers,
        attendance,
        outlook,
        turns,
        broken,
        to_pull: kept.len(),
        no_backup,
    })
}

/// Rugs that wait for a frame, with their weavers.
type Waiting<'a> = Vec<(&'a Weaver, &'a ExpectedRug)>;

impl TodayPage {
    /// Rugs that aren't done, whose weaver is expected, and that are on no frame.
    fn without_frame(&self) -> impl Iterator<Item = (&Weaver, &ExpectedRug)> {
        // One that was begun and whose frame was taken back waits for another.
        let waits = |rug: &&ExpectedRug| rug.state.is_open() && rug.frame_tag.is_none();
        self.weavers.iter().flat_map(move |w| w.rugs.iter().filter(waits).map(move |rug| (w, rug)))
    }

    /// The same in two lists: those whose turn has come, or else the first few; and who waits on.
    fn waiting(&self) -> (Waiting<'_>, Waiting<'_>) {
        let come = |(_, rug): &(&Weaver, &ExpectedRug)| self.turn(&rug.id).is_some_and(|(_, come)| come);
        let (mut first, mut later): (Vec<_>, Vec<_>) = self.without_frame().partition(come);
        while first.len() < WAITING_SHOWN && !later.is_empty() {
            first.push(later.remove(0));
        }
        (first, later)
    }

    /// Whether there is anything that nobody has to do tonight.
    fn can_wait(&self) -> bool {
        !self.waiting().1.is_empty()
            || self.without_rug().next().is_some()
            || self.to_pull > 0
            || !self.outlook.late.is_empty()
            || self.counts.unwashed > 0
    }

    /// When a rug's turn is by the timetable, in words, and whether it has come.
    fn turn(&self, rug: &RugId) -> Option<(String, bool)> {
        let turn = of_rug(&self.turns, *rug)?;
        let next = self.meeting.as_ref().map(|next| next.meeting.on_day.0);
        let come = next.is_some_and(|next| turn.from_day.0 <= next);
        let until = || format!("frame {} until {}", turn.frame_tag, dates::short_day(turn.to_day.0));
        Some((if come { until() } else { words(turn) }, come))
    }

    fn without_rug(&self) -> impl Iterator<Item = &Weaver> {
        self.weavers.iter().filter(|weaver| weaver.rugs.is_empty())
    }

    /// The meeting whose roll is taken on this page: the next, on its day.
    fn roll(&self) -> Option<&Meeting> {
        self.meeting.as_ref().filter(|next| next.today).map(|next| &next.meeting)
    }

    /// How many rugs of those shown aren't done.
    fn not_done(&self) -> usize {
        self.weavers.iter().flat_map(|weaver| &weaver.rugs).filter(|rug| rug.state.is_open()).count()
    }

    fn unwashed_weight(&self) -> String {
        self.counts.unwashed_mg.show(self.units)
    }

    fn nothing_to_settle(&self) -> bool {
        self.due.is_empty()
            && self.outlook.short.is_empty()
            && self.outlook.late.is_empty()
            && self.counts.unwashed == 0
            && self.broken.is_empty()
            && self.to_pull == 0
            && self.counts.undelivered == 0
            && self.without_frame().next().is_none()
            && self.without_rug().next().is_none()
    }
}

/// The meeting that comes next, or goes on just now.
struct NextMeeting {
    meeting: Meeting,
    /// `Tonight`, `Today`, `Tomorrow`, or the day.
    when: String,
    /// Whether that is today.
    today: bool,
    /// Where it stands among those of its term that take place, counted from 1.
    number: usize,
    of: usize,
    hours: Hours,
}

impl NextMeeting {
    fn new(meeting: Meeting, all: &[Meeting], today: civil::Date, hours: Hours) -> Self {
        let held: Vec<&Meeting> = all.iter().filter(|m| !m.called_off).collect();
        let day = meeting.on_day.0;
        let when = dates::coming(day.to_datetime(meeting.starts_at.0), today);
        let number = held.iter().position(|m| m.id == meeting.id).map_or(0, |at| at + 1);
        Self { number, of: held.len(), when, today: day == today, hours, meeting }
    }

    /// The day, where it isn't said over it already.
    fn named(&self) -> Option<String> {
        let day = dates::short_day(self.meeting.on_day.0);
        (day != self.when).then_some(day)
    }

    fn starts(&self) -> String {
        dates::time(self.meeting.starts_at.0, self.hours)
    }

    fn length(&self) -> String {
        dates::minutes(self.meeting.minutes as f64)
    }
}

/// A frame that should come back, with how urgent it is.
struct DueLine {
    due: Due,
    tone: &'static str,
    when: String,
}

impl DueLine {
    fn new(due: Due, today: civil::Date) -> Self {
        let day = due.due_on.0;
        let (tone, when) = match day.cmp(&today) {
            std::cmp::Ordering::Less => ("bad", format!("overdue since {}", dates::short_day(day))),
            std::cmp::Ordering::Equal => ("warn", "due today".to_owned()),
            std::cmp::Ordering::Greater => ("plain", format!("due {}", dates::short_day(day))),
        };
        Self { due, tone, when }
    }
}

/// A weaver who is expected, with their rugs.
struct Weaver {
    id: PersonId,
    name: String,
    rugs: Vec<ExpectedRug>,
}

struct ExpectedRug {
    id: RugId,
    name: String,
    state: RugState,
    frame_tag: Option<String>,
    small: String,
}

impl ExpectedRug {
    fn tone(&self) -> &'static str {
        match self.state {
            RugState::Finished => "good",
            _ => "plain",
        }
    }
}

/// Gathers the lines of each weaver, which stand together.
fn by_weaver(lines: Vec<Expected>) -> Vec<Weaver> {
    let mut weavers: Vec<Weaver> = Vec::new();
    for line in lines {
        if weavers.last().is_none_or(|last| last.id != line.weaver_id) {
            weavers.push(Weaver { id: line.weaver_id, name: line.weaver, rugs: Vec::new() });
        }
        if let (Some(weaver), Some(id), Some(name), Some(state)) =
            (weavers.last_mut(), line.rug_id, line.rug, line.state)
        {
            weaver.rugs.push(ExpectedRug {
                id,
                name,
                state,
                frame_tag: line.frame_tag,
                small: small(&line.bands),
            });
        }
    }
    weavers
}

/// A step of setting a workroom up.
struct SetupStep {
    done: bool,
    /// Whether it is the first that isn't done.
    next: bool,
    title: &'static str,
    text: &'static str,
    href: String,
    act: &'static str,
}

/// What a new workroom needs, in order; nothing once the first frame was handed out.
fn setup(counts: &Counts, term: Option<TermId>) -> Vec<SetupStep> {
    let enrol = term.map_or_else(|| "/terms".to_owned(), |id| format!("/terms/{id}"));
    let (frames, cloth) = (counts.frames > 0, counts.weighed_in);
    let steps = [
        (counts.terms > 0, "A term", "When the class meets.", "/terms/new".to_owned(), "Add a term"),
        (
            counts.weavers > 0,
            "Weavers",
            "Who makes a rug. Each gets a personal link, no password.",
            "/people/new".to_owned(),
            "Add a weaver",
        ),
        (counts.enrolled, "Enrolment", "Which weavers come to this term.", enrol, "Enrol weavers"),
        (
            frames,
            "Frames",
            "Each with its tag, its size and its nails.",
            "/frames/new".to_owned(),
            "Add a frame",
        ),
        (
            counts.rods > 0,
            "Edge rods",
            "Counted by length and diameter; two to a frame.",
            "/rods".to_owned(),
            "Count rods",
        ),
        (
            cloth,
            "Cloth",
            "Weighed in as it arrives; unwashed cloth stays apart.",
            "/cloth/weigh-in".to_owned(),
            "Weigh in",
        ),
        (
            counts.rugs,
            "A rug",
            "Size and colours; warp, weft and time are worked out.",
            "/rugs/new".to_owned(),
            "Plan a rug",
        ),
        (
            counts.lent,
            "A frame handed out",
            "Start at the rug: the frames that fit it are offered first.",
            "/rugs".to_owned(),
            "Hand out a frame",
        ),
    ];
    let first = steps.iter().position(|step| !step.0);
    let Some(first) = first else { return Vec::new() };
    steps
        .into_iter()
        .enumerate()
        .map(|(at, (done, title, text, href, act))| SetupStep {
            done,
            next: at == first,
            title,
            text,
            href,
            act,
        })
        .collect()
}
