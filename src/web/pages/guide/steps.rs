//! A rug's steps at the frame, with a box to ask for one.
use askama_web::WebTemplate;
use axum::extract::State;

use super::begin::begin_at;
use crate::planning::locking::stepping::BeginAt;
use crate::services::guide::{GuideStep, ahead, answers, at_hand, steps};
use crate::services::row_counter::Counted;
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan;
use crate::store::{Read, RugId};
use crate::web::http::id::Id;
use crate::web::pages::rugs;
use crate::web::{App, CurrentUser, Form, Layout, QueryData, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "guide/steps.html")]
pub(super) struct GuidePage {
    layout: Layout,
    rug: RugId,
    name: String,
    steps: Vec<GuideStep>,
    /// The key of the step at hand.
    now: &'static str,
    /// What is to be woven next: until when, and which rows.
    ahead: Option<(String, String)>,
    begin: BeginAt,
    form: Form,
    /// The step that answers what was asked.
    found: Option<usize>,
}

impl GuidePage {
    fn asked(&self) -> &str {
        self.form.value("ask").trim()
    }

    fn answer(&self) -> Option<&GuideStep> {
        self.steps.get(self.found?)
    }

    fn title_now(&self) -> &str {
        self.steps.iter().find(|step| step.key == self.now).map_or("", |step| step.title)
    }

    fn is_now(&self, step: &GuideStep) -> bool {
        step.key == self.now
    }

    /// Whether what is to be woven next stands at a step: at the one at hand.
    fn weaves(&self, step: &GuideStep) -> bool {
        self.ahead.is_some() && self.is_now(step)
    }

    fn begins_right(&self) -> bool {
        self.begin == BeginAt::Right
    }

    /// Whether a step stands open: the answer, or the one at hand where nothing was asked.
    fn open(&self, step: &GuideStep) -> bool {
        self.answer().map_or_else(|| self.is_now(step), |answer| answer.key == step.key)
    }
}

pub(super) async fn of_rug(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
    asked: QueryData,
) -> Result<GuidePage> {
    let rug = rugs::load(&mut read, &me, id).await?;
    let (known, log) = rug_plan::load(&mut read, &rug, me.units()).await?;
    let meetings = rug_plan::meetings(&mut read, &rug).await?;
    drop(read);
    let calendar = Calendar::of(&rug, &known, &meetings, app.clock.now(), &me.zone(), me.units());
    let rows = u32::try_from(Counted::of(&log, &known).rows).unwrap_or_default();
    let form = asked.form_of(&me).unwrap_or_else(|| Form::blank(me.units()));
    let begin = begin_at(Some(&form));
    let steps = steps(&known, me.units(), begin);
    let found = answers(&steps, form.value("ask"));
    let now = at_hand(&rug, &known, rows);
    let ahead = ahead(&known, &calendar, rows);
    Ok(GuidePage {
        layout: me.layout(),
        rug: rug.id,
        name: rug.fields.name,
        steps,
        now,
        ahead,
        begin,
        form,
        found,
    })
}
