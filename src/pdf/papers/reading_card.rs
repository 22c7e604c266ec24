//! The reading card: the rows in the order they are woven, to tick off at the frame.
use super::bands::Coloured;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::sheet::Size;
use crate::pdf::layout::table::{Column, TICK};
use crate::pdf::layout::text::Weight;
use crate::pdf::{LARGE, PaperError};
use crate::planning::pattern::AtRod;
use crate::planning::reading::{ReadingLine, lines};
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
    /// Where the live page is.
    pub link: &'a str,
    /// The day it is printed, written out.
    pub printed: &'a str,
}

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
        let (rug, plan) = (self.rug, self.coloured.plan);
        let text = format!("Revision {} of the plan, printed {}.", rug.revision, self.printed);
        let points = if large { LARGE } else { 10.5 };
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
        let places = if plan.pattern.at_rod == AtRod::Trade {
            "trade places: each unit shows the other strand in the next row"
        } else {
            "keep their places: each unit shows the same strand in every row"
        };
        paper.strong(&format!(
            "At the rod the two strands {places}. “At your left” is the colour over the leftmost unit as the frame lies \
             before you. “Reaches” is measured from the end that the rows are woven from."
        ));
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
        paper.gap(0.6);
        paper.key(&self.coloured);
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
            self.rows(&mut paper, &lines);
        }
        Ok(paper)
    }

    fn rows(&self, paper: &mut Paper, lines: &[ReadingLine]) {
        let columns = [
            Column::words("Rows"),
            Column::words("First strand"),
            Column::words("Other strand"),
            Column::words("At your left"),
            Column::figures("Reaches"),
            Column::words("Done"),
        ];
        let rug = &self.coloured;
        let row = |line: &ReadingLine| {
            let strip =
                line.strip.map_or_else(String::new, |strip| format!(", strips of {}", strip.show(rug.units)));
            let left = match line.colours_at_left() {
                // Their letters are enough: the names stand beside, and in the key.
                Some([odd, even]) if odd != even => {
                    let [odd, even] = [odd, even].map(|id| Hatch::letter(usize::from(id)));
                    format!("odd rows {odd}, even rows {even}")
                }
                Some([one, _]) => rug.colour(one),
                None => rug.colour(line.colours[0]),
            };
            vec![
                format!("{}–{} ({})", line.first, line.last, line.rows()),
                rug.colour(line.colours[0]),
                format!("{}{strip}", rug.colour(line.colours[1])),
                left,
                line.until.show(rug.units),
                TICK.to_owned(),
            ]
        };
        paper.table(&columns, &lines.iter().map(row).collect::<Vec<_>>());
    }
}
