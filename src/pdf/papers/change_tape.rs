//! The change tape: the rug's length at full size, to hold along the frame. A line where each band begins, an arrow where each
//! meeting should end, a ruler down the side.
use super::bands::{Coloured, each, spread};
use crate::pdf::PaperError;
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::hatch::Hatch;
use crate::pdf::layout::lanes::{Lane, WIDE};
use crate::pdf::layout::sheet::{Part, Size};
use crate::pdf::layout::text::{POINT, Weight, shortened, width};
use crate::planning::Plan;
use crate::units::isolated;
use crate::units::{Length, Units};

/// Where a stretch of work should end.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// From the start of the weaving.
    pub place: Length,
    /// The end of what: `Wed 14 Oct`.
    pub when: String,
    /// Rows woven by then.
    pub rows: u32,
}

impl Target {
    /// The targets of a plan: rows woven by the end of each stretch of work, named by `when`. Stretches without weaving have
    /// none.
    pub fn of(plan: &Plan, rows_by_slot: &[u32], when: impl Fn(usize) -> String) -> Vec<Self> {
        let mut before = 0;
        let mut targets = Vec::new();
        for (slot, &rows) in rows_by_slot.iter().enumerate() {
            if rows > before {
                let (woven, far) = plan.pattern.woven_to(rows);
                let place = if far { plan.length - woven } else { woven };
                targets.push(Self { place, when: when(slot), rows });
            }
            before = before.max(rows);
        }
        targets
    }
}

/// What the tape is made of.
pub struct ChangeTape<'a> {
    /// The rug's name, and whose it is.
    pub name: &'a str,
    /// Who made it, which plan, of when.
    pub foot: &'a str,
    /// The plan.
    pub plan: &'a Plan,
    /// The names of its colours.
    pub colours: &'a [String],
    /// Where meetings should end.
    pub targets: &'a [Target],
    /// Where the live page is; nothing for a plan that is kept nowhere.
    pub link: Option<&'a str>,
    /// How lengths are written.
    pub units: Units,
}

/// The labels' size in points.
const LABEL: f64 = 8.0;
/// Where within a lane the hatches begin, and where the labels do.
const HATCHES: f64 = 11.0;
const LABELS: f64 = 27.0;

/// A label on its way: where it points, and what it says.
struct Label {
    place: f64,
    lines: Vec<String>,
    bold: bool,
}

