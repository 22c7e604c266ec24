//! Tables on paper: columns as wide as they need, rows that stay whole, and their head again on every page.
use super::flow::{LEADING, Paper};
use super::sheet::{MARGIN, Part};
use super::text::{POINT, Weight, shortened, width, wrap};

/// A column.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// Whether it holds figures, which stand at the right.
    pub figures: bool,
    /// Whether it is heavier than the others.
    pub strong: bool,
}

impl Column {
    /// A column of words.
    pub fn words(name: &str) -> Self {
        Self { name: name.to_owned(), figures: false, strong: false }
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

    fn weight(&self) -> Weight {
        if self.strong { Weight::Bold } else { Weight::Regular }
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

impl Paper {
    /// A table. The first column names its rows; a cell that is [`TICK`] is a box to tick.
    pub fn table(&mut self, columns: &[Column], rows: &[Vec<String>]) {
        let pad = self.ems(0.7);
        let wides = self.column_widths(columns, rows, pad);
        let id = self.sheet.begin(Part::Table);
        let bold: Vec<Column> = columns.iter().cloned().map(Column::strong).collect();
        let names: Vec<String> = columns.iter().map(|column| column.name.clone()).collect();
        let head = self.row_height(&bold, &names, &wides, pad);
        // A head without a row below it tells nothing.
        self.reserve(head + rows.first().map_or(0.0, |row| self.row_height(columns, row, &wides, pad)));
        self.table_row(&bold, &names, &wides, pad, head, true);
        for row in rows {
            let high = self.row_height(columns, row, &wides, pad);
            if self.reserve(high) {
                self.table_row(&bold, &names, &wides, pad, head, true);
            }
            self.table_row(columns, row, &wides, pad, high, false);
        }
        self.sheet.end(id);
    }

    /// As wide as the longest cell; where that is too much, those that can be wrapped give way.
    fn column_widths(&self, columns: &[Column], rows: &[Vec<String>], pad: f64) -> Vec<f64> {
        let of = |at: usize, measure: &dyn Fn(&str, Weight) -> f64| {
            let column = &columns[at];
            let cells = rows.iter().filter_map(|row| row.get(at));
            let widest = cells.map(|cell| measure(cell, column.weight())).fold(0.0, f64::max);
            widest.max(measure(&column.name, Weight::Bold))
        };
        let whole = |text: &str, weight| width(text, self.points, weight);
        let word =
            |text: &str, weight| text.split(' ').map(|w| width(w, self.points, weight)).fold(0.0, f64::max);
        // A hair more than measured, so that nothing wraps by rounding.
        let natural: Vec<f64> = (0..columns.len()).map(|at| of(at, &whole) + pad + 0.2).collect();
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
        // Figures stay on one line.
        let shortest = |at: usize| {
            let measure: &dyn Fn(&str, Weight) -> f64 = if columns[at].figures { &whole } else { &word };
            (of(at, measure) + pad + 0.2).min(room * 0.5)
        };
        let least: Vec<f64> = (0..columns.len()).map(shortest).collect();
        let (needed, slack): (f64, f64) =
            (least.iter().sum(), natural.iter().zip(&least).map(|(n, l)| (n - l).max(0.0)).sum());
        if needed >= room || slack == 0.0 {
            return leveled(&least, room);
        }
        let part = (room - needed) / slack;
        natural.iter().zip(&least).map(|(n, l)| l + (n - l).max(0.0) * part.min(1.0)).collect()
    }

    /// A cell's lines. A row is never broken over two pages, so a cell takes at most half of one.
    fn cell_lines(&self, text: &str, weight: Weight, most: f64) -> Vec<String> {
        let mut lines = wrap(text, self.points, weight, most);
        let room = ((self.bottom() - MARGIN) / 2.0 / self.ems(LEADING)).floor().max(1.0) as usize;
        if lines.len() > room {
            lines.truncate(room);
            if let Some(last) = lines.last_mut() {
                // Longer than fits, so that the ellipsis stands at its end.
                *last = shortened(&last.repeat(2), self.points, weight, most);
            }
        }
        lines
    }

    fn row_height(&self, columns: &[Column], row: &[String], wides: &[f64], pad: f64) -> f64 {
        let lines = |((column, cell), wide): ((&Column, &String), &f64)| {
            self.cell_lines(cell, column.weight(), wide - pad).len()
        };
        let most = columns.iter().zip(row).zip(wides).map(lines).max().unwrap_or(1);
        self.ems(LEADING) * most as f64 + self.ems(0.35)
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
        let (top, points) = (self.y, self.points);
        let id = self.sheet.begin(Part::Row);
        let mut x = self.left;
        for (at, ((column, cell), wide)) in columns.iter().zip(row).zip(wides).enumerate() {
            let part = match (head, at) {
                (true, _) => Part::ColumnHead,
                (false, 0) => Part::RowHead,
                (false, _) => Part::Cell,
            };
            let last = at + 1 == columns.len();
            let weight = column.weight();
            let cell_id = self.sheet.begin(part);
            if cell == TICK {
                let side = self.ems(1.0);
                self.sheet.frame([x, top + self.ems(0.25), side, side], 0.35);
            } else {
                for (line, text) in self.cell_lines(cell, weight, wide - pad).iter().enumerate() {
                    let y = top + points * POINT * (1.08 + LEADING * line as f64);
                    if column.figures {
                        self.sheet.text_to(x + wide - if last { 0.0 } else { pad }, y, text, points, weight);
                    } else {
                        self.sheet.text(x, y, text, points, weight);
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
