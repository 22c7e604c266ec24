//! A PDF as somebody has it in hand: its words with their places, what is drawn, and its codes as a phone reads them. Reads the
//! file's own bytes (ISO 32000-1) and knows nothing of how it was made. Places are millimetres from a page's top left corner.
mod codes;
mod draw;
mod fonts;
pub mod lanes;
mod table;

use hayro_syntax::Pdf;
use hayro_syntax::object::Object;

pub use codes::Code;
pub use draw::{Circle, Fill, Stroke};

/// Millimetres in a point (ISO 32000-1, 8.3.2.3: 72 points an inch).
pub const POINT: f64 = 25.4 / 72.0;

/// A stretch of text on one line in one size of type.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Its page, from 0.
    pub page: usize,
    pub says: String,
    /// Its left end.
    pub x: f64,
    /// Its right end.
    pub right: f64,
    /// Its baseline.
    pub y: f64,
    /// The size of its type.
    pub points: f64,
    pub bold: bool,
    /// Whether a blank ends it, which keeps its last word apart from the next line's first.
    pub spaced: bool,
}

/// How wide a blank of Noto Sans is in ems: its advance is 260 of 1000 units, by the font's own table.
const BLANK: f64 = 0.26;

/// A word and the box around it.
#[derive(Clone, Debug, PartialEq)]
pub struct Word {
    pub page: usize,
    pub text: String,
    pub x: f64,
    pub y: f64,
    pub w: f64,
    pub h: f64,
}

/// A file that was read.
pub struct Paper {
    pub title: String,
    /// Width and height of each page.
    pub pages: Vec<[f64; 2]>,
    /// Its texts, in the order in which they are written.
    pub texts: Vec<Text>,
    pub fills: Vec<Fill>,
    pub strokes: Vec<Stroke>,
    pub circles: Vec<Circle>,
    pub codes: Vec<Code>,
    /// What its figures say to somebody who listens.
    pub told: Vec<String>,
}

impl Paper {
    #[track_caller]
    pub fn read(bytes: &[u8]) -> Self {
        let pdf = Pdf::new(bytes.to_vec()).unwrap_or_else(|error| panic!("no PDF: {error:?}"));
        let mut drawn = draw::Drawn::default();
        let mut pages = Vec::new();
        for (n, page) in pdf.pages().iter().enumerate() {
            let area = page.media_box();
            let size = [area.width() * POINT, area.height() * POINT];
            draw::read(page, n, size[1] / POINT, &mut drawn);
            pages.push(size);
        }
        let title = pdf.metadata().title.as_ref().map(|title| fonts::told(title)).unwrap_or_default();
        let told = pdf.objects().into_iter().filter_map(figure).collect();
        let codes = codes::read(&drawn.fills);
        let mut texts = draw::joined(drawn.texts);
        for text in &mut texts {
            // A line that was broken between two words keeps their blank, which takes no room.
            text.spaced = text.says.len() > 1 && text.says.ends_with(' ');
            if text.spaced {
                text.says.pop();
                text.right -= BLANK * text.points * POINT;
            }
        }
        Self {
            title,
            pages,
            texts,
            fills: drawn.fills,
            strokes: drawn.strokes,
            circles: drawn.circles,
            codes,
            told,
        }
    }

    /// Every word with its place.
    pub fn words(&self) -> Vec<Word> {
        self.texts.iter().flat_map(Text::words).collect()
    }

    /// All it says, line by line.
    pub fn said(&self) -> String {
        self.texts.iter().map(|text| text.says.as_str()).collect::<Vec<_>>().join("\n")
    }

    /// The only text that begins so.
    #[track_caller]
    pub fn only(&self, begins: &str) -> &Text {
        let found: Vec<&Text> = self.texts.iter().filter(|text| text.says.starts_with(begins)).collect();
        assert_eq!(found.len(), 1, "{begins:?} stands {} times in\n{}", found.len(), self.said());
        found[0]
    }

