//! A rug's page: what to do tonight, the row counter, its picture, where it stands, what it needs, its steps with their days.
use std::sync::Arc;

use askama_web::WebTemplate;
use axum::extract::State;

use super::coming::Asked;
use super::rows::Counter;
use crate::planning::ColourId;
use crate::planning::cost::{Cost, Prices};
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::{self, RugPlan};
use crate::services::rug_status::Shown;
use crate::services::tonight::{About, Tonight};
use crate::services::turns::{of_rug, turns, words};
use crate::store::cloth::promises::Promise;
use crate::store::rugs::cloth::Part;
use crate::store::rugs::results::ResultFields;
use crate::store::rugs::{Colour, Rug, RugState};
use crate::store::{Read, RequestKey, RugId};
use crate::units::Units;
use crate::units::dates;
use crate::web::http::id::Id;
use crate::web::pages::papers::printed::Verdict;
use crate::web::{App, CurrentUser, Layout, QueryData, Result};

/// So many characters of a note stand on its fold.
const NOTE_BEGINS: usize = 48;

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/show.html")]
pub(super) struct RugPage {
    layout: Layout,
    rug: Rug,
    known: Arc<RugPlan>,
    standing: Shown,
    /// Its turn by the timetable, while it waits for a frame.
    turn: Option<String>,
    result: Option<ResultFields>,
    promises: Vec<Promise>,
    calendar: Calendar,
    tonight: Option<Tonight>,
    /// The reader's own next meeting.
    asked: Option<Asked>,
    counter: Counter,
    front: String,
    back: String,
    /// What it costs, each amount in words, where the class says what it pays.
    cost: Vec<(&'static str, String)>,
    units: Units,
    instructor: bool,
    /// Whether it is the reader's own.
    mine: bool,
    /// What is to be said of the paper whose code led here.
    paper: Option<Verdict>,
}

impl RugPage {
    fn colour(&self, id: &ColourId) -> &Colour {
        &self.known.input.colours[usize::from(*id)]
    }

    /// How the note begins: the rest is a touch away, since what is to be done tonight comes first.
    fn note_begins(&self) -> String {
        let line = self.rug.note.lines().next().unwrap_or_default();
        let begins: String = line.chars().take(NOTE_BEGINS).collect();
        if begins == self.rug.note { begins } else { format!("{}…", begins.trim_end()) }
    }

    fn lead(&self) -> String {
        let (width, length) =
            (self.known.plan.width.show(self.units), self.known.plan.length.show(self.units));
        let frame = self.rug.frame_tag.as_ref().map_or(String::new(), |tag| format!(", on frame {tag}"));
        let term = self.rug.term.as_ref().map_or(String::new(), |term| format!(", {term}"));
        format!("{}’s rug{term}: {width} × {length}, {}{frame}.", self.rug.weaver, self.rug.state)
    }

    /// The bundles that the cloth is measured from, in words.
    fn measured(&self) -> Vec<(String, String)> {
        let told = self.rug.measured.iter().filter_map(|cloth| {
            let areal = cloth.weighed().areal(self.units).ok()?;
            let part = if cloth.part == Part::Warp { "Warp cloth" } else { "Weft cloth" };
            Some((part.to_owned(), format!("{}, measured from bundle {}", areal.show(self.units), cloth.tag)))
        });
        told.collect()
    }

    fn planned(&self) -> bool {
        self.rug.state == RugState::Planned
    }

    fn weaving(&self) -> bool {
        self.rug.state == RugState::Weaving
    }

    fn finished(&self) -> bool {
        self.rug.state == RugState::Finished
    }

    /// Whether rows are counted: from when it is on a frame.
    fn counting(&self) -> bool {
        self.weaving() || (self.planned() && self.rug.frame_tag.is_some())
    }

    /// Whether it waits for a frame: its first, or another after one was taken back.
    fn wants_frame(&self) -> bool {
        self.rug.state.is_open() && self.rug.frame_tag.is_none()
    }

