//! "How this was worked out": every number of a plan with its formula, what was put in, and where each input is from.
use askama_web::WebTemplate;
use axum::extract::{Path, State};
use axum::response::{IntoResponse as _, Response};

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
    let plan = super::known(&app, &rug, me.units()).await?.0.plan;
    Ok(WorkedPage { shell: me.shell(), rug, workings: plan.workings, units: me.units() }.into_response())
}

/// Where an input is from, in words, with its range where it is in doubt.
fn from(origin: &Origin, units: Units) -> String {
    match origin {
        Origin::Chosen => "chosen".into(),
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
