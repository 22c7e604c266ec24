//! The warp card: one page of paper, Letter or A4, black and white first.
use askama_web::WebTemplate;
use axum::extract::State;

use crate::drawing::qr;
use crate::drawing::rug_face::{Ink, hatch_swatch};
use crate::pdf::{CARE, CAUTION, Hatch, far_row, first_row, passed_by, turned};
use crate::planning::ColourId;
use crate::planning::pattern::Face;
use crate::planning::reading::{rows_of_bands, rows_said};
use crate::services::paper_data::{RugPaper, Standing};
use crate::store::{Read, RugId};
use crate::units::Units;
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/card.html")]
pub(super) struct CardPage {
    layout: Layout,
    /// What the card says, on the screen as on the PDF.
    paper: RugPaper,
    picture: String,
    qr: String,
    /// Where the rug stands.
    standing: Standing,
    /// Its steps: when, and what.
    steps: Vec<(String, String)>,
    printed: String,
    units: Units,
}

impl CardPage {
    /// A colour with its letter, as on the PDF.
    fn colour(&self, id: &ColourId) -> String {
        let at = usize::from(*id);
        format!("{} {}", Hatch::letter(at), self.paper.known.input.colours[at].name)
    }

    /// A colour's number in the picture's list of hatches.
    fn hatch(&self, id: &ColourId) -> String {
        hatch_swatch(self.paper.hatches().get(usize::from(*id)).copied().unwrap_or_default())
    }

    /// The rows of each band, as the weaver counts them.
    fn rows(&self) -> Vec<String> {
        rows_of_bands(&self.paper.known.plan.pattern).iter().map(|rows| rows_said(rows)).collect()
    }

    fn total_time(&self) -> String {
        let m = &self.paper.known.plan.minutes;
        (m.prepare.expected + m.weave.expected + m.finish.expected).show()
    }

    /// Whether the page needs smaller print to stay one page.
    fn dense(&self) -> bool {
        let plan = &self.paper.known.plan;
        plan.pattern.bands.len() + plan.weft.colours.len() > 9 || self.steps.len() > 7
    }
}

pub(super) async fn card(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
) -> Result<CardPage> {
    let (reader, paper) = super::paper(&app, &me, &mut read, id).await?;
    Ok(CardPage {
        layout: me.layout(),
        picture: paper.known.input.picture(&paper.known.plan, Face::Front, Ink::Hatch, "card")?,
        qr: qr::svg(&paper.link(&reader))?,
        printed: reader.printed(),
        standing: paper.standing(me.units()),
        steps: paper.steps(),
        units: me.units(),
        paper,
    })
}
