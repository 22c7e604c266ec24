//! A rug's page: its picture, where it stands, what it needs, its steps with their days.
use askama_web::WebTemplate;
use axum::extract::State;

use crate::drawing::rug_face::Ink;
use crate::planning::pattern::Face;
use crate::planning::progress::Progress;
use crate::planning::{ColourId, Plan};
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::{self, RugPlan};
use crate::services::rug_status::Shown;
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

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/show.html")]
pub(super) struct RugPage {
    layout: Layout,
    rug: Rug,
    plan: Plan,
    progress: Progress,
    standing: Shown,
    /// Its turn by the timetable, while it waits for a frame.
    turn: Option<String>,
    result: Option<ResultFields>,
    promises: Vec<Promise>,
    colours: Vec<Colour>,
    calendar: Calendar,
    front: String,
    back: String,
    units: Units,
    instructor: bool,
    /// Whether it is the reader's own.
    mine: bool,
    /// What is to be said of the paper whose code led here.
    paper: Option<Verdict>,
}

impl RugPage {
    fn colour(&self, id: &ColourId) -> &Colour {
        &self.colours[usize::from(*id)]
    }

    fn lead(&self) -> String {
        let (width, length) = (self.plan.width.show(self.units), self.plan.length.show(self.units));
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
        ];
        told.into_iter().filter_map(|(name, value)| Some((name, value?))).collect()
    }
}

pub(super) async fn show(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<RugPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let meetings = rug_plan::meetings(&mut read, &rug).await?;
    let units = me.units();
    let (known, log) = super::known(&mut read, &rug, units).await?;
    let result = match rug.state {
        RugState::Finished => read.rug_result(rug.id).await?,
        _ => None,
    };
    let promises = read.promises_to(rug.id).await?;
    let turn = if rug.state == RugState::Planned && rug.fields.term_id.is_some() {
        let turns = turns(&mut read).await?;
        of_rug(&turns, rug.id).map(words)
    } else {
        None
    };
    let standing = Shown::of(&mut read, &rug, &known, log, &me.zone(), units).await?;
    let calendar = Calendar::of(&rug, &known, &meetings, app.clock.now(), &me.zone(), units);
    let RugPlan { input, plan, status: at } = known;
    Ok(RugPage {
        paper: Verdict::on(&mut read, &me, asked, &rug, &plan).await?,
        layout: me.layout(),
        front: input.picture(&plan, Face::Front, Ink::Colour, "front")?,
        back: input.picture(&plan, Face::Back, Ink::Colour, "back")?,
        mine: me.id() == rug.weaver_id,
        rug,
        plan,
        progress: at.progress,
        standing,
        turn,
        result,
        promises,
        colours: input.colours,
        calendar,
        units,
        instructor: me.is_instructor(),
    })
}
