//! How the numbers of a rug of panels were worked out: the sewing, then each kind of panel.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::{IntoResponse as _, Redirect, Response};

use super::{Laid, PanelGroup, PanelSearch, search};
use crate::optimize::panels::explain::pieced;
use crate::planning::workings::Derivation;
use crate::store::Read;
use crate::units::{Mass, Minutes, Units};
use crate::web::{App, CurrentUser, Layout, QueryData, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/any_size_worked.html")]
struct PanelsWorkedPage {
    layout: Layout,
    /// What was asked, to go back to it.
    query: String,
    workings: Vec<Derivation>,
    units: Units,
}

/// What a group is called in the keys of its workings.
pub(super) fn prefix(at: usize) -> String {
    format!("kind{}", at + 1)
}

impl Laid {
    fn workings(&self) -> Vec<Derivation> {
        let mut all = pieced(&self.arrangement, &self.sewing);
        let mut cloth = Derivation::new("pieced.cloth", "Cloth in all", self.total)
            .by("each kind’s cloth to take · its panels", "the sum of the panels");
        let minutes = self.groups.iter().map(|group| group.work() * group.count() as f64).sum::<Minutes>();
        let mut work = Derivation::new("pieced.work", "Work in all", minutes)
            .by("(preparing + weaving + finishing, expected) · panels of each kind", "the sum of the panels");
        for (at, group) in self.groups.iter().enumerate() {
            let key = |part: &str| format!("{}.{part}", prefix(at));
            let (panels, times) = (group.numbers(), &group.plan.minutes);
            let each: Mass = group.plan.cloth.total.p90;
            cloth = cloth.worked(format!("cloth of panel {panels}, each"), each, key("cloth.total"));
            work = work.worked(
                format!("weaving panel {panels}, each"),
                times.weave.expected,
                key("minutes.weave"),
            );
        }
        all.extend([cloth, work]);
        for (at, group) in self.groups.iter().enumerate() {
            let named = |working: &Derivation| Derivation {
                title: format!("Panel {}: {}", group.numbers(), working.title),
                ..working.clone().under(&prefix(at))
            };
            all.extend(group.plan.workings.iter().map(named));
        }
        all
    }
}

impl PanelGroup {
    /// The work for one panel.
    pub(super) fn work(&self) -> Minutes {
        let times = &self.plan.minutes;
        times.prepare.expected + times.weave.expected + times.finish.expected
    }
}

pub(in crate::web::pages::rugs) async fn worked(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    asked: QueryData,
) -> Result<Response> {
    let Some(mut form) = asked.form_of(&me) else {
        return Ok(Redirect::to("/rugs/any-size").into_response());
    };
    let query = form.serialize(&[]);
    let sizes = read.frame_sizes().await?;
    drop(read);
    match search(&app, me.id(), &mut form, &sizes).await? {
        PanelSearch::Laid(laid) => {
            let (layout, units, workings) = (me.layout(), me.units(), laid.workings());
            Ok(PanelsWorkedPage { layout, query, workings, units }.into_response())
        }
        // What is wrong is said where it was asked.
        PanelSearch::Unasked | PanelSearch::Nothing(_) => {
            Ok(Redirect::to(&format!("/rugs/any-size?{query}")).into_response())
        }
    }
}
