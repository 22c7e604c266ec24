//! "How this was worked out": every number of a plan with its formula, what was put in, and where each input is from.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};

use super::spec::plan_of;
use crate::craft::Units;
use crate::craft::workings::{Origin, Working};
use crate::store::rugs::Rug;
use crate::web::{App, Me, Result, Shell};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/worked.html")]
struct WorkedPage {
    shell: Shell,
    rug: Rug,
    workings: Vec<Working>,
    units: Units,
}

pub(super) async fn worked(State(app): State<App>, me: Me, path: Path<String>) -> Result<Response> {
    let rug = super::load(&app, &me, path).await?;
    let (_, plan) = plan_of(&rug, me.units())?;
    Ok(WorkedPage { shell: me.shell(), rug, workings: plan.workings, units: me.units() }.into_response())
}

/// Where an input is from, in words, with its range where it is in doubt.
fn from(origin: &Origin, units: Units) -> String {
    match origin {
        Origin::Chosen => "chosen".into(),
        Origin::Measured { low, high } => {
            format!("measured here; eight in ten between {} and {}", low.show(units), high.show(units))
        }
        Origin::Learnt { low, high } => {
            format!("learnt from this class, {} to {}", low.show(units), high.show(units))
        }
        Origin::Default { low, high, source } => {
            format!("a default nobody measured, {} to {} ({source})", low.show(units), high.show(units))
        }
        Origin::Worked { .. } => "worked out".into(),
    }
}
