//! A rug's page: its picture, what it needs, its steps with their days.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};

use super::calendar::Calendar;
use super::spec::plan_of;
use crate::craft::pattern::Face;
use crate::craft::picture::Ink;
use crate::craft::{ColourId, Plan, Units};
use crate::store::rug_cloth::Part;
use crate::store::rugs::{Colour, Rug, RugState};
use crate::store::terms::Meeting;
use crate::web::{App, Me, Result, Shell};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/show.html")]
struct ShowPage {
    shell: Shell,
    rug: Rug,
    plan: Plan,
    colours: Vec<Colour>,
    calendar: Calendar,
    front: String,
    back: String,
    units: Units,
    instructor: bool,
}

impl ShowPage {
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

    fn states(&self) -> Vec<RugState> {
        RugState::ALL.iter().copied().filter(|state| *state != self.rug.state).collect()
    }
}

pub(super) async fn show(State(app): State<App>, me: Me, path: Path<String>) -> Result<Response> {
    let rug = super::load(&app, &me, path).await?;
    let meetings = meetings(&app, &rug).await?;
    let units = me.units();
    let (planned, plan) = plan_of(&rug, units)?;
    let calendar = Calendar::of(&rug, &plan, &meetings, me.today(&app), &me.zone(), units);
    let front = planned.picture(&plan, Face::Front, Ink::Colour, "front")?;
    let back = planned.picture(&plan, Face::Back, Ink::Colour, "back")?;
    let page = ShowPage {
        shell: me.shell(),
        rug,
        plan,
        colours: planned.colours,
        calendar,
        front,
        back,
        units,
        instructor: me.is_instructor(),
    };
    Ok(page.into_response())
}

/// The meetings of the rug's term; none without one.
pub(super) async fn meetings(app: &App, rug: &Rug) -> Result<Vec<Meeting>> {
    match rug.fields.term_id {
        Some(term) => Ok(app.store.read().await?.meetings(term).await?),
        None => Ok(Vec::new()),
    }
}
