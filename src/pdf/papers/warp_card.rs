//! The warp card: what a weaver has beside the frame. One page where it fits, large print on as many as it takes.
use super::bands::Coloured;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::sheet::Size;
use crate::pdf::layout::table::Column;
use crate::pdf::layout::text::Weight;
use crate::pdf::{LARGE, PaperError};
use crate::planning::warp::winding::Nail;
use crate::planning::{ColourId, Plan, WovenFrom};
use crate::services::guide::named;
use crate::services::paper_data::Standing;
use crate::store::cloth::promises::Promise;
use crate::store::rugs::Rug;
use crate::units::{Units, isolated};

/// What the card is made of.
pub struct WarpCard<'a> {
    /// The workroom's name.
    pub workroom: &'a str,
    /// The rug.
    pub rug: &'a Rug,
    /// Its plan.
    pub plan: &'a Plan,
    /// The names of its colours, by [`ColourId`].
    pub colours: &'a [String],
    /// Their hatches, as [`Coloured`] takes them.
    pub hatches: &'a [Hatch],
    /// Where it stands.
    pub standing: &'a Standing,
    /// Its steps: when, and what.
    pub steps: &'a [(String, String)],
    /// Cloth from the shelf that is promised to it.
    pub promises: &'a [Promise],
    /// Where the live page is.
    pub link: &'a str,
    /// The day it is printed, written out.
    pub printed: &'a str,
    /// How lengths and weights are written.
    pub units: Units,
}

/// How to care for a rug: on every card, of paper and on the page.
pub const CARE: &str = "Wash delicate and cool, in a bag; reshape it flat, dry it on a line. It slides on a floor without a \
                    backing: some backings hold latex. Keep it from fires and heaters.";
/// The usual caution: on every card, of paper and on the page.
pub const CAUTION: &str = "Cutters and shears are sharp: cut away from the hand, close them when put down. Nails and rod ends \
                       catch fingers and eyes. Cloth dust: tear it by an open window. Rest your hands five minutes in \
                       each hour. The workroom’s own rules and people licensed for the work come first.";

/// The sizes of type that are tried, so that the card is one page and fills it; the one for a card of several.
const SIZES: [f64; 9] = [7.5, 8.0, 8.5, 9.0, 9.5, 10.0, 10.5, 11.0, 12.0];
const SEVERAL: f64 = 9.0;

