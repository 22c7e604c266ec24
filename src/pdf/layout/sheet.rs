//! A document on its way to PDF: pages of drawn things in millimetres from the top left corner, and what they mean to
//! somebody who listens. Nothing here knows what a paper says.
use krilla::configure::{Accessibility, ConfigurationBuilder};
use krilla::metadata::Metadata;
use krilla::outline::Outline;
use krilla::page::PageSettings;
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, Node, TableHeaderScope, Tag, TagGroup,
    TagTree,
};
use krilla::{Document, SerializeSettings};

use super::draw::{Mark, draw};
use super::hatch::Hatch;
use super::text::{self, POINT, Weight};
use crate::pdf::PaperError;

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
}

struct Meaning {
    part: Part,
    children: Vec<Child>,
}

enum Child {
    Part(usize),
    Content(Identifier),
}

/// One page: what is drawn, each with the part it belongs to; `None` for what only looks.
#[derive(Default)]
struct Page {
    marks: Vec<(Option<usize>, Mark)>,
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
    title: String,
    /// Width and height of its pages.
    pub wide: f64,
    /// Height of its pages.
    pub high: f64,
    pages: Vec<Page>,
    meanings: Vec<Meaning>,
    /// Parts at the root, in reading order.
    roots: Vec<usize>,
    open: Vec<usize>,
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

    /// Fills a rectangle with a hatch.
    pub fn hatch(&mut self, area: [f64; 4], hatch: Hatch) {
        for (lines, weight, dash) in hatch.lines(area) {
            self.lines(lines, weight, dash);
        }
        if hatch.is_solid() {
            self.fill(vec![area], 0);
        }
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
                        area: [*x, y - 0.72 * em, x + line.width, y + 0.2 * em],
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
        }));
    }

    /// The document as PDF: tagged, with title and language, held to PDF/UA-1 (ISO 14289-1) as far as that can be checked.
    ///
    /// # Errors
    /// [`PaperError::Pdf`] when the library refuses it.
    pub fn finish(mut self) -> Result<Vec<u8>, PaperError> {
        let refused =
            |error: &dyn std::fmt::Debug| PaperError::Pdf(format!("{error:?}").chars().take(300).collect());
        let configuration = ConfigurationBuilder::new()
            .with_accessibility_validator(Accessibility::UA1)
            .finish()
            .map_err(|e| refused(&e))?;
        let settings = SerializeSettings { configuration, ..SerializeSettings::default() };
        let mut document = Document::new_with(settings);
        let (wide, high) = (self.wide / POINT, self.high / POINT);
        for page in std::mem::take(&mut self.pages) {
            let size = PageSettings::from_wh(wide as f32, high as f32)
                .ok_or_else(|| PaperError::Pdf("a page has no size".into()))?;
            let mut on = document.start_page_with(size);
            let mut surface = on.surface();
            self.draw(&mut surface, &page);
            surface.finish();
            on.finish();
        }
        let mut tree = TagTree::new().with_lang(Some("en".into()));
        let mut meanings: Vec<Option<Meaning>> = self.meanings.into_iter().map(Some).collect();
        for root in self.roots {
            tree.push(group(root, &mut meanings));
        }
        document.set_tag_tree(tree);
        document.set_outline(Outline::new());
        document.set_metadata(
            Metadata::new().title(self.title).language("en".into()).creator("Thrumhall".into()),
        );
        document.finish().map_err(|e| refused(&e))
    }

    fn draw(&mut self, surface: &mut Surface<'_>, page: &Page) {
        let mut rest = page.marks.as_slice();
        while let Some((part, _)) = rest.first() {
            let same = rest.iter().take_while(|(other, _)| other == part).count();
            let tag = match part {
                Some(_) => ContentTag::Other,
                None => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
            };
            let id = surface.start_tagged(tag);
            for (_, mark) in &rest[..same] {
                draw(surface, mark);
            }
            surface.end_tagged();
            if let Some(part) = part {
                self.meanings[*part].children.push(Child::Content(id));
            }
            rest = &rest[same..];
        }
    }
}

/// The tag group of a part and all within it.
fn group(id: usize, meanings: &mut [Option<Meaning>]) -> Node {
    let Some(Meaning { part, children }) = meanings[id].take() else {
        return TagGroup::new(Tag::Div).into();
    };
    let level = |level: u16| std::num::NonZeroU16::new(level).unwrap_or(std::num::NonZeroU16::MIN);
    let mut made = match part {
        Part::Heading(at, says) => TagGroup::new(Tag::Hn(level(at), Some(says))),
        Part::Paragraph => TagGroup::new(Tag::P),
        Part::Table => TagGroup::new(Tag::Table),
        Part::Row => TagGroup::new(Tag::TR),
        Part::ColumnHead => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
        Part::RowHead => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
        Part::Cell => TagGroup::new(Tag::TD),
        Part::List => TagGroup::new(Tag::L(ListNumbering::None)),
        Part::Item => TagGroup::new(Tag::LI),
        Part::Figure(words) => TagGroup::new(Tag::Figure(Some(words))),
    };
    for child in children {
        match child {
            Child::Content(id) => made.push(id),
            Child::Part(id) => made.push(group(id, meanings)),
        }
    }
    made.into()
}
