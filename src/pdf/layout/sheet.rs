//! A document on its way to PDF: pages of drawn things in millimetres from the top left corner, and what they mean to
//! somebody who listens. Nothing here knows what a paper says.
use krilla::tagging::Identifier;

use super::draw::Mark;
use super::hatch::Hatch;
use super::text::{self, POINT, Weight};

/// What paper is printed on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    /// 210 mm × 297 mm (ISO 216).
    A4,
    /// 8½ in × 11 in (ANSI/ASME Y14.1).
    Letter,
}

/// A paper size that isn't known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("paper is a4 or letter")]
pub struct UnknownSize;

impl std::fmt::Display for Size {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        })
    }
}

impl std::str::FromStr for Size {
    type Err = UnknownSize;

    fn from_str(text: &str) -> Result<Self, UnknownSize> {
        [Self::A4, Self::Letter].into_iter().find(|size| size.to_string() == text).ok_or(UnknownSize)
    }
}

impl Size {
    /// Its sides, upright.
    pub const fn sides(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }
}

/// What stays white on every side.
pub const MARGIN: f64 = 10.0;

/// What a part of a document is, to somebody who listens.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// A heading of a level from 1, and what it says.
    Heading(u16, String),
    /// A paragraph.
    Paragraph,
    /// A table; holds rows.
    Table,
    /// A row; holds cells.
    Row,
    /// A column's name.
    ColumnHead,
    /// A row's name.
    RowHead,
    /// A cell.
    Cell,
    /// A list; holds items.
    List,
    /// An item.
    Item,
    /// A drawing, told in words.
    Figure(String),
    /// What leads somewhere.
    Link,
}

pub(super) struct Meaning {
    pub(super) part: Part,
    pub(super) children: Vec<Child>,
}

pub(super) enum Child {
    Part(usize),
    Content(Identifier),
}

/// One page: what is drawn, each with the part it belongs to; `None` for what only looks.
#[derive(Default)]
pub(super) struct Page {
    pub(super) marks: Vec<(Option<usize>, Mark)>,
    pub(super) links: Vec<Link>,
}

/// A place on a page that leads somewhere.
pub(super) struct Link {
    /// The part that it belongs to.
    pub(super) part: usize,
    /// Left, top, width, height.
    pub(super) area: [f64; 4],
    pub(super) to: String,
    /// What is there, for those who listen.
    pub(super) told: String,
}

/// Where a text stands: left, top, right and bottom of its letters, about; for tests.
#[derive(Clone, Debug, PartialEq)]
pub struct TextBox {
    /// The page, from 0.
    pub page: usize,
    /// Left, top, right, bottom.
    pub area: [f64; 4],
    /// What it says.
    pub says: String,
}

/// A document on its way.
pub struct Sheet {
    pub(super) title: String,
    /// Width and height of its pages.
    pub wide: f64,
    /// Height of its pages.
    pub high: f64,
    pub(super) pages: Vec<Page>,
    pub(super) meanings: Vec<Meaning>,
    /// Parts at the root, in reading order.
    pub(super) roots: Vec<usize>,
    pub(super) open: Vec<usize>,
}

impl Sheet {
    /// An empty document; its first page is there.
    pub fn new(title: &str, size: Size, landscape: bool) -> Self {
        let (short, long) = size.sides();
        let (wide, high) = if landscape { (long, short) } else { (short, long) };
        Self {
            title: title.to_owned(),
            wide,
            high,
            pages: vec![Page::default()],
            meanings: Vec::new(),
            roots: Vec::new(),
            open: Vec::new(),
        }
    }

    /// Begins another page.
    pub fn page(&mut self) {
        self.pages.push(Page::default());
    }

    /// How many pages there are.
    pub fn pages(&self) -> usize {
        self.pages.len()
    }

    /// Opens a part: what is drawn until [`Sheet::end`] belongs to it.
    pub fn begin(&mut self, part: Part) -> usize {
        let id = self.meanings.len();
        self.meanings.push(Meaning { part, children: Vec::new() });
        match self.open.last() {
            Some(&above) => self.meanings[above].children.push(Child::Part(id)),
            None => self.roots.push(id),
        }
        self.open.push(id);
        id
    }

    /// Closes a part, and any within it that is still open.
    pub fn end(&mut self, id: usize) {
        if let Some(at) = self.open.iter().position(|open| *open == id) {
            self.open.truncate(at);
        }
    }

    fn put(&mut self, mark: Mark) {
        let part = self.open.last().copied();
        self.put_as(part, mark);
    }

    fn put_as(&mut self, part: Option<usize>, mark: Mark) {
        if let Some(page) = self.pages.last_mut() {
            page.marks.push((part, mark));
        }
    }

    /// Draws a line of text from its left end.
    pub fn text(&mut self, x: f64, baseline: f64, text: &str, points: f64, weight: Weight) {
        self.put(Mark::Text { x, y: baseline, line: text::line(text, points, weight) });
    }

    /// Draws a line of text that ends at `x`.
    pub fn text_to(&mut self, x: f64, baseline: f64, text: &str, points: f64, weight: Weight) {
        let line = text::line(text, points, weight);
        self.put(Mark::Text { x: x - line.width, y: baseline, line });
    }

    /// Draws a line of text around `x`.
    pub fn text_amid(&mut self, x: f64, baseline: f64, text: &str, points: f64, weight: Weight) {
        let line = text::line(text, points, weight);
        self.put(Mark::Text { x: x - line.width / 2.0, y: baseline, line });
    }