impl ChangeTape<'_> {
    /// The tape as PDF.
    ///
    /// # Errors
    /// [`PaperError`] when it can't be written.
    pub fn pdf(&self, size: Size) -> Result<Vec<u8>, PaperError> {
        self.paper(size)?.finish()
    }

    /// The tape before it is written.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the link is too long.
    pub fn paper(&self, size: Size) -> Result<Paper, PaperError> {
        let rug = Coloured { plan: self.plan, colours: self.colours, units: self.units };
        let foot = Foot { text: self.foot.to_owned(), bars: true };
        let mut paper = Paper::new(&format!("Change tape, {}", self.name), size, false, 9.5, foot);
        paper.head(
            "Change tape, full size",
            &isolated(self.name),
            &format!("{} woven, {} bands", self.plan.length.show(self.units), self.plan.pattern.bands.len()),
            self.link.map(|link| (link, "the live page")),
        )?;
        paper.paragraph(
            "Print at 100 % and measure the bars first. Cut the lanes out along their edges, and glue each to the tab of the \
             one before, edge on line. Hold the tape along the frame, its first line at the first row: a line where each \
             band begins, an arrow where each meeting should end.",
            1.0,
            Weight::Regular,
        );
        paper.gap(0.4);
        paper.key(&rug);
        paper.y += 4.0;
        let labels = self.labels(&rug);
        let places: Vec<f64> = labels.iter().map(|label| label.place).collect();
        paper.lanes(self.plan.length.mm(), &places, |paper, lane| self.lane(paper, lane, &labels));
        Ok(paper)
    }

    fn labels(&self, rug: &Coloured<'_>) -> Vec<Label> {
        let band = |(n, band): (usize, &crate::planning::pattern::BandRows)| {
            let [first, other] = band.colours.map(|id| rug.colour(id));
            let colours = if first == other { first } else { format!("{first} / {other}") };
            Label {
                place: band.start.mm(),
                lines: vec![
                    format!("Band {}, {}", n + 1, rug.letters(band)),
                    colours,
                    format!("from {}, row {}", band.start.show(self.units), band.from_row + 1),
                ],
                bold: true,
            }
        };
        let target = |target: &Target| Label {
            place: target.place.mm(),
            lines: vec![
                format!("End of {}", target.when),
                format!("at {}, row {}", target.place.show(self.units), target.rows),
            ],
            bold: false,
        };
        let mut labels: Vec<Label> = self
            .plan
            .pattern
            .bands
            .iter()
            .enumerate()
            .map(band)
            .chain(self.targets.iter().map(target))
            .collect();
        labels.sort_by(|a, b| a.place.total_cmp(&b.place));
        labels
    }

    fn lane(&self, paper: &mut Paper, lane: Lane, labels: &[Label]) {
        self.ruler(paper, lane);
        for band in &self.plan.pattern.bands {
            let (from, to) = (band.start.mm().max(lane.from), band.end.mm().min(lane.to));
            if from >= to {
                continue;
            }
            for (n, colour) in band.colours.into_iter().enumerate() {
                let area = [lane.left + HATCHES + 7.0 * n as f64, lane.y(from), 7.0, to - from];
                paper.sheet.hatch(area, Hatch::of(usize::from(colour)));
                paper.sheet.rule([area[0], area[1], area[0], area[1] + area[3]], 0.15);
            }
            let right = lane.left + HATCHES + 14.0;
            paper.sheet.rule([right, lane.y(from), right, lane.y(to)], 0.15);
        }
        // What ends on the lane's very end belongs there: nothing comes after the last lane.
        let end = self.plan.length.mm();
        let here = |label: &&Label| lane.shows(label.place) || (label.place >= end - 0.001 && lane.to >= end);
        let here: Vec<&Label> = labels.iter().filter(here).collect();
        let (from, to) = (lane.left + HATCHES, lane.left + HATCHES + 14.0);
        for label in &here {
            let y = lane.y(label.place.min(lane.to));
            if label.bold {
                paper.sheet.fill(vec![[from - 1.0, y - 0.25, to - from + 1.0, 0.5]], 0);
            } else {
                // An arrowhead and a dashed line: told from a band's line without colour.
                paper.sheet.lines(vec![[from, y, to, y]], 0.35, Some([1.2, 0.8]));
                paper.sheet.lines(
                    vec![
                        [to, y, to + 2.0, y - 1.2],
                        [to, y, to + 2.0, y + 1.2],
                        [to + 2.0, y - 1.2, to + 2.0, y + 1.2],
                    ],
                    0.35,
                    None,
                );
            }
        }
        let step = LABEL * POINT * 1.2;
        let (top, room) = (lane.top + 0.6, lane.to - lane.from - 1.1);
        // Where there is no room for all they say, labels say the first line; where not even for that, some bands have none.
        let full = 3.0 * step + 0.8;
        let (high, lines) = if full * here.len() as f64 <= room { (full, 3) } else { (step + 0.4, 1) };
        let targets = here.iter().filter(|label| !label.bold).count();
        let each = each(here.len() - targets, high, room - high * targets as f64);
        let mut bands = 0..;
        let shown =
            here.into_iter().filter(|label| !label.bold || bands.next().is_some_and(|n| n % each == 0));
        let shown: Vec<&Label> = shown.collect();
        let wanted: Vec<f64> = shown.iter().map(|label| lane.y(label.place) + 0.6).collect();
        let places = spread(&wanted, high, top, top + room.max(high * shown.len() as f64));
        for (label, top) in shown.into_iter().zip(places) {
            let y = lane.y(label.place.min(lane.to));
            let lead = if label.bold { to } else { to + 2.0 };
            paper.sheet.rule([lead, y, lane.left + LABELS + 1.5, top + step * 0.75], 0.15);
            let most = WIDE - LABELS - 3.0;
            let id = paper.sheet.begin(Part::Paragraph);
            for (n, text) in label.lines.iter().take(lines).enumerate() {
                let weight = if label.bold && n == 0 { Weight::Bold } else { Weight::Regular };
                // Names may be cut short. The last line is figures: those are set smaller rather than cut.
                let (text, points) = if n + 1 == label.lines.len() {
                    (text.clone(), LABEL * (most / width(text, LABEL, weight)).min(1.0))
                } else {
                    (shortened(text, LABEL, weight, most), LABEL)
                };
                paper.sheet.text(
                    lane.left + LABELS + 2.0,
                    top + step * (n as f64 + 0.9),
                    &text,
                    points,
                    weight,
                );
            }
            paper.sheet.end(id);
        }
    }

    /// Ticks down the left edge: every quarter inch with a figure for each inch, or every half centimetre.
    fn ruler(&self, paper: &mut Paper, lane: Lane) {
        let (apart, figures) = match self.units {
            Units::Inches => (25.4 / 4.0, 4_i64),
            Units::Metric => (5.0, 2),
        };
        let mut ticks = Vec::new();
        let mut n = (lane.from / apart).ceil() as i64;
        while apart * n as f64 <= lane.to {
            let y = lane.y(apart * n as f64);
            let whole = n % figures == 0;
            ticks.push([lane.left, y - 0.1, if whole { 4.5 } else { 2.5 }, 0.2]);
            if whole && y > lane.top + 1.5 && y < lane.y(lane.to) - 1.5 {
                let figure = (n / figures).to_string();
                paper.sheet.text(lane.left + 5.2, y + 0.9, &figure, 7.0, Weight::Regular);
            }
            n += 1;
        }
        paper.sheet.fill(ticks, 0);
    }
}
