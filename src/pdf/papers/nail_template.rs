//! The nail template: the nail places of a frame at full size, to be laid on the wood and drilled through.
use crate::optimize::new_frame::CAUTION;
use crate::pdf::PaperError;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::lanes::Lane;
use crate::pdf::layout::sheet::Size;
use crate::pdf::layout::text::Weight;
use crate::planning::warp::nail_rows::Places;
use crate::units::isolated;
use crate::units::{Length, Units};

/// One row of nails, along its member.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NailRow {
    /// Which: `Both rows`, `Upper row`.
    pub name: String,
    /// The places, in order, from where the strip begins.
    pub places: Vec<Length>,
}

/// What the template is made of.
pub struct NailTemplate<'a> {
    /// Which frame: `18 in × 33 in, 33 nails per end`.
    pub name: &'a str,
    /// The rows that differ.
    pub rows: &'a [NailRow],
    /// How long the strip is: the member, or the row with a hand's breadth at both ends.
    pub long: Length,
    /// What the strip begins at: `the left end of the end member`.
    pub begins: &'a str,
    /// Between the rows.
    pub span: Length,
    /// From an outer nail to the outer nail at the other end of the other row; equal both ways when the frame is square.
    pub diagonal: Option<Length>,
    /// Thickness of a nail.
    pub nail: Length,
    /// Who made it, and when.
    pub foot: &'a str,
    /// How lengths are written.
    pub units: Units,
}

impl NailRow {
    /// What a strip has beyond its outer nails, to be held by, where it begins at no board's end.
    pub const BEYOND: Length = Length::from_nm(20_000_000);

    /// The rows of a frame that is there, and how long their strips are: both begin at one line across the frame, so far
    /// before the first nail of either. Rows that are alike are one.
    pub fn of(places: &Places) -> (Vec<Self>, Length) {
        let all = || places.near.iter().chain(&places.far);
        let first = all().min().copied().unwrap_or(Length::ZERO);
        let last = all().max().copied().unwrap_or(Length::ZERO);
        let from = |row: &[Length]| row.iter().map(|place| *place - first + Self::BEYOND).collect();
        let rows = Self::named([from(&places.near), from(&places.far)], ["Near row", "Far row"]);
        (rows, last - first + Self::BEYOND * 2)
    }

    /// Two rows by their names, or one where they are alike.
    pub fn named([one, other]: [Vec<Length>; 2], [first, second]: [&str; 2]) -> Vec<Self> {
        let row = |name: &str, places| Self { name: name.to_owned(), places };
        if one == other { vec![row("Both rows", one)] } else { vec![row(first, one), row(second, other)] }
    }
}

/// Where within a lane the nails stand, and how far their crosses reach.
const MIDDLE: f64 = 29.0;
const REACH: f64 = 11.0;

impl NailTemplate<'_> {
    /// The template as PDF.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size) -> Result<Vec<u8>, PaperError> {
        self.paper(size)?.finish()
    }

    /// The template before it is written.
    ///
    /// # Errors
    /// Only those of its head, which has no code here.
    pub fn paper(&self, size: Size) -> Result<Paper, PaperError> {
        let foot = Foot { text: self.foot.to_owned(), bars: true };
        let mut paper = Paper::new(&format!("Nail template, {}", self.name), size, false, 9.5, foot);
        let span = self.span.show(self.units);
        for (n, row) in self.rows.iter().enumerate() {
            if n > 0 {
                paper.page_break();
            }
            paper.head(
                "Nail template, full size",
                &isolated(&row.name),
                &format!("{}; {} nails", isolated(self.name), row.places.len()),
                None,
            )?;
            let square = self.diagonal.map_or_else(String::new, |diagonal| {
                format!(
                    " The frame is square when both diagonals between outer nails measure {}.",
                    diagonal.show(self.units)
                )
            });
            paper.paragraph(
                &format!(
                    "Print at 100 % and measure the bars first. Cut the lanes out, glue each to the tab of the one before, edge \
                     on line. Lay the strip with its first edge on {}, its long middle line along the middle of the wood; \
                     prick every cross, drill thinner than the nail. The rows stand {span} apart, nail centre to nail \
                     centre.{square}",
                    self.begins
                ),
                1.0,
                Weight::Regular,
            );
            paper.gap(0.3);
            paper.paragraph(CAUTION, 0.85, Weight::Regular);
            paper.y += 5.0;
            let places: Vec<f64> = row.places.iter().map(|place| place.mm()).collect();
            paper.lanes(self.long.mm(), &places, |paper, lane| self.lane(paper, lane, row));
        }
        Ok(paper)
    }

    fn lane(&self, paper: &mut Paper, lane: Lane, row: &NailRow) {
        let x = lane.left + MIDDLE;
        paper.sheet.lines(vec![[x, lane.top, x, lane.y(lane.to)]], 0.15, Some([3.0, 1.5]));
        let last = row.places.len();
        // A figure for each nail where they stand far enough apart for it, else for each fifth.
        let apart = row.places.windows(2).map(|pair| (pair[1] - pair[0]).mm()).fold(f64::MAX, f64::min);
        for (n, place) in row.places.iter().enumerate().filter(|(_, place)| lane.shows(place.mm())) {
            let y = lane.y(place.mm());
            paper.sheet.fill(vec![[x - REACH, y - 0.1, 2.0 * REACH, 0.2], [x - 0.1, y - 2.0, 0.2, 4.0]], 0);
            paper.sheet.circle(x, y, (self.nail.mm() / 2.0).max(0.6), 0.15);
            let (number, high) = (n + 1, 2.7);
            if apart >= high || number == 1 || (number % 5 == 0 && apart * 5.0 >= high) || number == last {
                let weight = if number % 5 == 0 || number == 1 { Weight::Bold } else { Weight::Regular };
                let words = match number {
                    1 => format!("1: {}", place.show(self.units)),
                    n if n == last || n % 5 == 0 => format!("{n}: {}", place.show(self.units)),
                    n => n.to_string(),
                };
                // Beyond the cross, which must stay clear to be pricked; not over the joint.
                let baseline = (y + 0.95).clamp(lane.top + 2.4, (lane.y(lane.to) - 0.4).max(lane.top + 2.4));
                paper.sheet.text(x + REACH + 1.5, baseline, &words, 7.0, weight);
            }
        }
    }
}
