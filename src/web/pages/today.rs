//! Today: what an instructor sees first. The next meeting, who is expected, and what waits to be settled, each line with
//! the act that settles it; in a new workroom, what to set up next.
use askama_web::WebTemplate;
use axum::extract::State;
use jiff::tz::TimeZone;
use jiff::{Timestamp, civil};

use crate::services::learning::Learning;
use crate::services::outlook::Outlook;
use crate::services::turns::{of_rug, turns, words};
use crate::store::cloth::promises::Promise;
use crate::store::rugs::RugState;
use crate::store::terms::Meeting;
use crate::store::timetable::Place;
use crate::store::today::{Counts, Due, Expected, Running};
use crate::store::{Day, PersonId, Read, RugId, TermId};
use crate::units::Units;
use crate::units::dates;
use crate::web::http::route::{Route, Who, get};
use crate::web::{App, CurrentUser, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/today", Who::Instructor, today)]
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
    outlook: Outlook,
    /// The turns of the timetables that hold.
    turns: Vec<Place>,
    /// Promised cloth that the stock no longer covers.
    broken: Vec<Promise>,
    /// Promised cloth that waits to be pulled.
    to_pull: usize,
}

async fn today(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<TodayPage> {
    let day = me.today(&app);
    let (now, zone) = (app.clock.now(), me.zone());
    let counts = read.counts().await?;
    let (term, next) = at_hand(read.running_terms().await?, now, &zone);
    let (mut weavers, mut outlook) = (Vec::new(), Outlook::default());
    if let Some(term) = &term {
        weavers = by_weaver(read.expected(term.id).await?);
        let rugs = read.rugs(None, Some(term.id)).await?;
        let expected = rugs.into_iter().filter(|rug| weavers.iter().any(|weaver| weaver.id == rug.weaver_id));
        let log = read.term_log(term.id).await?;
        let learning = Learning::load(&mut read).await?;
        outlook = Outlook::of(expected.collect(), &log, &learning, &term.meetings, (now, &zone), me.units())?;
    }
    let meeting = match (next, &term) {
        (Some(meeting), Some(term)) => Some(NextMeeting::new(meeting, &term.meetings, day)),
        _ => None,
    };
    let until = meeting.as_ref().map_or(day, |next| next.meeting.on_day.0.max(day));
    let due = read.frames_due(Day(until)).await?;
    let turns = turns(&mut read).await?;
    let promises = read.promises().await?.into_iter().filter(Promise::is_open);
    let (broken, kept): (Vec<_>, Vec<_>) = promises.partition(|promise| promise.broken().is_some());
    Ok(TodayPage {
        layout: me.layout(),
        day: dates::day(day),
        units: me.units(),
        setup: setup(&counts, term.as_ref().map(|term| term.id)),
        counts,
        term,
        meeting,
        due: due.into_iter().map(|due| DueLine::new(due, day)).collect(),
        weavers,
        outlook,
        turns,
        broken,
        to_pull: kept.len(),
    })
}

/// The meeting that comes next or goes on just now, one that began yesterday and runs past midnight among them; and its
/// term, or the newest where no meeting is ahead.
fn at_hand(mut terms: Vec<Running>, now: Timestamp, zone: &TimeZone) -> (Option<Running>, Option<Meeting>) {
    let ahead = |meeting: &&Meeting| !meeting.called_off && meeting.end(zone).is_some_and(|end| end > now);
    let next = terms.iter().flat_map(|term| &term.meetings).filter(ahead);
    let next = next.min_by_key(|meeting| (meeting.on_day, meeting.starts_at)).cloned();
    let term = match &next {
        Some(meeting) => terms.iter().position(|term| term.id == meeting.term_id),
        None => (!terms.is_empty()).then_some(0),
    };
    (term.map(|at| terms.swap_remove(at)), next)
}

impl TodayPage {
    /// Rugs that are planned, whose weaver is expected, and that are on no frame.
    fn without_frame(&self) -> impl Iterator<Item = (&Weaver, &ExpectedRug)> {
        let waits = |rug: &&ExpectedRug| rug.state == RugState::Planned && rug.frame_tag.is_none();
        self.weavers.iter().flat_map(move |w| w.rugs.iter().filter(waits).map(move |rug| (w, rug)))
    }

    /// When a rug's turn is by the timetable, in words, and whether it has come.
    fn turn(&self, rug: &RugId) -> Option<(String, bool)> {
        let turn = of_rug(&self.turns, *rug)?;
        let next = self.meeting.as_ref().map(|next| next.meeting.on_day.0);
        Some((words(turn), next.is_some_and(|next| turn.from_day.0 <= next)))
    }

    fn without_rug(&self) -> impl Iterator<Item = &Weaver> {
        self.weavers.iter().filter(|weaver| weaver.rugs.is_empty())
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
    /// Where it stands among those of its term that take place, counted from 1.
    number: usize,
    of: usize,
}

impl NextMeeting {
    fn new(meeting: Meeting, all: &[Meeting], today: civil::Date) -> Self {
        let held: Vec<&Meeting> = all.iter().filter(|m| !m.called_off).collect();
        let day = meeting.on_day.0;
        let when = if day <= today {
            if meeting.starts_at.0 >= civil::time(17, 0, 0, 0) { "Tonight" } else { "Today" }.to_owned()
        } else if today.tomorrow().is_ok_and(|tomorrow| day == tomorrow) {
            "Tomorrow".to_owned()
        } else {
            dates::short_day(day)
        };
        let number = held.iter().position(|m| m.id == meeting.id).map_or(0, |at| at + 1);
        Self { number, of: held.len(), when, meeting }
    }

    fn day(&self) -> String {
        dates::day(self.meeting.on_day.0)
    }

    fn starts(&self) -> String {
        dates::time(self.meeting.starts_at.0)
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
            weaver.rugs.push(ExpectedRug { id, name, state, frame_tag: line.frame_tag });
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
    let (frames, cloth) = (counts.frames > 0, counts.bundles > 0);
    let steps = [
        (counts.terms > 0, "A term", "When the class meets.", "/terms/new".to_owned(), "Add a term"),
        (
            counts.weavers > 0,
            "Weavers",
            "Who makes a rug. Each gets a personal link, no password.",
            "/people/new".to_owned(),
            "Add a weaver",
        ),
        (counts.enrolled > 0, "Enrolment", "Which weavers come to this term.", enrol, "Enrol weavers"),
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
            counts.rugs > 0,
            "A rug",
            "Size and colours; warp, weft and time are worked out.",
            "/rugs/new".to_owned(),
            "Plan a rug",
        ),
        (
            counts.loans > 0,
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
