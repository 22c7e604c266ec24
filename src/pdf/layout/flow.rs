//! A paper that is read from top to bottom: a head, paragraphs, boxes, lists, drawings, on as many pages as it takes, with
//! running feet. Tables are in `table`.
use super::sheet::{MARGIN, Part, Sheet, Size};
use super::text::{POINT, Weight, shortened, width, wrap, wrapped};
use crate::drawing::qr::matrix;
use crate::pdf::{FROM_A_METRE, LARGE, PaperError};

/// What stands at the foot of every page, beside its number.
#[derive(Clone, Debug, Default)]
pub struct Foot {
    /// Which plan this is, of when; who made it.
    pub text: String,
    /// Whether the bars stand there that show whether the printer kept the scale.
    pub bars: bool,
}

/// A paper on its way.
pub struct Paper {
    /// The pages.
    pub sheet: Sheet,
    foot: Foot,
    /// How far down the page is used.
    pub y: f64,
    /// The left edge of what is written.
    pub left: f64,
    /// The right edge.
    pub right: f64,
    /// The size of running text in points.
    pub points: f64,
    /// Whether what could stand side by side stands below each other.
    pub stacked: bool,
    /// Whether the feet are drawn.
    footed: bool,
}

/// How far apart lines stand, in sizes of their type.
pub(in crate::pdf) const LEADING: f64 = 1.28;
/// How high the foot is without bars and with them, and its type in points; the same in large print.
const FOOT: ([f64; 2], f64) = ([7.0, 14.0], 8.0);
const LARGE_FOOT: ([f64; 2], f64) = ([9.0, 26.0], 12.0);

impl Paper {
    /// An empty paper in running text of so many points.
    pub fn new(title: &str, size: Size, landscape: bool, points: f64, foot: Foot) -> Self {
        Self::on(Sheet::new(title, size, landscape), points, foot)
    }

    /// An empty paper of half pages, to be folded.
    pub fn half(title: &str, size: Size, points: f64, foot: Foot) -> Self {
        Self::on(Sheet::half(title, size), points, foot)
    }

    fn on(sheet: Sheet, points: f64, foot: Foot) -> Self {
        let right = sheet.wide - MARGIN;
        Self { sheet, foot, y: MARGIN, left: MARGIN, right, points, stacked: false, footed: false }
    }

    /// The half pages as a booklet, with their feet.
    #[must_use]
    pub fn folded(mut self, size: Size) -> Self {
        self.feet();
        self.sheet = self.sheet.folded(size);
        self
    }

    /// How wide what is written is.
    pub fn wide(&self) -> f64 {
        self.right - self.left
    }

    /// Down to where the page may be used.
    pub fn bottom(&self) -> f64 {
        self.sheet.high - MARGIN - self.foot_size().0
    }

    /// How high the foot is, and its type in points.
    fn foot_size(&self) -> (f64, f64) {
        let (high, points) = if self.points >= LARGE { LARGE_FOOT } else { FOOT };
        (high[usize::from(self.foot.bars)], points)
    }

    /// Millimetres for so many sizes of the running text.
    pub fn ems(&self, n: f64) -> f64 {
        n * self.points * POINT
    }

    /// Leaves so many sizes of the running text free.
    pub fn gap(&mut self, ems: f64) {
        if self.y > MARGIN {
            self.y += self.ems(ems);
        }
    }

    /// Begins another page.
    pub fn page_break(&mut self) {
        self.sheet.page();
        self.y = MARGIN;
    }

    /// Turns the page unless so much fits on it.
    pub fn reserve(&mut self, high: f64) -> bool {
        let turns = self.y + high > self.bottom() && self.y > MARGIN;
        if turns {
            self.page_break();
        }
        turns
    }

    /// Lines of text, one below the other; turns the page where it is full.
    fn write(&mut self, text: &str, points: f64, weight: Weight) {
        let step = points * POINT * LEADING;
        for one in wrapped(text, points, weight, self.wide()) {
            self.reserve(step);
            self.sheet.text(self.left, self.y + points * POINT, &one, points, weight);
            self.y += step;
        }
    }

    /// A heading: 1 for the paper's own, 2 within it.
    pub fn heading(&mut self, level: u16, text: &str) {
        self.headed(level, text, if level == 1 { 2.2 } else { 1.1 });
    }

