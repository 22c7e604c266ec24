//! Two papers for the weaver at the frame: the rows to read off, and the warp's way from nail to nail.
use askama_web::WebTemplate;
use axum::extract::State;

use crate::drawing::warp_path::PathPicture;
use crate::pdf::Hatch;
use crate::planning::pattern::{AtRod, Face};
use crate::planning::reading::{ReadingLine, lines};
use crate::planning::{ColourId, Plan};
use crate::services::rug_plan::RugPlan;
use crate::store::rugs::{Colour, Rug};
use crate::store::{Read, RugId};
use crate::units::Length;
use crate::units::Units;
use crate::units::dates;
use crate::web::http::id::Id;
use crate::web::{App, CurrentUser, Error, Layout, Result};

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/reading.html")]
pub(super) struct ReadingPage {
    layout: Layout,
    rug: Rug,
    plan: Plan,
    lines: Vec<ReadingLine>,
    colours: Vec<Colour>,
    printed: String,
    units: Units,
}

impl ReadingPage {
    /// A colour with its letter, as on the PDF.
    fn colour(&self, id: &ColourId) -> String {
        let at = usize::from(*id);
        format!("{} {}", Hatch::letter(at), self.colours[at].name)
    }

    /// Whether the two strands trade places at the rod, so that odd and even rows differ.
    fn trades(&self) -> bool {
        self.plan.pattern.at_rod == AtRod::Trade
    }

    /// Where the halves meet, in words; nothing for a rug woven from one end.
    fn joint(&self) -> Option<String> {
        let joint = self.plan.pattern.joint()?;
        let (first, second) = (joint.row, self.plan.weft.rows - joint.row);
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
            (None, _) if self.plan.pattern.joint().is_some() => Some("From the start to the middle"),
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
    let rug = super::load(&mut read, &me, id).await?;
    let (RugPlan { input, plan, .. }, _) = super::known(&mut read, &rug, me.units()).await?;
    Ok(ReadingPage {
        layout: me.layout(),
        lines: lines(&plan.pattern),
        colours: input.colours,
        printed: dates::day(me.today(&app)),
        units: me.units(),
        rug,
        plan,
    })
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "rugs/way.html")]
pub(super) struct WayPage {
    layout: Layout,
    rug: Rug,
    plan: Plan,
    front: String,
    back: String,
    /// The shortest strand and the longest, nail to nail.
    strands: (Length, Length),
    units: Units,
}

impl WayPage {
    /// How it is wound, in a sentence.
    fn said(&self) -> String {
        let way = &self.plan.warp.way;
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
    let (RugPlan { input, plan, .. }, _) = super::known(&mut read, &rug, units).await?;
    let spec = &input.spec;
    let fault = |e: crate::planning::warp::nail_rows::RowsError| Error::Internal(e.to_string());
    let places = spec.rows.places(&spec.frame, units).map_err(fault)?;
    let span = spec.frame.span();
    let draw = |face, id| PathPicture { path: &plan.warp.way, places: &places, span, face, id }.svg();
    let lengths = plan.warp.way.strand_lengths(span, &plan.warp.wrap);
    let strands = (lengths.iter().copied().min(), lengths.iter().copied().max());
    Ok(WayPage {
        layout: me.layout(),
        front: draw(Face::Front, "way-front"),
        back: draw(Face::Back, "way-back"),
        strands: (strands.0.unwrap_or_default(), strands.1.unwrap_or_default()),
        units,
        rug,
        plan,
    })
}
