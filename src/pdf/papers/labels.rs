//! Labels on sheets of the user's own measures: tags for bundles and frames, each with a QR code and its name in big type; and
//! care labels for finished rugs.
use crate::pdf::layout::flow::{Foot, Paper};
use crate::pdf::layout::sheet::{MARGIN, Part, Size};
use crate::pdf::layout::text::{POINT, Weight, shortened, width, wrap, wrapped};
use crate::pdf::{Label, PaperError};
use crate::units::isolated;

/// How labels stand on their sheet, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// Labels side by side.
    pub across: u32,
    /// Labels below each other.
    pub down: u32,
    /// How wide a label is.
    pub wide: f64,
    /// How high a label is.
    pub high: f64,
    /// From the sheet's left edge to the first label.
    pub left: f64,
    /// From the sheet's upper edge to the first label.
    pub top: f64,
    /// Between labels side by side.
    pub between: f64,
    /// Between labels below each other.
    pub below: f64,
}

impl Grid {
    /// Labels cut from plain paper: the page within its margins in equal parts.
    pub fn plain(size: Size, across: u32, down: u32) -> Self {
        let (wide, high) = size.sides();
        let (across_f, down_f) = (f64::from(across), f64::from(down));
        // Printers leave more white at the lower edge (common practice, no source).
        Self {
            across,
            down,
            wide: (wide - 2.0 * MARGIN) / across_f,
            high: (high - 2.0 * MARGIN - 8.0) / down_f,
            left: MARGIN,
            top: MARGIN,
            between: 0.0,
            below: 0.0,
        }
    }

    /// What is wrong with the measures, if anything: which, and why.
    pub fn wrong(&self, size: Size) -> Option<(&'static str, String)> {
        let (page_wide, page_high) = size.sides();
        let right = self.left + f64::from(self.across) * (self.wide + self.between) - self.between;
        let bottom = self.top + f64::from(self.down) * (self.high + self.below) - self.below;
        if self.wide < 25.0 || self.high < 12.0 {
            let field = if self.wide < 25.0 { "wide" } else { "high" };
            return Some((
                field,
                "A label is at least 25 mm wide and 12 mm high, so that its code can be read.".into(),
            ));
        }
        if right > page_wide + 0.01 {
            return Some((
                "wide",
                format!("That many labels reach {right:.1} mm across; the paper is {page_wide:.1} mm wide."),
            ));
        }
        if bottom > page_high + 0.01 {
            return Some((
                "high",
                format!("That many labels reach {bottom:.1} mm down; the paper is {page_high:.1} mm high."),
            ));
        }
        None
    }
}

/// A sheet of labels.
pub struct Labels<'a> {
    /// The document's title.
    pub title: &'a str,
    /// The labels, in order.
    pub labels: &'a [Label],
    /// How they stand.
    pub grid: Grid,
    /// Labels of the first sheet that are gone already.
    pub skip: u32,
    /// Whether to draw edges to cut along.
    pub edges: bool,
}

impl Labels<'_> {
    /// The sheet as PDF.
    ///
    /// # Errors
    /// [`PaperError::NoRoom`] when the grid doesn't fit the paper.
    pub fn pdf(&self, size: Size) -> Result<Vec<u8>, PaperError> {
        self.paper(size)?.sheet.finish()
    }

    /// The sheet before it is written. Labels have no foot: there may be none on the sheet to print it on.
    ///
    /// # Errors
    /// [`PaperError::NoRoom`] when the grid doesn't fit the paper.
    pub fn paper(&self, size: Size) -> Result<Paper, PaperError> {
        if let Some((_, why)) = self.grid.wrong(size) {
            return Err(PaperError::NoRoom(why));
        }
        let mut paper = Paper::new(self.title, size, false, 9.0, Foot::default());
        let per_page = (self.grid.across * self.grid.down).max(1);
        for (n, label) in (self.skip % per_page..).zip(self.labels) {
            if n > self.skip % per_page && n % per_page == 0 {
                paper.page_break();
            }
            let (column, row) = (n % self.grid.across, n % per_page / self.grid.across);
            let g = &self.grid;
            let area = [
                g.left + f64::from(column) * (g.wide + g.between),
                g.top + f64::from(row) * (g.high + g.below),
                g.wide,
                g.high,
            ];
            if self.edges {
                paper.sheet.frame(area, 0.15);
            }
            one(&mut paper, label, area)?;
        }
        Ok(paper)
    }
}

