//! Two papers for the weaver at the frame: the rows to read off, and the warp's way from nail to nail.
use std::sync::Arc;

use askama_web::WebTemplate;
use axum::extract::State;

use crate::drawing::rug_face::hatch_swatch;
use crate::drawing::warp_path::PathPicture;
use crate::pdf::{BY_CHART, Hatch, far_row, passed_by};
use crate::planning::ColourId;
use crate::planning::pattern::{AtRod, Face};
use crate::planning::reading::{ReadingLine, lines};
use crate::services::paper_data::{RugPaper, Standing};
use crate::services::rug_plan::{self, RugPlan};
use crate::store::rugs::Rug;
use crate::store::{Read, RugId};
use crate::units::Length;
use crate::units::Units;
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Error, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/reading.html")]
pub(super) struct ReadingPage {
    layout: Layout,
    rug: Rug,
    known: Arc<RugPlan>,
    lines: Vec<ReadingLine>,
    /// Where the rug stands.
    standing: Standing,
    hatches: Vec<usize>,
    printed: String,
    units: Units,
}

impl ReadingPage {
    /// A colour with its letter, as on the PDF.
    fn colour(&self, id: &ColourId) -> String {
        let at = usize::from(*id);
        format!("{} {}", Hatch::letter(at), self.known.input.colours[at].name)
    }

    /// A colour's hatch, as on the PDF.
    fn hatch(&self, id: &ColourId) -> String {
        hatch_swatch(self.hatches.get(usize::from(*id)).copied().unwrap_or_default())
    }

    /// What shows across a row of a chart, from the weaver's left.
    fn read_across(&self, line: &ReadingLine) -> Option<String> {
        line.read_across(|id| self.known.input.colours[usize::from(id)].name.clone())
    }

    fn charted(&self) -> bool {
        self.lines.iter().any(|line| !line.across.is_empty())
    }

    /// Whether the two strands trade places at the rod, so that odd and even rows differ.
    fn trades(&self) -> bool {
        self.known.plan.pattern.at_rod == AtRod::Trade
    }

    /// Where the halves meet, in words; nothing for a rug woven from one end.
    fn joint(&self) -> Option<String> {
        let joint = self.known.plan.pattern.joint()?;
        let (first, second) = (joint.row, self.known.plan.weft.rows - joint.row);
        let says = if joint.matches {
            "there the figure goes on as in a rug woven from one end."
        } else {
            "there the figure jumps: two rows show the wrong strand beside each other. Beginning the second half with the \
             other strand mends it."
        };
        Some(format!(
            "The halves meet after {first} rows from the start and {second} from the far end; {says}"
        ))
    }

    /// Whether a half begins with this line, and which.
    fn half_begins(&self, i: &usize) -> Option<&'static str> {
        let far = self.lines[*i].from_far_end;
        let before = i.checked_sub(1).map(|before| self.lines[before].from_far_end);
        match (before, far) {
            (None, _) if self.known.plan.pattern.joint().is_some() => Some("From the start to the middle"),
            (Some(false), true) => Some("The frame turned: from the far end to the middle"),
            _ => None,
        }
    }
}

pub(super) async fn reading(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<RugId>,
) -> Result<ReadingPage> {
    let (reader, paper) = super::paper(&app, &me, &mut read, id).await?;
    let (standing, hatches) = (paper.standing(me.units()), paper.hatches());
    let RugPaper { rug, known, .. } = paper;
    Ok(ReadingPage {
        layout: me.layout(),
        lines: lines(&known.plan.pattern),
        standing,
        hatches,
        printed: reader.printed(),
        units: me.units(),
        rug,
        known,
    })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/way.html")]
pub(super) struct WayPage {
    layout: Layout,
    rug: Rug,
    known: Arc<RugPlan>,
    front: String,
    back: String,
    /// The shortest strand and the longest, nail to nail.
    strands: (Length, Length),
    units: Units,
}

impl WayPage {
    /// How it is wound, in a sentence.
    fn said(&self) -> String {
        let way = &self.known.plan.warp.way;
        let (Some(first), Some(last)) = (way.turns.first(), way.turns.last()) else { return String::new() };
        let strip = if way.doubled { "Two strips together are" } else { "The strip is" };
        let round = match way.extra_wraps {
            0 => "round each nail".to_owned(),
            1 => "round each nail and once more round it".to_owned(),
            more => format!("round each nail and {more} times more round it"),
        };
        format!(
            "{strip} tied at {}, led across to the other row, {round}, back to the next nail of the first row, and so \
             on over {} nails, and tied at {}.",
            first.nail,
            way.nails(),
            last.nail
        )
    }
}

pub(super) async fn way(me: CurrentUser, mut read: Read, Id(id): Id<RugId>) -> Result<WayPage> {
    let rug = super::load(&mut read, &me, id).await?;
    let units = me.units();
    let (known, _) = rug_plan::load(&mut read, &rug, units).await?;
    let (spec, warp) = (&known.input.spec, &known.plan.warp);
    let fault = |e: crate::planning::warp::nail_rows::RowsError| Error::Internal(e.to_string());
    let places = spec.rows.places(&spec.frame, units).map_err(fault)?;
    let span = spec.frame.span();
    let draw = |face, id| PathPicture { path: &warp.way, places: &places, span, face, id }.svg();
    let lengths = warp.way.strand_lengths(span, &warp.wrap);
    let strands = (lengths.iter().copied().min(), lengths.iter().copied().max());
    Ok(WayPage {
        layout: me.layout(),
        front: draw(Face::Front, "way-front"),
        back: draw(Face::Back, "way-back"),
        strands: (strands.0.unwrap_or_default(), strands.1.unwrap_or_default()),
        units,
        rug,
        known,
    })
}
