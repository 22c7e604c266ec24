//! The reading card: the rows in the order they are woven, to tick off at the frame.
use super::bands::Coloured;
use super::warp_card::{far_row, passed_by};
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::sheet::Size;
use crate::pdf::layout::table::{Column, TICK};
use crate::pdf::layout::text::Weight;
use crate::pdf::{FROM_A_METRE, LARGE, PaperError};
use crate::planning::pattern::AtRod;
use crate::planning::reading::{ReadingLine, lines};
use crate::services::guide::named;
use crate::services::paper_data::Standing;
use crate::store::rugs::Rug;
use crate::units::isolated;

/// What the card is made of.
pub struct ReadingCard<'a> {
    /// The workroom's name.
    pub workroom: &'a str,
    /// The rug.
    pub rug: &'a Rug,
    /// Its plan and colours.
    pub coloured: Coloured<'a>,
    /// Where it stands.
    pub standing: &'a Standing,
    /// Where the live page is.
    pub link: &'a str,
    /// The day it is printed, written out.
    pub printed: &'a str,
}

/// How rows of a chart are read and woven.
pub const BY_CHART: &str = "Rows with counts are a picture: so many units of each colour, from your left; read them backwards in a row that you weave to your left, \
     and begin with the strand of the first. Where a count is 2 or more, the two strands turn once more between these units, so that the \
     same colour stays in front.";

/// The sizes of type that are tried.
const SIZES: [f64; 3] = [14.0, 12.0, 10.5];

impl ReadingCard<'_> {
    /// The card as PDF; in large print (18 points) when asked for.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size, large: bool) -> Result<Vec<u8>, PaperError> {
        self.paper(size, large)?.finish()
    }

    /// The card before it is written.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the link is too long.
    pub fn paper(&self, size: Size, large: bool) -> Result<Paper, PaperError> {
        if large {
            return self.laid_out(size, LARGE, true);
        }
        // The largest that leaves it on one page with whole heads; a card of several takes the smallest.
        for points in SIZES {
            let paper = self.laid_out(size, points, false)?;
            let rows: Vec<_> = lines(&self.coloured.plan.pattern).iter().map(|line| self.row(line)).collect();
            if paper.sheet.pages() == 1 && paper.has_room(&columns(), &rows) {
                return Ok(paper);
            }
        }
        self.laid_out(size, SIZES[SIZES.len() - 1], false)
    }

    fn laid_out(&self, size: Size, points: f64, large: bool) -> Result<Paper, PaperError> {
        let (rug, plan) = (self.rug, self.coloured.plan);
        let text = format!("Revision {} of the plan, printed {}.", rug.revision, self.printed);
        let title = format!("Reading card, {}", rug.fields.name);
        let mut paper = Paper::new(&title, size, false, points, Foot { text, bars: false });
        paper.stacked = large;
        let tag =
            rug.frame_tag.as_ref().map_or_else(String::new, |tag| format!(" · frame {}", isolated(tag)));
        paper.head(
            &format!("{} · Reading card", isolated(self.workroom)),
            &isolated(&rug.fields.name),
            &format!(
                "{} · {} rows over {} units of {} warp strands{tag}",
                isolated(&rug.weaver),
                plan.weft.rows,
                plan.warp.units,
                rug.fields.unit_size
            ),
            Some((self.link, "the live page")),
        )?;
        paper.standing(self.standing);
        let places = if plan.pattern.at_rod == AtRod::Trade {
            "trade places: each unit shows the other strand in the next row"
        } else {
            "keep their places: each unit shows the same strand in every row"
        };
        paper.strong(&format!(
            "At the rod the two strands {places}. “At your left” is the colour over the leftmost unit as the frame lies \
             before you. “Reaches” is measured from the end that the rows are woven from. {}.",
            named("rod-turn")
        ));
        if lines(&plan.pattern).iter().any(|line| !line.across.is_empty()) {
            paper.gap(0.6);
            paper.paragraph(BY_CHART, 1.0, Weight::Regular);
        }
        if let Some(joint) = plan.pattern.joint() {
            paper.gap(0.6);
            let says = if joint.matches {
                "there the figure goes on as in a rug woven from one end."
            } else {
                "there the figure jumps: two rows show the wrong strand beside each other."
            };
            let (first, second) = (joint.row, plan.weft.rows - joint.row);
            paper.paragraph(
                &format!(
                    "The halves meet after {first} rows from the start and {second} from the far end; {says}"
                ),
                1.0,
                Weight::Regular,
            );
        }
        for (words, step) in [(passed_by(rug, plan), "wind-on"), (Some(far_row(plan)), "last-row")] {
            let Some(words) = words else { continue };
            paper.gap(0.6);
            paper.paragraph(&format!("{words} {}.", named(step)), 1.0, Weight::Regular);
        }
        paper.gap(0.6);
        let lines = lines(&plan.pattern);
        let (near, far): (Vec<_>, Vec<_>) = lines.into_iter().partition(|line| !line.from_far_end);
        let halves = plan.pattern.joint().is_some();
        for (lines, words) in [
            (near, "From the start to the middle"),
            (far, "The frame turned: from the far end to the middle"),
        ] {
            if lines.is_empty() {
                continue;
            }
            paper.gap(0.8);
            if halves {
                paper.heading(2, words);
            }
            let rows: Vec<_> = lines.iter().map(|line| self.row(line)).collect();
            paper.table(&columns(), &rows);
        }
        Ok(paper)
    }

    fn row(&self, line: &ReadingLine) -> Vec<String> {
        let rug = &self.coloured;
        let strip =
            line.strip.map_or_else(String::new, |strip| format!(", strips of {}", strip.show(rug.units)));
        let across = line.read_across(|id| Hatch::letter(usize::from(id)));
        let left = match line.colours_at_left() {
            _ if across.is_some() => across.unwrap_or_default(),
            // Their letters are enough: the names stand beside.
            Some([odd, even]) if odd != even => {
                let [odd, even] = [odd, even].map(|id| Hatch::letter(usize::from(id)));
                format!("odd rows {odd}, even rows {even}")
            }
            Some([one, _]) => rug.colour(one),
            None => rug.colour(line.colours[0]),
        };
        vec![
            format!("{} ({})", line.numbers(), line.rows()),
            rug.cell(line.colours[0]),
            format!("{}{strip}", rug.cell(line.colours[1])),
            left,
            line.until.show(rug.units),
            TICK.to_owned(),
        ]
    }
}

fn columns() -> [Column; 6] {
    [
        Column::words("Rows").strong().large(FROM_A_METRE),
        Column::words("First strand"),
        Column::words("Other strand"),
        Column::words("At your left"),
        Column::figures("Reaches").large(FROM_A_METRE),
        Column::words("Done"),
    ]
}