impl WarpCard<'_> {
    /// The card as PDF; in large print (18 points) when asked for.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size, large: bool) -> Result<Vec<u8>, PaperError> {
        self.paper(size, large)?.finish()
    }

    /// The cards of a class as one file.
    ///
    /// # Errors
    /// [`PaperError`] when one can't be written.
    pub fn all(cards: &[WarpCard<'_>], title: &str, size: Size) -> Result<Vec<u8>, PaperError> {
        let mut whole: Option<Paper> = None;
        for card in cards {
            let mut one = card.paper(size, false)?;
            one.feet();
            match &mut whole {
                Some(whole) => whole.sheet.append(one.sheet),
                None => whole = Some(one),
            }
        }
        let mut whole =
            whole.ok_or_else(|| PaperError::NoRoom("there is no rug to print a card for".into()))?;
        whole.sheet.retitle(title);
        whole.sheet.finish()
    }

    /// The card before it is written.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the link is too long.
    pub fn paper(&self, size: Size, large: bool) -> Result<Paper, PaperError> {
        if large {
            return self.laid_out(size, LARGE, true);
        }
        // The largest that fits, found by halving.
        let (mut best, mut fits, mut misfits) = (None, 0, SIZES.len());
        while fits < misfits {
            let middle = usize::midpoint(fits, misfits);
            let paper = self.laid_out(size, SIZES[middle], false)?;
            if paper.sheet.pages() == 1 {
                (best, fits) = (Some(paper), middle + 1);
            } else {
                misfits = middle;
            }
        }
        best.map_or_else(|| self.laid_out(size, SEVERAL, true), Ok)
    }

    fn laid_out(&self, size: Size, points: f64, stacked: bool) -> Result<Paper, PaperError> {
        let (rug, plan, units) = (self.rug, self.plan, self.units);
        let coloured = Coloured { plan, colours: self.colours, hatches: self.hatches, units };
        let text = format!(
            "{}. Revision {} of the plan, printed {}.",
            isolated(self.workroom),
            rug.revision,
            self.printed
        );
        let mut paper = Paper::new(
            &format!("Warp card, {}", rug.fields.name),
            size,
            false,
            points,
            Foot { text, bars: true },
        );
        paper.stacked = stacked;
        paper.head(
            &format!("{} · Warp card", isolated(self.workroom)),
            &isolated(&rug.fields.name),
            &self.under(),
            Some((self.link, "the live page: is this card still right?")),
        )?;
        paper.standing(self.standing);
        paper.boxes(&self.boxes());
        paper.gap(0.8);
        if self.standing.reached.is_none() {
            paper.strong(&format!("First row. {} {}.", first_row(rug, plan), named("first-row")));
            paper.gap(0.8);
        }
        let reminders =
            [(passed_by(rug, plan), "wind-on"), (turned(plan), "turn"), (Some(far_row(plan)), "last-row")];
        for (reminder, step) in reminders {
            let Some(reminder) = reminder else { continue };
            paper.paragraph(&format!("{reminder} {}.", named(step)), 1.0, Weight::Bold);
            paper.gap(0.4);
        }
        self.weft(&mut paper, &coloured);
        if !self.promises.is_empty() {
            paper.gap(0.5);
            paper.heading(2, "Cloth from the shelf");
            paper.paragraph(&self.cloth(), 0.9, Weight::Regular);
        }
        paper.gap(0.8);
        paper.beside(
            0.66,
            |paper| {
                if stacked {
                    // A heading stays with the beginning of its table.
                    paper.reserve(paper.ems(9.0));
                }
                paper.heading(
                    2,
                    &format!("Colour changes, measured from the start ({})", said_within("new-colour")),
                );
                paper.band_table(&coloured);
                Ok(())
            },
            |paper| {
                paper.face(&coloured, if stacked { 70.0 } else { 40.0 });
                Ok(())
            },
        )?;
        paper.gap(0.8);
        paper.heading(2, "Steps");
        paper.ticks(self.steps, self.steps.len() > 4);
        paper.gap(0.8);
        paper.beside(
            0.5,
            |paper| {
                paper.heading(2, "Take care");
                paper.paragraph(CAUTION, if stacked { 1.0 } else { 0.85 }, Weight::Regular);
                Ok(())
            },
            |paper| {
                paper.heading(2, "Care of the rug");
                paper.paragraph(CARE, if stacked { 1.0 } else { 0.85 }, Weight::Regular);
                Ok(())
            },
        )?;
        Ok(paper)
    }

    fn under(&self) -> String {
        let (rug, plan, units) = (self.rug, self.plan, self.units);
        let frame =
            rug.frame_tag.as_ref().map_or_else(String::new, |tag| format!(" · frame {}", isolated(tag)));
        format!(
            "{} · {} × {} woven{frame}, span {}, {} nails per end, {} rods of {} or more",
            isolated(&rug.weaver),
            plan.width.show(units),
            plan.length.show(units),
            rug.fields.span_nm.show(units),
            plan.warp.nails,
            plan.rods.count,
            plan.rods.least.show(units)
        )
    }

    fn boxes(&self) -> [[String; 3]; 3] {
        let (plan, units, m) = (self.plan, self.units, &self.plan.minutes);
        let f = &self.rug.fields;
        [
            [
                plan.warp.heading().into(),
                plan.warp.length.p90.show_long(units),
                format!(
                    "expected {}; rule of thumb {}",
                    plan.warp.length.expected.show_long(units),
                    plan.warp.rule_of_thumb.show_long(units)
                ),
            ],
            [plan.warp.pieces_heading().into(), plan.warp.pieces(), plan.warp.joined_of(f.warp_kind, units)],
            [
                "Time, expected".into(),
                (m.prepare.expected + m.weave.expected + m.finish.expected).show(),
                format!(
                    "prepare {}, weave {} to {}, finish {}",
                    m.prepare.expected.show(),
                    m.weave.low.show(),
                    m.weave.p90.show(),
                    m.finish.expected.show()
                ),
            ],
        ]
    }

    fn weft(&self, paper: &mut Paper, rug: &Coloured<'_>) {
        let (plan, units) = (self.plan, self.units);
        paper.heading(
            2,
            &format!(
                "Weft by colour, two strands together, {}, {} rows",
                self.rug.fields.weft_kind.facts().title.to_lowercase(),
                plan.weft.rows
            ),
        );
        let columns = [
            Column::words("Colour"),
            Column::figures("Strip to cut"),
            Column::figures("Low"),
            Column::figures("Expected"),
            Column::figures("Take").strong(),
            Column::figures("Joins, about"),
        ];
        let name = |id: ColourId, strip: crate::units::Length| {
            let own = if strip == plan.weft.strip {
                String::new()
            } else {
                format!(" ({} strips)", strip.show(units))
            };
            format!("{}{own}", rug.cell(id))
        };
        let rows: Vec<_> = plan
            .weft
            .colours
            .iter()
            .map(|need| {
                vec![
                    name(need.colour, need.strip),
                    need.cut.p90.show_long(units),
                    need.mass.low.show(units),
                    need.mass.expected.show(units),
                    need.mass.p90.show(units),
                    need.joins.to_string(),
                ]
            })
            .collect();
        paper.table(&columns, &rows);
    }

    fn cloth(&self) -> String {
        let one = |p: &Promise| {
            let part = if p.part.warp {
                "the warp".to_owned()
            } else {
                isolated(&p.part.colour_name.to_lowercase())
            };
            let colour = isolated(&p.bundle_colour.to_lowercase());
            format!("Bundle {}, {colour}, for {part}: {}", p.tag, p.promised_mg.show(self.units))
        };
        format!("{}.", self.promises.iter().map(one).collect::<Vec<_>>().join("; "))
    }
}