    /// Draws a rule: something that only looks, unless a figure is open.
    pub fn rule(&mut self, ends: [f64; 4], weight: f64) {
        self.lines(vec![ends], weight, None);
    }

    /// Draws lines of one weight, dashed where a dash and its gap are given.
    pub fn lines(&mut self, lines: Vec<[f64; 4]>, weight: f64, dash: Option<[f64; 2]>) {
        let part = self.figure();
        self.put_as(part, Mark::Lines { lines, weight, dash });
    }

    /// Draws a box's edges, the stroke within its measures.
    pub fn frame(&mut self, [x, y, w, h]: [f64; 4], weight: f64) {
        let (right, below) = (x + w - weight, y + h - weight);
        self.fill(
            vec![[x, y, w, weight], [x, below, w, weight], [x, y, weight, h], [right, y, weight, h]],
            0,
        );
    }

    /// Fills rectangles (left, top, width, height): 0 is black.
    pub fn fill(&mut self, areas: Vec<[f64; 4]>, grey: u8) {
        let part = self.figure();
        self.put_as(part, Mark::Fill { areas, grey });
    }

    /// Fills a rectangle with a colour.
    pub fn tint(&mut self, area: [f64; 4], rgb: [u8; 3]) {
        let part = self.figure();
        self.put_as(part, Mark::Tint { area, rgb });
    }

    /// Fills a rectangle with a hatch.
    pub fn hatch(&mut self, area: [f64; 4], hatch: Hatch) {
        for (lines, weight, dash) in hatch.lines(area) {
            self.lines(lines, weight, dash);
        }
        if hatch.is_solid() {
            self.fill(vec![area], 0);
        }
    }

    /// What is drawn by `within` leads to an address; `told` says what is there.
    pub fn link<T>(
        &mut self,
        area: [f64; 4],
        to: &str,
        told: &str,
        within: impl FnOnce(&mut Self) -> T,
    ) -> T {
        let part = self.begin(Part::Link);
        let done = within(self);
        self.end(part);
        if let Some(page) = self.pages.last_mut() {
            page.links.push(Link { part, area, to: to.to_owned(), told: told.to_owned() });
        }
        done
    }

    /// Draws a line of one weight and grey from point to point; 0 is black.
    pub fn way(&mut self, way: Vec<[f64; 2]>, weight: f64, grey: u8, dash: Option<[f64; 2]>) {
        let part = self.figure();
        self.put_as(part, Mark::Way { way, weight, grey, dash });
    }

    /// Draws a circle's outline.
    pub fn circle(&mut self, x: f64, y: f64, radius: f64, weight: f64) {
        let part = self.figure();
        self.put_as(part, Mark::Circle { x, y, radius, weight });
    }

    /// The open part, if it is a figure: lines and areas mean something only there.
    fn figure(&self) -> Option<usize> {
        self.open.iter().rev().copied().find(|id| matches!(self.meanings[*id].part, Part::Figure(_)))
    }

    /// Where every text stands.
    pub fn texts(&self) -> Vec<TextBox> {
        let of_page = |(page, marks): (usize, &Page)| {
            let stands = |(_, mark): &(Option<usize>, Mark)| match mark {
                Mark::Text { x, y, line, .. } => {
                    let em = line.points * POINT;
                    Some(TextBox {
                        page,
                        area: [*x, y - 0.72 * em, x + line.seen(), y + 0.2 * em],
                        says: line.pieces.iter().map(|piece| piece.text.as_str()).collect(),
                    })
                }
                _ => None,
            };
            marks.marks.iter().filter_map(stands).collect::<Vec<_>>()
        };
        self.pages.iter().enumerate().flat_map(of_page).collect()
    }

    /// Draws the same on every page, as its foot: `draw` is told the page, from 0, and how many there are.
    pub fn feet(&mut self, mut draw: impl FnMut(&mut Self, usize, usize)) {
        let total = self.pages.len();
        let open = std::mem::take(&mut self.open);
        for page in 0..total {
            let mut this = std::mem::take(&mut self.pages[page]);
            let last = self.pages.len() - 1;
            std::mem::swap(&mut self.pages[last], &mut this);
            draw(self, page, total);
            std::mem::swap(&mut self.pages[last], &mut this);
            self.pages[page] = this;
        }
        self.open = open;
    }

    /// Gives the document another title.
    pub fn retitle(&mut self, title: &str) {
        title.clone_into(&mut self.title);
    }

    /// Puts another document's pages after this one's.
    pub fn append(&mut self, other: Self) {
        let by = self.meanings.len();
        let moved = |child| match child {
            Child::Part(id) => Child::Part(id + by),
            content @ Child::Content(_) => content,
        };
        self.meanings.extend(other.meanings.into_iter().map(|meaning| Meaning {
            part: meaning.part,
            children: meaning.children.into_iter().map(moved).collect(),
        }));
        self.roots.extend(other.roots.into_iter().map(|id| id + by));
        self.pages.extend(other.pages.into_iter().map(|page| Page {
            marks: page.marks.into_iter().map(|(part, mark)| (part.map(|id| id + by), mark)).collect(),
            links: page.links.into_iter().map(|link| Link { part: link.part + by, ..link }).collect(),
        }));
    }
}
