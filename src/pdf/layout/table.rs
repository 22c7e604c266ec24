//! Tables on paper: columns as wide as they need, rows that stay whole, and their head again on every page.
use super::flow::{LEADING, Paper};
use super::hatch::Hatch;
use super::sheet::{MARGIN, Part};
use super::text::{POINT, Weight, glued, shortened, width, wrapped};
use crate::pdf::LARGE;

/// A column.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// Whether it holds figures, which stand at the right.
    pub figures: bool,
    /// Whether it is heavier than the others.
    pub strong: bool,
    /// The least size of its type.
    pub least_points: f64,
}

impl Column {
    /// A column of words.
    pub fn words(name: &str) -> Self {
        Self { name: name.to_owned(), figures: false, strong: false, least_points: 0.0 }
    }

    /// A column of figures.
    pub fn figures(name: &str) -> Self {
        Self { figures: true, ..Self::words(name) }
    }

    /// The same, heavier.
    #[must_use]
    pub fn strong(self) -> Self {
        Self { strong: true, ..self }
    }

    /// The same in type of so many points, where that is larger than the table's, to be read from farther away.
    #[must_use]
    pub fn large(self, points: f64) -> Self {
        Self { least_points: points, ..self }
    }

    fn weight(&self) -> Weight {
        if self.strong { Weight::Bold } else { Weight::Regular }
    }

    /// Its type in a table of so many points; its name is as all names.
    fn points(&self, table: f64, head: bool) -> f64 {
        if head { table } else { table.max(self.least_points) }
    }
}

/// Widths that fill the room: the narrow columns keep theirs, the widest are cut to one width.
fn leveled(wides: &[f64], room: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wides.len()).collect();
    order.sort_by(|a, b| wides[*a].total_cmp(&wides[*b]));
    let (mut left, mut out) = (room, vec![0.0; wides.len()]);
    for (done, at) in order.iter().enumerate() {
        out[*at] = wides[*at].min(left / (wides.len() - done) as f64);
        left -= out[*at];
    }
    out
}

/// What a cell holds beside words.
pub const TICK: &str = "\u{2610}";

/// The first of the signs that stand for a hatch's swatch at the beginning of a cell, for private use in Unicode: nobody's own words
/// begin with it.
const FIRST_SWATCH: u32 = 0xf_0000;

/// The words of a cell, after a swatch of this hatch.
pub fn with_swatch(hatch: Hatch, words: &str) -> String {
    let sign = char::from_u32(FIRST_SWATCH + hatch.number() as u32);
    sign.into_iter().chain(words.chars()).collect()
}

/// What a cell begins with, and its words.
fn parted(cell: &str) -> (Begins, &str) {
    let mut chars = cell.chars();
    let number =
        chars.next().and_then(|sign| (sign as u32).checked_sub(FIRST_SWATCH)).map(|number| number as usize);
    match number {
        Some(number) if number < Hatch::COUNT => (Begins::Swatch(Hatch::of(number)), chars.as_str()),
        Some(number) if number == Hatch::COUNT => (Begins::Room, chars.as_str()),
        _ => (Begins::Words, cell),
    }
}

/// What a cell begins with: its words, a swatch before them, or as much room, as the name of a column of swatches has.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Begins {
    Words,
    Swatch(Hatch),
    Room,
}

/// How wide a swatch is with what stays free after it, and how high, in sizes of type; the same in large print, which lacks room.
const SWATCH: [f64; 3] = [1.5, 0.4, 0.95];
const LARGE_SWATCH: [f64; 3] = [0.9, 0.25, 0.9];

