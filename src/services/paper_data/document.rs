//! What a paper says that is read from top to bottom: one struct, which `pdf` draws and a page shows.
use crate::drawing::figure::Figure;
use crate::planning::colour::Hex;

/// A paper.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Document {
    /// The workroom's name; empty where nothing stands over what the paper shows.
    pub workroom: String,
    /// What it is.
    pub title: String,
    /// Of what, in a line.
    pub under: String,
    /// Where its code leads, and what is there.
    pub link: Option<(String, String)>,
    /// What stands at the foot of each page.
    pub foot: String,
    /// Whether it lies across.
    pub across: bool,
    /// How it lies on its sheets.
    pub sheets: Sheets,
    /// Whether it gets smaller type rather than a second page, as far as that can be read.
    pub one_page: bool,
    /// What it says, in order.
    pub blocks: Vec<Block>,
}

/// How a paper lies on its sheets.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Sheets {
    /// Page after page.
    #[default]
    Plain,
    /// Two half pages beside each other, to be printed on both sides, turned on the short edge, and folded to a booklet.
    Folded,
    /// One page that is read from a metre away.
    Wall,
}

impl Document {
    /// All its words that may be somebody's own, one after the other.
    pub fn said(&self) -> String {
        let of_cell = |cell: &Cell| match cell {
            Cell::Words(words) => words.clone(),
            Cell::Tick | Cell::Cloth(..) => String::new(),
        };
        let of_block = |block: &Block| match block {
            Block::Heading(text) | Block::Text(text) => text.clone(),
            Block::Facts(facts) => facts.concat().concat(),
            Block::Steps(steps) => steps.concat(),
            Block::Notes(notes) => notes.iter().flat_map(|(what, says)| [what.as_str(), says]).collect(),
            Block::Page => String::new(),
            Block::Table(table) => table.rows.iter().flatten().map(of_cell).collect(),
            Block::Figure(figure) => figure.words.iter().map(|word| word.says.as_str()).collect(),
            Block::Card(name, lines) => format!("{name}{}", lines.concat()),
        };
        let blocks: String = self.blocks.iter().map(of_block).collect();
        [&self.workroom, &self.under, &self.foot, &blocks].map(String::as_str).concat()
    }
}

/// A part of a paper.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// Figures that matter, in boxes side by side: what, how much, a remark.
    Facts(Vec<[String; 3]>),
    /// Acts to tick off.
    Steps(Vec<String>),
    /// What is said beside a few bold words.
    Notes(Vec<(String, String)>),
    /// What follows begins another page.
    Page,
    /// A table.
    Table(Table),
    /// A drawing.
    Figure(Figure),
    /// A card to cut out and stand beside a thing: its name, then lines.
    Card(String, Vec<String>),
}

/// A table, to read or to write in.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it lists.
    pub name: String,
    /// Its columns; the first names the rows.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Vec<Cell>>,
    /// How high a row is at least, in millimetres: room for handwriting.
    pub high: f64,
}

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// How it stands.
    pub stands: Stands,
}

/// How a column stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stands {
    /// Words, from the left.
    Words,
    /// Figures, to the right.
    Figures,
    /// Room to write, at least so many millimetres.
    Room(f64),
}

impl Column {
    /// A column of words.
    pub fn words(name: &str) -> Self {
        Self { name: name.to_owned(), stands: Stands::Words }
    }

    /// A column of figures.
    pub fn figures(name: &str) -> Self {
        Self { name: name.to_owned(), stands: Stands::Figures }
    }

    /// A column to write in or to tick, at least so many millimetres wide.
    pub fn room(name: &str, wide: f64) -> Self {
        Self { name: name.to_owned(), stands: Stands::Room(wide) }
    }
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// What it says.
    Words(String),
    /// A box to tick.
    Tick,
    /// A colour as it looks, and the other one of a print.
    Cloth(Hex, Option<Hex>),
}

impl Cell {
    /// Nothing: room to write.
    pub const ROOM: Self = Self::Words(String::new());
}

impl<T: Into<String>> From<T> for Cell {
    fn from(words: T) -> Self {
        Self::Words(words.into())
    }
}
