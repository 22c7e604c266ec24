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
use crate::planning::reading::{RowNumber, rows_of_bands};
use crate::services::guide::named;
use crate::units::isolated;
use crate::units::{Length, Units};

/// Where a stretch of work should end.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// From the start of the weaving.
    pub place: Length,
    /// The end of what: `Wed 14 Oct`.
    pub when: String,
    /// Rows woven by then, of both halves together.
    pub rows: u32,
    /// The last of them.
    pub row: RowNumber,
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
                let row = RowNumber::after(&plan.pattern, rows);
                targets.push(Self { place, when: when(slot), rows, row });
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
    /// Their hatches, as [`Coloured`] takes them.
    pub hatches: &'a [Hatch],
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

/// What a label is of.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Of {
    /// Where a band begins, as one comes from the start.
    Band,
    /// Where a band begins, as one comes from the far end: its label stands on the other side of its line.
    FarBand,
    /// Where a meeting should end.
    Target,
    /// Where the halves meet of a rug woven from both ends.
    Joint,
}

/// A label on its way: where it points, and what it says.
struct Label {
    place: f64,
    lines: Vec<String>,
    of: Of,
    /// How many of the lines, from the first, are names, which may be cut short; the others are figures.
    names: usize,
}

impl Label {
    /// Whether it may give way where there is no room for all.
    fn may_go(&self) -> bool {
        matches!(self.of, Of::Band | Of::FarBand)
    }
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
        let rug = self.coloured();
        let foot = Foot { text: self.foot.to_owned(), bars: true };
        let mut paper = Paper::new(&format!("Change tape, {}", self.name), size, false, 9.5, foot);
        paper.head(
            "Change tape, full size",
            &isolated(self.name),
            &format!("{} woven, {} bands", self.plan.length.show(self.units), self.plan.pattern.bands.len()),
            self.link.map(|link| (link, "the live page")),
        )?;
        paper.paragraph(
            &format!(
                "Print at 100 % and measure the bars first. Cut the lanes out along their edges, and glue each to the tab of the \
                 one before, edge on line. Hold the tape along the frame, its first line at the first row: a line where each \
                 band begins, an arrow where each meeting should end. A new colour: {}.",
                named("new-colour")
            ),
            1.0,
            Weight::Regular,
        );
        if self.plan.pattern.joint().is_some() {
            paper.gap(0.3);
            paper.paragraph(
                "This rug is woven from both ends. Its rows are counted from each end: after the turn the far-end rows begin \
                 with 1 at the tape’s last line, and bands begin at the line above which their words stand. Inches and \
                 centimetres are counted from the start all along.",
                1.0,
                Weight::Regular,
            );
        }
        paper.gap(0.4);
        paper.key(&rug);
        paper.y += 4.0;
        let labels = self.labels(&rug);
        let places: Vec<f64> = labels.iter().map(|label| label.place).collect();
        let long = self.plan.length.mm();
        paper.lanes((long, long), &places, |paper, lane| self.lane(paper, lane, &labels));
        Ok(paper)
    }

    fn coloured(&self) -> Coloured<'_> {
        let Self { plan, colours, hatches, units, .. } = *self;
        Coloured { plan, colours, hatches, units }
    }

    fn labels(&self, rug: &Coloured<'_>) -> Vec<Label> {
        let pattern = &self.plan.pattern;
        let mut labels = Vec::new();
        for (n, (band, stretches)) in pattern.bands.iter().zip(rows_of_bands(pattern)).enumerate() {
            let [first, other] = band.colours.map(|id| rug.colour(id));
            let by = if pattern.by_chart(band.from_row) { ", by its chart" } else { "" };
            let colours = if first == other { first } else { format!("{first} / {other}{by}") };
            let names = [format!("Band {}, {}", n + 1, rug.letters(band)), colours];
            for rows in stretches {
                let row = RowNumber { number: rows.first, from_far_end: rows.from_far_end };
                let at = rows.begins.show(self.units);
                // The far end's words are longer: they stand on two lines rather than in small type.
                let (figures, of) = if rows.from_far_end {
                    (vec![format!("from {at},"), row.short()], Of::FarBand)
                } else {
                    (vec![format!("from {at}, {row}")], Of::Band)
                };
                let lines = names.iter().cloned().chain(figures).collect();
                labels.push(Label { place: rows.begins.mm(), lines, of, names: 2 });
            }
        }
        labels.extend(self.targets.iter().map(|target| {
            let (at, end) = (target.place.show(self.units), format!("End of {}", target.when));
            let lines = if target.row.from_far_end {
                vec![end, format!("at {at},"), target.row.short()]
            } else {
                vec![end, format!("at {at}, {}", target.row)]
            };
            Label { place: target.place.mm(), lines, of: Of::Target, names: 1 }
        }));
        if let Some(joint) = pattern.joint() {
            let place = pattern.woven_to(joint.row).0;
            let far = RowNumber::after(pattern, pattern.rows());
            let lines = vec![
                "The halves meet".to_owned(),
                format!("at {}, row {},", place.show(self.units), joint.row),
                far.short(),
            ];
            labels.push(Label { place: place.mm(), lines, of: Of::Joint, names: 1 });
        }
        labels.sort_by(|a, b| a.place.total_cmp(&b.place));
        labels
    }

    fn lane(&self, paper: &mut Paper, lane: Lane, labels: &[Label]) {
        self.ruler(paper, lane);
        let rug = self.coloured();
        for band in &self.plan.pattern.bands {
            let (from, to) = (band.start.mm().max(lane.from), band.end.mm().min(lane.to));
            if from >= to {
                continue;
            }
            for (n, colour) in band.colours.into_iter().enumerate() {
                let area = [lane.left + HATCHES + 7.0 * n as f64, lane.y(from), 7.0, to - from];
                paper.sheet.hatch(area, rug.hatch(colour));
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
            match label.of {
                Of::Band | Of::FarBand => {
                    paper.sheet.fill(vec![[from - 1.0, y - 0.25, to - from + 1.0, 0.5]], 0);
                }
                Of::Joint => {
                    let lines = [-0.6, 0.4].map(|off| [from - 1.0, y + off, to - from + 3.0, 0.2]);
                    paper.sheet.fill(lines.to_vec(), 0);
                }
                Of::Target => {
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
        }
        let step = LABEL * POINT * 1.2;
        let (top, room) = (lane.top + 0.6, lane.to - lane.from - 1.1);
        // Where there is no room for all they say, labels say the first line; where not even for that, some bands have none.
        let most_lines = here.iter().map(|label| label.lines.len()).max().unwrap_or(3).max(3);
        let full = most_lines as f64 * step + 0.8;
        let (high, lines) =
            if full * here.len() as f64 <= room { (full, most_lines) } else { (step + 0.4, 1) };
        let kept = here.iter().filter(|label| !label.may_go()).count();
        let each = each(here.len() - kept, high, room - high * kept as f64);
        let mut bands = 0..;
        let shown =
            here.into_iter().filter(|label| !label.may_go() || bands.next().is_some_and(|n| n % each == 0));
        // A band that is begun from the far end lies above its line.
        let wanted =
            |label: &&Label| lane.y(label.place) + if label.of == Of::FarBand { 0.2 - high } else { 0.6 };
        let mut shown: Vec<(f64, &Label)> = shown.map(|label| (wanted(&label), label)).collect();
        shown.sort_by(|a, b| a.0.total_cmp(&b.0));
        let wanted: Vec<f64> = shown.iter().map(|(wanted, _)| *wanted).collect();
        let places = spread(&wanted, high, top, top + room.max(high * shown.len() as f64));
        for ((_, label), top) in shown.into_iter().zip(places) {
            let y = lane.y(label.place.min(lane.to));
            let lead = if label.of == Of::Target { to + 2.0 } else { to };
            paper.sheet.rule([lead, y, lane.left + LABELS + 1.5, top + step * 0.75], 0.15);
            let most = WIDE - LABELS - 3.0;
            let id = paper.sheet.begin(Part::Paragraph);
            for (n, text) in label.lines.iter().take(lines).enumerate() {
                let weight = if label.may_go() && n == 0 { Weight::Bold } else { Weight::Regular };
                // Figures are set smaller rather than cut.
                let (text, points) = if n >= label.names {
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