    /// The texts that begin so.
    pub fn all(&self, begins: &str) -> Vec<&Text> {
        self.texts.iter().filter(|text| text.says.starts_with(begins)).collect()
    }

    /// What stands below a text, flush with its left edge: each with the gap to the line before in sizes of its type.
    fn below(&self, head: &Text) -> Vec<&Text> {
        let flush =
            |text: &&Text| text.page == head.page && (text.x - head.x).abs() < 0.1 && text.y > head.y + 0.1;
        let mut found: Vec<&Text> = self.texts.iter().filter(flush).collect();
        found.sort_by(|a, b| a.y.total_cmp(&b.y));
        found
    }

    /// The paragraph that begins with this text, its lines joined.
    pub fn paragraph(&self, head: &Text) -> String {
        let (mut said, mut last) = (head.says.trim_end().to_owned(), head);
        for text in self.below(head) {
            let alike = (text.points - head.points).abs() < 0.01 && text.bold == head.bold;
            if !alike || text.y - last.y > text.points * POINT * 1.4 {
                break;
            }
            said.push(' ');
            said.push_str(text.says.trim_end());
            last = text;
        }
        said
    }

    /// The paragraph that begins so.
    #[track_caller]
    pub fn reads(&self, begins: &str) -> String {
        self.paragraph(self.only(begins))
    }

    /// A box by its title: the figure below, and the remark below that.
    #[track_caller]
    pub fn boxed(&self, title: &str) -> (String, String) {
        let head = self.only(title);
        assert_eq!(head.says, title);
        let below = self.below(head);
        let figure = below.first().unwrap_or_else(|| panic!("nothing stands below {title:?}"));
        assert!(figure.points >= head.points && figure.bold, "{figure:?} is no figure");
        let remark = below.get(1).filter(|text| !text.bold && text.y - figure.y < head.points * POINT * 2.0);
        (figure.says.clone(), remark.map_or_else(String::new, |text| self.paragraph(text)))
    }

    /// What the foot of a page says: the last lines on it.
    pub fn foot(&self, page: usize) -> String {
        let high = self.pages[page][1];
        let rule =
            self.strokes.iter().filter(|line| line.page == page && line.level()).map(|line| line.ends[1]);
        let top = rule.filter(|y| *y > high - 40.0).fold(0.0, f64::max);
        let mut lines: Vec<&Text> =
            self.texts.iter().filter(|text| text.page == page && text.y > top).collect();
        lines.sort_by(|a, b| a.y.total_cmp(&b.y));
        let bars = ["100 mm", "4 in"];
        let lines = lines.iter().filter(|text| !bars.contains(&text.says.as_str()));
        lines.map(|text| text.says.trim()).collect::<Vec<_>>().join(" ")
    }
}

impl Text {
    fn words(&self) -> Vec<Word> {
        // Within a line letters are taken as equally wide: a word's place is needed to a letter's width only.
        let letters = self.says.chars().count().max(1) as f64;
        let (one, em) = ((self.right - self.x) / letters, self.points * POINT);
        let mut words = Vec::new();
        let mut at = 0;
        for part in self.says.split(' ') {
            let long = part.chars().count();
            if long > 0 {
                words.push(Word {
                    page: self.page,
                    text: part.to_owned(),
                    x: self.x + one * at as f64,
                    y: self.y - 0.72 * em,
                    w: one * long as f64,
                    h: 0.92 * em,
                });
            }
            at += long + 1;
        }
        words
    }
}

fn figure(object: Object<'_>) -> Option<String> {
    let Object::Dict(dict) = object else { return None };
    let kind: hayro_syntax::object::Name<'_> = dict.get("S")?;
    let says: hayro_syntax::object::String<'_> = dict.get("Alt")?;
    (kind.as_ref() == b"Figure").then(|| fonts::told(says.as_bytes()))
}