    /// A heading in so much of the running size.
    pub fn headed(&mut self, level: u16, text: &str, factor: f64) {
        let points = self.points * factor;
        // Not alone at the foot of a page.
        self.reserve(points * POINT * LEADING + self.ems(3.0 * LEADING));
        self.sheet_part(Part::Heading(level, text.to_owned()), |paper| {
            paper.write(text, points, Weight::Bold);
        });
    }

    /// A paragraph in so much of the running size.
    pub fn paragraph(&mut self, text: &str, factor: f64, weight: Weight) {
        let points = self.points * factor;
        self.sheet_part(Part::Paragraph, |paper| paper.write(text, points, weight));
    }

    /// What is said beside a few bold words, one below the other: the words stand in a column of their own.
    pub fn notes(&mut self, notes: &[(String, String)]) {
        let widest = notes.iter().map(|(what, _)| self.width_of(what, Weight::Bold)).fold(0.0, f64::max);
        let indent = (widest + self.ems(0.8)).min(self.wide() * 0.4);
        let (left, step) = (self.left, self.ems(LEADING));
        for (what, says) in notes {
            let lines = |text: &str, weight, wide| wrap(text, self.points, weight, wide).len();
            let (named, said) = (
                lines(what, Weight::Bold, indent - self.ems(0.6)),
                lines(says, Weight::Regular, self.wide() - indent),
            );
            self.reserve(step * named.max(said) as f64);
            self.sheet_part(Part::Paragraph, |paper| {
                let (top, right) = (paper.y, paper.right);
                paper.right = paper.left + indent - paper.ems(0.6);
                paper.write(&format!("{what} "), paper.points, Weight::Bold);
                let below = paper.y;
                (paper.left, paper.right, paper.y) = (left + indent, right, top);
                paper.write(says, paper.points, Weight::Regular);
                (paper.left, paper.y) = (left, paper.y.max(below));
            });
            self.gap(0.25);
        }
    }

    /// What is written within belongs to a part.
    pub(in crate::pdf) fn sheet_part<T>(&mut self, part: Part, within: impl FnOnce(&mut Self) -> T) -> T {
        // The part is opened on the sheet, which the paper holds: so it is opened and closed by hand.
        let id = self.sheet.begin(part);
        let done = within(self);
        self.sheet.end(id);
        done
    }

    /// The head: a line over the title, the title, a line under it, and a QR code with a word below; then a thick rule.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the code's text is too long.
    pub fn head(
        &mut self,
        over: &str,
        title: &str,
        under: &str,
        code: Option<(&str, &str)>,
    ) -> Result<(), PaperError> {
        let (top, right) = (self.y, self.right);
        let side = 25.0;
        let mut coded = top;
        if let Some((text, word)) = code {
            let left = self.right - side;
            self.code([left, top], side, text, word)?;
            let points = (self.points * 0.8).min(11.0);
            let mut y = top + side;
            for one in wrap(word, points, Weight::Regular, side) {
                y += points * POINT * LEADING;
                self.sheet.text_amid(left + side / 2.0, y - 0.6, &one, points, Weight::Regular);
            }
            coded = y + 1.0;
            self.right = left - 6.0;
        }
        self.paragraph(over, 1.0, Weight::Bold);
        self.y += self.ems(0.3);
        self.heading(1, title);
        if !under.is_empty() {
            self.y += self.ems(0.2);
            self.paragraph(under, 1.1, Weight::Regular);
        }
        self.right = right;
        self.y = self.y.max(coded) + 1.0;
        self.sheet.fill(vec![[self.left, self.y, self.wide(), 1.0]], 0);
        self.y += 1.0;
        self.gap(0.6);
        Ok(())
    }

    /// A QR code, quiet zone included, in a square; `word` says where it leads, for those who listen.
    ///
    /// # Errors
    /// [`PaperError::Qr`] when the text is too long.
    pub fn code(&mut self, [x, y]: [f64; 2], side: f64, text: &str, word: &str) -> Result<(), PaperError> {
        let (modules, dark) = matrix(text)?;
        let one = side / (modules + 8) as f64;
        let mut areas = Vec::new();
        for row in 0..modules {
            // Runs, not modules: no seam can show between neighbours.
            let mut column = 0;
            while column < modules {
                let run =
                    dark[row * modules + column..(row + 1) * modules].iter().take_while(|d| **d).count();
                if run > 0 {
                    let at = [x + one * (column + 4) as f64, y + one * (row + 4) as f64];
                    areas.push([at[0], at[1], one * run as f64, one]);
                }
                column += run.max(1);
            }
        }
        // On a screen it is clicked.
        self.sheet.link([x, y, side, side], text, word, |sheet| {
            let id = sheet.begin(Part::Figure(format!("QR code: {word}")));
            sheet.fill(areas, 0);
            sheet.end(id);
        });
        Ok(())
    }