/// What is to be minded in the first row: on every card, of paper and on the page.
pub fn first_row(rug: &Rug, plan: &Plan) -> String {
    let places = if rug.fields.strands_trade { "trade" } else { "keep their" };
    let near = &plan.warp.locking.near;
    let held = near.remedy(NAMED).unwrap_or_else(|| "It passes through the loop of each near nail.".into());
    format!(
        "Start at the left rod. One strand goes over {}, the other under them; cross the two at each unit, and go on to \
         the other rod: {} crossings. {held} Push the row down against the nails, count once more, and only then begin the \
         second. At the rod the two strands {places} places.",
        near.row().text(false),
        near.row().units()
    )
}

/// What is to be minded in the row that locks the far end: on every card, of paper and on the page.
pub fn far_row(plan: &Plan) -> String {
    let (far, from) = (&plan.warp.locking.far, plan.pattern.from);
    let turned = from != WovenFrom::OneEnd;
    let row = if turned { "First row from the far end, the frame turned" } else { "Last row" };
    let hook = if turned { "" } else { " Use a crochet hook." };
    let held = far.remedy(NAMED).unwrap_or_else(|| "It passes through the loop of each far nail.".into());
    let change = plan.warp.locking.change(from).map_or_else(String::new, |change| format!(" {change}"));
    format!(
        "{row}, from the left: {}: {} crossings. {held}{hook}{change}",
        far.row().text(turned),
        far.row().units()
    )
}

/// A step's name within a heading.
fn said_within(step: &str) -> String {
    let name = named(step);
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

/// So many nails with an open loop are named on a card; the way of the warp names all.
const NAMED: usize = 3;

/// Which nails the warp goes past, on every card; nothing where it takes each.
pub fn passed_by(rug: &Rug, plan: &Plan) -> Option<String> {
    let winding = &rug.fields.making.winding;
    let every = (winding.every > 1).then(|| {
        let nth = if winding.every == 2 { "second".to_owned() } else { format!("{}th", winding.every) };
        format!("The warp takes every {nth} nail of a row.")
    });
    let mut nails: Vec<Nail> = winding.left_out.iter().chain(&plan.warp.way.idle).copied().collect();
    nails.sort_unstable();
    nails.dedup();
    let nails: Vec<String> = nails.iter().map(ToString::to_string).collect();
    let named = (!nails.is_empty()).then(|| {
        format!(
            "Nails to pass by when winding, counted from the left as seen from the front: {}.",
            nails.join(", ")
        )
    });
    let said: Vec<String> = every.into_iter().chain(named).collect();
    (!said.is_empty()).then(|| said.join(" "))
}

/// What is to be minded where the rug is woven from both ends, on every card.
pub fn turned(plan: &Plan) -> Option<String> {
    let joint = plan.pattern.joint()?;
    Some(format!(
        "Woven from both ends: weave {} rows from the start, turn the frame, and weave {} from the far end. Rows are counted \
         from each end: after the turn they begin with 1 again.",
        joint.row,
        plan.weft.rows - joint.row
    ))
}
