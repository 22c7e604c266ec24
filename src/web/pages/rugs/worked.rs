//! "How this was worked out": every number of a plan with its formula, what was put in, and where each input is from.
use std::sync::Arc;

use askama_web::WebTemplate;
use axum::extract::State;

use crate::planning::explain::standing;
use crate::planning::workings::{Derivation, Origin};
use crate::services::rug_plan::{self, RugPlan};
use crate::store::rugs::Rug;
use crate::store::{Read, RugId};
use crate::units::Units;
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/worked.html")]
pub(super) struct RugWorkedPage {
    layout: Layout,
    rug: Rug,
    known: Arc<RugPlan>,
    workings: Vec<Derivation>,
    units: Units,
}

pub(super) async fn worked(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
) -> Result<RugWorkedPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let meetings = rug_plan::meetings(&mut read, &rug).await?;
    let units = me.units();
    let (known, _) = rug_plan::load(&mut read, &rug, units).await?;
    let calendar = super::calendar(&app, &me, &mut read, (&rug, &known), &meetings).await?;
    let at = &known.status;
    let stands = standing(&known.plan, &at.progress, &at.sufficiency, calendar.room);
    let workings = known.plan.workings.iter().cloned().chain(stands).collect();
    Ok(RugWorkedPage { layout: me.layout(), rug, known, workings, units })
}

/// Where an input is from, in words, with its range where it is in doubt.
pub(super) fn from(origin: &Origin, units: Units) -> String {
    match origin {
        Origin::Chosen => "chosen".into(),
        Origin::Logged => "from the rug’s log".into(),
        Origin::Measured { low, high } => {
            format!("measured here; eight in ten between {} and {}", low.show(units), high.show(units))
        }
        Origin::Learnt { evidence, low, high } => {
            let (low, high) = (low.show(units), high.show(units));
            format!("learnt from this class, {low} to {high} ({})", evidence.words())
        }
        Origin::Default { low, high, source } if low == high => {
            format!("a default nobody measured; what it is off by is in the learnt pace ({source})")
        }
        Origin::Default { low, high, source } => {
            format!("a default nobody measured, {} to {} ({source})", low.show(units), high.show(units))
        }
        Origin::Worked { .. } => "worked out".into(),
    }
}