    /// Boxes side by side, each with a title, a figure that matters, and a remark; below each other when stacked.
    pub fn boxes(&mut self, boxes: &[[String; 3]]) {
        let across = if self.stacked { 1 } else { boxes.len().max(1) };
        for row in boxes.chunks(across) {
            let wide = self.wide() / row.len() as f64;
            let pad = self.ems(0.6);
            let big = |text: &str| {
                let natural = (self.points * 2.1).max(FROM_A_METRE);
                let fits = (wide - 2.0 * pad) / width(text, natural, Weight::Bold);
                natural * fits.min(1.0)
            };
            let rows = |text: &str, points: f64, weight| {
                if text.is_empty() { 0.0 } else { wrap(text, points, weight, wide - 2.0 * pad).len() as f64 }
            };
            let high = |one: &[String; 3]| {
                self.ems(LEADING) * rows(&one[0], self.points, Weight::Bold)
                    + big(&one[1]) * POINT * 1.15
                    + self.ems(LEADING) * rows(&one[2], self.points, Weight::Regular)
                    + 2.0 * pad
            };
            let high = row.iter().map(high).fold(0.0, f64::max);
            let sizes: Vec<f64> = row.iter().map(|one| big(&one[1])).collect();
            self.reserve(high);
            let (top, left, right) = (self.y, self.left, self.right);
            for (at, (one, size)) in row.iter().zip(sizes).enumerate() {
                self.left = left + wide * at as f64;
                self.sheet
                    .frame([self.left, top, wide + if at + 1 < row.len() { 0.3 } else { 0.0 }, high], 0.3);
                (self.left, self.right, self.y) = (self.left + pad, self.left + wide - pad, top + pad * 0.7);
                self.paragraph(&one[0], 1.0, Weight::Bold);
                self.sheet_part(Part::Paragraph, |paper| paper.write(&one[1], size, Weight::Bold));
                if !one[2].is_empty() {
                    self.paragraph(&one[2], 1.0, Weight::Regular);
                }
            }
            (self.left, self.right, self.y) = (left, right, top + high);
        }
    }

    /// A paragraph in a box with a thick edge.
    pub fn strong(&mut self, text: &str) {
        let pad = self.ems(0.7);
        let points = self.points * 1.08;
        let lines = wrap(text, points, Weight::Regular, self.wide() - 2.0 * pad).len() as f64;
        let high = lines * points * POINT * LEADING + 2.0 * pad;
        self.reserve(high);
        let (top, left, right) = (self.y, self.left, self.right);
        self.sheet.frame([left, top, self.wide(), high], 0.8);
        (self.left, self.right, self.y) = (left + pad, right - pad, top + pad * 0.85);
        self.paragraph(text, 1.08, Weight::Regular);
        (self.left, self.right, self.y) = (left, right, top + high);
    }

    /// Items with a box to tick each, a time before its text; in two columns where that is asked for and nothing is stacked.
    pub fn ticks(&mut self, items: &[(String, String)], two: bool) {
        let columns: u32 = if two && !self.stacked { 2 } else { 1 };
        let (left, right) = (self.left, self.right);
        let between = self.ems(2.0);
        let wide = (self.wide() - between * f64::from(columns - 1)) / f64::from(columns);
        let side = self.ems(1.05);
        let times = items.iter().map(|(when, _)| width(when, self.points, Weight::Bold)).fold(0.0, f64::max);
        let indent = side + self.ems(0.6) + if times > 0.0 { times + self.ems(0.6) } else { 0.0 };
        let step = self.ems(LEADING);
        let high = |text: &str| {
            wrap(text, self.points, Weight::Regular, wide - indent).len() as f64 * step + self.ems(0.35)
        };
        let highs: Vec<f64> = items.iter().map(|(_, what)| high(what)).collect();
        let half = highs.iter().sum::<f64>() / f64::from(columns);
        let top = self.y;
        let mut lowest = top;
        let mut column: u32 = 0;
        let list = self.sheet.begin(Part::List);
        for ((when, what), high) in items.iter().zip(highs) {
            if column + 1 < columns && self.y - top >= half - 0.01 {
                column += 1;
                self.y = top;
            }
            if columns == 1 {
                self.reserve(high);
            }
            let x = left + (wide + between) * f64::from(column);
            (self.left, self.right) = (x, x + wide);
            let (y, points) = (self.y, self.points);
            self.sheet.frame([x, y + self.ems(0.15), side, side], 0.35);
            self.sheet_part(Part::Item, |paper| {
                paper.sheet.text(x + side + paper.ems(0.6), y + points * POINT, when, points, Weight::Bold);
                paper.left = x + indent;
                paper.write(what, points, Weight::Regular);
            });
            self.y = y + high;
            self.sheet.rule([x, self.y - self.ems(0.1), x + wide, self.y - self.ems(0.1)], 0.15);
            lowest = lowest.max(self.y);
        }
        self.sheet.end(list);
        (self.left, self.right) = (left, right);
        self.y = if columns == 1 { self.y } else { lowest };
    }