/// The smallest type of a label, in points, and that of its name.
const SMALLEST: f64 = 6.5;
const LEAST_BIG: f64 = 11.0;

/// Draws one label: its code at the left, as high as the label allows, the words beside it.
fn one(paper: &mut Paper, label: &Label, [x, y, wide, high]: [f64; 4]) -> Result<(), PaperError> {
    let pad = (high * 0.06).clamp(1.0, 3.0);
    let mut left = x + pad;
    if let Some(link) = &label.link {
        let side = (high - 2.0 * pad).min(wide * 0.42).min(40.0);
        paper.code([left, y + (high - side) / 2.0], side, link, &label.big)?;
        left += side + pad * 0.5;
    }
    let most = x + wide - pad - left;
    // A name that is looked for from a distance is big; one that is only read is not.
    let natural = (high * if label.link.is_some() { 0.34 } else { 0.2 } / POINT).min(44.0);
    let points = (natural * most / width(&label.big, natural, Weight::Bold)).min(natural).max(LEAST_BIG);
    // What is too long even so is wrapped.
    let big: Vec<String> = wrap(&label.big, points, Weight::Bold, most);
    let kept = ((high * 0.6 / (points * POINT * 1.05)).floor().max(1.0) as usize).min(big.len());
    let big: Vec<String> = big
        .iter()
        .take(kept)
        .enumerate()
        .map(|(n, line)| {
            let cut = n + 1 == kept && big.len() > kept;
            if cut {
                shortened(&format!("{line}…{line}"), points, Weight::Bold, most)
            } else {
                line.clone()
            }
        })
        .collect();
    let big_high = points * POINT * 1.05 * big.len() as f64;
    let room = high - 2.0 * pad - big_high;
    let mut small = (high * 0.09 / POINT).clamp(SMALLEST, 10.0);
    let fits = |small: f64| (room / (small * POINT * 1.2)).floor().max(0.0) as usize;
    let broken = |small: f64, spare: Option<&String>| -> Vec<String> {
        let lines = label.lines.iter().chain(spare);
        lines.flat_map(|line| wrapped(line, small, Weight::Regular, most)).collect()
    };
    let mut lines = broken(small, label.spare.as_ref());
    // What can be spared goes before the type gets smaller; smaller type rather than a line less.
    if lines.len() > fits(small) {
        lines = broken(small, None);
    }
    while lines.len() > fits(small) && small > SMALLEST {
        small = (small - 0.5).max(SMALLEST);
        lines = broken(small, None);
    }
    if lines.len() > fits(small) {
        // What is too long even so is cut short for those below it.
        let short = |line: &String| shortened(line, small, Weight::Regular, most);
        lines = label.lines.iter().map(short).take(fits(small)).collect();
    }
    let step = small * POINT * 1.2;
    let used = big_high + step * lines.len() as f64;
    let top = y + (high - used).max(0.0) / 2.0;
    let id = paper.sheet.begin(Part::Paragraph);
    for (n, line) in big.iter().enumerate() {
        let y = top + points * POINT * (0.8 + 1.05 * n as f64);
        paper.sheet.text(left, y, &isolated(line), points, Weight::Bold);
    }
    for (n, line) in lines.iter().enumerate() {
        paper.sheet.text(left, top + big_high + step * (n as f64 + 0.8), line, small, Weight::Regular);
    }
    paper.sheet.end(id);
    Ok(())
}