    /// Whether something is still to be done on it.
    fn under_way(&self) -> bool {
        self.planned() || self.weaving()
    }

    fn states(&self) -> Vec<RugState> {
        let other = |state: &RugState| *state != self.rug.state && *state != RugState::Finished;
        RugState::ALL.iter().copied().filter(other).collect()
    }

    #[allow(clippy::unused_self, reason = "templates call methods of their page")]
    fn key(&self) -> RequestKey {
        RequestKey::new()
    }

    /// What the finished rug took, as pairs for a list of facts.
    fn took(&self) -> Vec<(&'static str, String)> {
        let Some(f) = &self.result else { return Vec::new() };
        let minutes = |minutes: i64| dates::minutes(minutes as f64);
        let told = [
            ("Rows", f.rows_woven.map(|rows| rows.to_string())),
            ("Woven length", f.woven_nm.map(|length| length.show(self.units))),
            ("Weft", f.weft_mg.map(|mass| mass.show(self.units))),
            ("Weaving", f.weave_minutes.map(minutes)),
            ("Preparing", f.prepare_minutes.map(minutes)),
            ("Warp", f.warp_nm.map(|length| length.show_long(self.units))),
            ("Finished length", f.finished_length_nm.map(|length| length.show(self.units))),
            ("Finished width", f.finished_width_nm.map(|length| length.show(self.units))),
        ];
        told.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
    }
}

/// The parts of a rug's cost and their sum, for a list of facts; nothing where nothing of it is paid for.
fn costs(known: &RugPlan, prices: &Prices) -> Vec<(&'static str, String)> {
    let cost = Cost::of(&known.plan, known.input.spec.backing, prices);
    let mut told: Vec<_> =
        cost.parts.iter().map(|(paid, money)| (paid.name(), prices.show(*money))).collect();
    if !told.is_empty() {
        told.push(("Together", prices.show(cost.total)));
    }
    told
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    query: QueryData,
) -> Result<RugPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let meetings = rug_plan::meetings(&mut read, &rug).await?;
    let units = me.units();
    let (known, log) = rug_plan::load(&mut read, &rug, units).await?;
    let result = match rug.state {
        RugState::Finished => read.rug_result(rug.id).await?,
        _ => None,
    };
    let promises = read.promises_to(rug.id).await?;
    let shared_out = read.last_shared_out(rug.id).await?;
    let turn = if rug.state == RugState::Planned && rug.fields.term_id.is_some() {
        let turns = turns(&mut read).await?;
        of_rug(&turns, rug.id).map(words)
    } else {
        None
    };
    let prices = read.workroom().await?.and_then(|workroom| workroom.prices);
    let cost = prices.map_or_else(Vec::new, |prices| costs(&known, &prices));
    let calendar = super::calendar(&app, &me, &mut read, (&rug, &known), &meetings).await?;
    let counter = Counter::of(&rug, &known, &log, &me);
    let standing = Shown::of(&mut read, &rug, &known, log, &me.wall(), units).await?;
    let rows = u32::try_from(counter.rows).unwrap_or_default();
    let (now, wall) = (app.clock.now(), me.wall());
    let about = About {
        rug: &rug,
        known: &known,
        calendar: &calendar,
        meetings: &meetings,
        promises: &promises,
        shared_out: &shared_out,
        rows,
        now,
        wall: &wall,
        units,
    };
    let tonight = about.tonight();
    let mine = me.id() == rug.weaver_id;
    let asked = if mine { Asked::load(&mut read, &app, &me, Some(rug.id)).await? } else { None };
    let front = known.front((rug.state == RugState::Weaving).then_some(rows))?;
    Ok(RugPage {
        paper: Verdict::on(&mut read, &me, query, &rug, &known.plan).await?,
        layout: me.layout(),
        front,
        back: known.back()?,
        mine,
        asked,
        rug,
        standing,
        turn,
        result,
        promises,
        calendar,
        tonight,
        counter,
        cost,
        units,
        instructor: me.is_instructor(),
        known,
    })
}