    /// Two things side by side, the left one taking so much of the width; below each other when stacked.
    pub fn beside(
        &mut self,
        share: f64,
        first: impl FnOnce(&mut Self) -> Result<(), PaperError>,
        second: impl FnOnce(&mut Self) -> Result<(), PaperError>,
    ) -> Result<(), PaperError> {
        if self.stacked {
            first(self)?;
            self.gap(0.8);
            return second(self);
        }
        let (top, left, right) = (self.y, self.left, self.right);
        let between = self.ems(1.8);
        let wide = self.wide() - between;
        self.right = left + wide * share;
        first(self)?;
        let lowest = self.y;
        (self.y, self.left, self.right) = (top, left + wide * share + between, right);
        second(self)?;
        (self.y, self.left, self.right) = (self.y.max(lowest), left, right);
        Ok(())
    }

    /// The document, with its feet.
    ///
    /// # Errors
    /// [`PaperError::Pdf`] when the library refuses it.
    pub fn finish(mut self) -> Result<Vec<u8>, PaperError> {
        self.feet();
        self.sheet.finish()
    }

    /// Draws the feet, unless they are drawn: bars, what the paper is, and its page of how many.
    pub fn feet(&mut self) {
        if std::mem::replace(&mut self.footed, true) {
            return;
        }
        let Foot { text, bars } = self.foot.clone();
        let (left, right, high) = (MARGIN, self.sheet.wide - MARGIN, self.sheet.high);
        let (foot, points) = self.foot_size();
        let top = high - MARGIN - foot + 2.0;
        self.sheet.feet(|sheet, page, of| {
            sheet.rule([left, top, right, top], 0.3);
            let step = points * POINT * 1.2;
            let mut from = left;
            if bars {
                for (at, (length, name)) in [(100.0, "100 mm"), (101.6, "4 in")].into_iter().enumerate() {
                    // One below the other, down to the margin.
                    let y = high - MARGIN - 1.0 - (step + 2.2) * (1 - at) as f64;
                    sheet.fill(
                        vec![
                            [left, y, length, 0.6],
                            [left, y - 2.0, 0.3, 2.6],
                            [left + length - 0.3, y - 2.0, 0.3, 2.6],
                        ],
                        0,
                    );
                    sheet.text_amid(left + length / 2.0, y - 0.8, name, points, Weight::Regular);
                }
                from = left + 106.0;
            }
            let number = if of > 1 { format!(" Page {} of {of}.", page + 1) } else { String::new() };
            let advice = if bars { " If the bars measure wrong, print at 100 %." } else { "" };
            let lines = wrap(&format!("{text}{number}{advice}"), points, Weight::Regular, right - from);
            // Feet have room for so many lines and no more.
            let most = if bars { ((foot - 2.0) / step) as usize } else { 1 };
            for (at, one) in lines.iter().take(most).enumerate() {
                let one =
                    if at + 1 == most && lines.len() > most { format!("{one} …") } else { one.clone() };
                let one = shortened(&one, points, Weight::Regular, right - from);
                sheet.text(
                    from,
                    top + 0.4 + points * POINT + step * at as f64,
                    &one,
                    points,
                    Weight::Regular,
                );
            }
        });
    }

    /// How wide a text of the running size is.
    pub fn width_of(&self, text: &str, weight: Weight) -> f64 {
        width(text, self.points, weight)
    }
}
