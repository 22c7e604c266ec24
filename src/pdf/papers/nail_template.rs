//! The nail template: the nail places of a frame at full size, to be laid on the wood and drilled through.
use crate::optimize::new_frame::CAUTION;
use crate::pdf::PaperError;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::lanes::{self, Lane};
use crate::pdf::layout::sheet::Size;
use crate::pdf::layout::text::{Weight, width};
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
    /// Between outer nails from corner to corner, both ways, as [`Places::diagonals`] gives them.
    pub diagonals: Option<[Length; 2]>,
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

/// Where within a lane the nails stand, how far their crosses reach, and the labels' size in points: what stands beside them stays
/// clear of the edges that are cut. Sixteenths are read at the bench, so labels are as large as nails and lane allow.
const MIDDLE: f64 = 23.0;
const REACH: f64 = 10.0;
const LABELS: [f64; 3] = [10.0, 8.5, 7.0];
/// What a line takes, in millimetres a point.
const LINE: f64 = 0.386;
/// How far beyond its last nail a strip goes at least.
const AFTER: f64 = 8.0;

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
        let span = self.span.show_fine(self.units);
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
            let square = self.square();
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
            let centre = self.centre();
            let mut places: Vec<f64> = row.places.iter().map(|place| place.mm()).collect();
            let last = places.last().copied().unwrap_or_default();
            places.extend(centre.map(Length::mm));
            places.sort_by(f64::total_cmp);
            // What lies beyond is wood without nails: no page is worth it.
            let needed = (last + AFTER).min(self.long.mm());
            paper.lanes((needed, self.long.mm()), &places, |paper, lane| self.lane(paper, lane, row));
        }
        Ok(paper)
    }

    /// When the frame is square.
    fn square(&self) -> String {
        let Some([one, other]) = self.diagonals.map(|both| both.map(|way| way.show_fine(self.units))) else {
            return String::new();
        };
        let names: Vec<String> = self.rows.iter().map(|row| row.name.to_lowercase()).collect();
        match names.as_slice() {
            [first, second] if one != other => format!(
                " The frame is square when the diagonals between outer nails measure {one} from the first nail of the {first} \
                 to the last of the {second}, and {other} from the last nail of the {first} to the first of the {second}."
            ),
            _ => format!(" The frame is square when both diagonals between outer nails measure {one}."),
        }
    }

    /// The middle between the outer nails of all rows: where the middles of both members belong.
    fn centre(&self) -> Option<Length> {
        let all = || self.rows.iter().flat_map(|row| &row.places);
        Some((*all().min()? + *all().max()?).scale(0.5))
    }

    fn lane(&self, paper: &mut Paper, lane: Lane, row: &NailRow) {
        let x = lane.left + MIDDLE;
        paper.sheet.lines(vec![[x, lane.top, x, lane.y(lane.to)]], 0.15, Some([3.0, 1.5]));
        if let Some(centre) = self.centre().filter(|centre| lane.shows(centre.mm())) {
            let (y, left) = (lane.y(centre.mm()), lane.left + 1.5);
            paper.sheet.fill(vec![[left, y - 0.2, MIDDLE - REACH - 2.0, 0.4]], 0);
            paper.sheet.text(left, y - 0.8, "centre", 6.5, Weight::Bold);
            let place = centre.show_fine(self.units);
            let most = MIDDLE - REACH - 2.0;
            let points = 6.5 * (most / width(&place, 6.5, Weight::Regular)).min(1.0);
            paper.sheet.text(left, y + 2.4, &place, points, Weight::Regular);
        }
        let last = row.places.len();
        // A figure for each nail where they stand far enough apart for it, else for each fifth.
        let apart = row.places.windows(2).map(|pair| (pair[1] - pair[0]).mm()).fold(f64::MAX, f64::min);
        let label = |(n, place): (usize, &Length)| format!("{}: {}", n + 1, place.show_fine(self.units));
        let longest = |points| {
            let wide = |label: String| width(&label, points, Weight::Bold);
            row.places.iter().enumerate().map(label).map(wide).fold(0.0, f64::max)
        };
        let room = lanes::WIDE - MIDDLE - REACH - 3.0;
        let fits = |points: &f64| apart >= points * LINE && longest(*points) <= room;
        let points = LABELS.into_iter().find(fits).unwrap_or(LABELS[2]);
        let high = points * LINE;
        for (n, place) in row.places.iter().enumerate().filter(|(_, place)| lane.shows(place.mm())) {
            let y = lane.y(place.mm());
            paper.sheet.fill(vec![[x - REACH, y - 0.1, 2.0 * REACH, 0.2], [x - 0.1, y - 2.0, 0.2, 4.0]], 0);
            paper.sheet.circle(x, y, (self.nail.mm() / 2.0).max(0.6), 0.15);
            let number = n + 1;
            if apart >= high || number == 1 || (number % 5 == 0 && apart * 5.0 >= high) || number == last {
                let weight = if number % 5 == 0 || number == 1 { Weight::Bold } else { Weight::Regular };
                // Beyond the cross, which must stay clear to be pricked; not over the joint.
                let top = lane.top + 0.9 * high;
                let baseline = (y + 0.35 * high).clamp(top, (lane.y(lane.to) - 0.4).max(top));
                paper.sheet.text(x + REACH + 1.5, baseline, &label((n, place)), points, weight);
            }
        }
    }
}