impl Paper {
    /// A table. The first column names its rows; a cell that is [`TICK`] is a box to tick.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let pad = self.pad();
        let wides = self.column_widths(columns, rows, pad);
        let id = self.sheet.begin(Part::Table);
        let bold: Vec<Column> = columns.iter().cloned().map(Column::strong).collect();
        let swatches = |at: usize| {
            rows.iter().filter_map(|row| row.get(at)).any(|cell| matches!(parted(cell).0, Begins::Swatch(_)))
        };
        // A column's name stands over its words, not over their swatches.
        let room = char::from_u32(FIRST_SWATCH + Hatch::COUNT as u32);
        let name = |(at, column): (usize, &Column)| {
            room.filter(|_| swatches(at)).into_iter().chain(column.name.chars()).collect()
        };
        let names: Vec<String> = columns.iter().enumerate().map(name).collect();
        let head = self.row_height(&bold, &names, &wides, pad, true);
        // A head without a row below it tells nothing.
        self.reserve(
            head + rows.first().map_or(0.0, |row| self.row_height(columns, row, &wides, pad, false)),
        );
        self.table_row(&bold, &names, &wides, pad, head, true);
        for row in rows {
            let high = self.row_height(columns, row, &wides, pad, false);
            if self.reserve(high) {
                self.table_row(&bold, &names, &wides, pad, head, true);
            }
            self.table_row(columns, row, &wides, pad, high, false);
        }
        self.sheet.end(id);
    }

    /// Whether a table's heads stand on one line each, and its figures do.
    pub(in crate::pdf) fn has_room(&self, columns: &[Column], rows: &[Vec<String>]) -> bool {
        let wides = self.column_widths(columns, rows, self.pad());
        let swatch = |at: usize| rows.iter().any(|row| parted(&row[at]).0 != Begins::Words);
        columns.iter().zip(wides).enumerate().all(|(at, (column, wide))| {
            let room = self.swatch_room(if swatch(at) { Begins::Room } else { Begins::Words });
            room + width(&column.name, self.points, Weight::Bold) + self.pad() <= wide + 0.01
        })
    }

    /// What stays free between columns.
    fn pad(&self) -> f64 {
        self.ems(if self.points >= LARGE { 0.5 } else { 0.7 })
    }

    /// As wide as the longest cell; where that is too much, those that can be wrapped give way.
    fn column_widths(&self, columns: &[Column], rows: &[Vec<String>], pad: f64) -> Vec<f64> {
        type Measure<'a> = &'a dyn Fn(&str, f64, Weight) -> f64;
        let of = |at: usize, measure: Measure<'_>, of_name: Measure<'_>| {
            let column = &columns[at];
            let points = column.points(self.points, false);
            let cell = |cell: &String| {
                let (begins, words) = parted(cell);
                self.swatch_room(begins) + measure(words, points, column.weight())
            };
            let widest = rows.iter().filter_map(|row| row.get(at)).map(cell).fold(0.0, f64::max);
            let room = rows.iter().filter_map(|row| row.get(at)).any(|cell| parted(cell).0 != Begins::Words);
            let room = self.swatch_room(if room { Begins::Room } else { Begins::Words });
            widest.max(room + of_name(&column.name, self.points, Weight::Bold))
        };
        let whole = |text: &str, points, weight| width(text, points, weight);
        let word = |text: &str, points, weight| {
            glued(text).iter().map(|w| width(w, points, weight)).fold(0.0, f64::max)
        };
        // A hair more than measured, so that nothing wraps by rounding.
        let natural: Vec<f64> = (0..columns.len()).map(|at| of(at, &whole, &whole) + pad + 0.2).collect();
        let room = self.wide();
        let sum: f64 = natural.iter().sum();
        if sum <= room {
            // What is left over goes to the columns of words, after their share.
            let words: f64 = columns.iter().zip(&natural).filter(|(c, _)| !c.figures).map(|(_, w)| w).sum();
            let more = |(column, wide): (&Column, &f64)| {
                if column.figures || words == 0.0 { *wide } else { wide + (room - sum) * wide / words }
            };
            return columns.iter().zip(&natural).map(more).collect();
        }
        // Figures stay on one line; where there is room for it names do, and then what is large.
        let shortest = |at: usize, (names, large): (bool, bool)| {
            let Column { figures, least_points, .. } = columns[at];
            let measure: Measure<'_> = if figures || large && least_points > 0.0 { &whole } else { &word };
            let of_name: Measure<'_> = if names { &whole } else { measure };
            (of(at, measure, of_name) + pad + 0.2).min(room * 0.5)
        };
        let least = |roomy| (0..columns.len()).map(|at| shortest(at, roomy)).collect::<Vec<f64>>();
        let fits = |all: &Vec<f64>| all.iter().sum::<f64>() < room;
        let mut roomy = [(true, true), (true, false)].into_iter().map(least);
        let least = roomy.find(fits).unwrap_or_else(|| least((false, false)));
        let (needed, slack): (f64, f64) =
            (least.iter().sum(), natural.iter().zip(&least).map(|(n, l)| (n - l).max(0.0)).sum());
        if needed >= room || slack == 0.0 {
            return leveled(&least, room);
        }
        let part = (room - needed) / slack;
        natural.iter().zip(&least).map(|(n, l)| l + (n - l).max(0.0) * part.min(1.0)).collect()
    }

    /// A cell's lines. A row is never broken over two pages, so a cell takes at most half of one.
    fn cell_lines(&self, text: &str, (points, weight): (f64, Weight), most: f64) -> Vec<String> {
        let (begins, text) = parted(text);
        let most = most - self.swatch_room(begins);
        let mut lines = wrapped(text, points, weight, most);
        let room = ((self.bottom() - MARGIN) / 2.0 / (points * POINT * LEADING)).floor().max(1.0) as usize;
        if lines.len() > room {
            lines.truncate(room);
            if let Some(last) = lines.last_mut() {
                // Longer than fits, so that the ellipsis stands at its end.
                *last = shortened(&last.repeat(2), points, weight, most);
            }
        }
        lines
    }

    /// A swatch's width, what stays free after it, and its height.
    fn swatch(&self) -> [f64; 3] {
        (if self.points >= LARGE { LARGE_SWATCH } else { SWATCH }).map(|ems| self.ems(ems))
    }

    fn swatch_room(&self, begins: Begins) -> f64 {
        let [wide, free, _] = self.swatch();
        if begins == Begins::Words { 0.0 } else { wide + free }
    }

    fn row_height(&self, columns: &[Column], row: &[String], wides: &[f64], pad: f64, head: bool) -> f64 {
        let largest =
            columns.iter().map(|column| column.points(self.points, head)).fold(self.points, f64::max);
        let high = |((column, cell), wide): ((&Column, &String), &f64)| {
            let points = column.points(self.points, head);
            let lines = self.cell_lines(cell, (points, column.weight()), wide - pad).len();
            // First lines stand on one line, that of the largest type.
            (largest - points) * POINT * 1.08 + points * POINT * LEADING * lines as f64
        };
        columns.iter().zip(row).zip(wides).map(high).fold(self.ems(LEADING), f64::max) + self.ems(0.35)
    }

    fn table_row(
        &mut self,
        columns: &[Column],
        row: &[String],
        wides: &[f64],
        pad: f64,
        high: f64,
        head: bool,
    ) {
        let top = self.y;
        let type_of = |column: &Column| column.points(self.points, head);
        // All stand on one line, whatever their size.
        let largest = columns.iter().map(type_of).fold(self.points, f64::max);
        let id = self.sheet.begin(Part::Row);
        let mut x = self.left;
        for (at, ((column, cell), wide)) in columns.iter().zip(row).zip(wides).enumerate() {
            let part = match (head, at) {
                (true, _) => Part::ColumnHead,
                (false, 0) => Part::RowHead,
                (false, _) => Part::Cell,
            };
            let last = at + 1 == columns.len();
            let (points, weight) = (column.points(self.points, head), column.weight());
            let (begins, _) = parted(cell);
            let cell_id = self.sheet.begin(part);
            if cell == TICK {
                let side = self.ems(1.0);
                let free = (largest - self.points) * POINT;
                self.sheet.frame([x, top + free + self.ems(0.25), side, side], 0.35);
            } else {
                if let Begins::Swatch(hatch) = begins {
                    let base = top + largest * POINT * 1.08;
                    let [wide, _, high] = self.swatch();
                    let area = [x, base - self.ems(0.8), wide, high];
                    self.sheet.hatch(area, hatch);
                    self.sheet.frame(area, 0.25);
                }
                let x_of_words = x + self.swatch_room(begins);
                for (line, text) in self.cell_lines(cell, (points, weight), wide - pad).iter().enumerate() {
                    let y = top + largest * POINT * 1.08 + points * POINT * LEADING * line as f64;
                    if column.figures {
                        let text = text.trim_end();
                        self.sheet.text_to(x + wide - if last { 0.0 } else { pad }, y, text, points, weight);
                    } else {
                        self.sheet.text(x_of_words, y, text, points, weight);
                    }
                }
            }
            self.sheet.end(cell_id);
            x += wide;
        }
        self.sheet.end(id);
        self.y += high;
        self.sheet.rule([self.left, self.y, self.right, self.y], if head { 0.4 } else { 0.15 });
    }
}
