//! Tables that are written in: rows high enough for a hand, lines between the columns, boxes to tick, colours as they look.
use super::flow::{LEADING, Paper};
use super::sheet::{MARGIN, Part};
use super::text::{POINT, Weight, shortened, width, wrapped};
use crate::planning::colour::Hex;
use crate::services::paper_data::document::{Cell, Column, Stands, Table};

/// What a word keeps from its column's edges, and a row from its lines, in sizes of type.
const PAD: f64 = 0.45;
/// A colour's swatch.
const SWATCH: [f64; 2] = [22.0, 6.0];

/// How wide the columns are, and how high the rows are at least.
struct Cut {
    wides: Vec<f64>,
    high: f64,
}

/// Room for a hand, which takes what is left over; what is narrower has a box to tick.
const HAND: f64 = 15.0;

/// How heavy a column is: the first names the rows.
fn weight_of(column: usize, weight: Weight) -> Weight {
    if column == 0 { Weight::Bold } else { weight }
}

impl Paper {
    /// A table with lines between its columns; its head stands on every page.
    pub(in crate::pdf) fn grid(&mut self, table: &Table) {
        let cut = Cut { wides: self.grid_widths(table), high: table.high };
        let names: Vec<Cell> = table.columns.iter().map(|column| column.name.as_str().into()).collect();
        let head = Cut { wides: cut.wides.clone(), high: 0.0 };
        let head_high = self.grid_high(&head, &names, Weight::Bold);
        let first = table.rows.first().map_or(0.0, |row| self.grid_high(&cut, row, Weight::Regular));
        self.reserve(head_high + first);
        let id = self.sheet.begin(Part::Table);
        self.grid_row(table, &head, &names, true);
        for row in &table.rows {
            let high = self.grid_high(&cut, row, Weight::Regular);
            if self.reserve(high) {
                self.grid_row(table, &head, &names, true);
            }
            self.grid_row(table, &cut, row, false);
        }
        self.sheet.end(id);
    }

    fn grid_pad(&self) -> f64 {
        self.ems(PAD)
    }

    /// Columns to write in have their room; words take what they need, and less where that is too much; what is left over goes
    /// to the room for writing, or else to the words.
    fn grid_widths(&self, table: &Table) -> Vec<f64> {
        let pad = 2.0 * self.grid_pad() + 0.3;
        let of = |at: usize, column: &Column, each: &dyn Fn(&str, Weight) -> f64| {
            let cells = table.rows.iter().filter_map(|row| row.get(at));
            let widest = cells.map(|cell| match cell {
                Cell::Words(text) => each(text, weight_of(at, Weight::Regular)),
                Cell::Tick => self.ems(1.0),
                Cell::Cloth(..) => SWATCH[0],
            });
            widest.fold(each(&column.name, Weight::Bold), f64::max) + pad
        };
        let whole = |text: &str, weight| width(text, self.points, weight);
        let word =
            |text: &str, weight| text.split(' ').map(|w| width(w, self.points, weight)).fold(0.0, f64::max);
        let columns = || table.columns.iter().enumerate();
        let least: Vec<f64> = columns()
            .map(|(at, column)| match column.stands {
                Stands::Room(wide) => of(at, column, &word).max(wide),
                Stands::Figures => of(at, column, &word),
                Stands::Words => of(at, column, &word).min(self.wide() * 0.4),
            })
            .collect();
        let natural: Vec<f64> = columns()
            .map(|(at, column)| match column.stands {
                Stands::Room(_) => least[at],
                _ => of(at, column, &whole).max(least[at]),
            })
            .collect();
        let (needed, wanted): (f64, f64) = (least.iter().sum(), natural.iter().sum());
        if needed >= self.wide() {
            return least.iter().map(|one| one * self.wide() / needed).collect();
        }
        if wanted > self.wide() {
            let part = (self.wide() - needed) / (wanted - needed);
            return least.iter().zip(&natural).map(|(l, n)| l + (n - l) * part).collect();
        }
        let room = |column: &Column| matches!(column.stands, Stands::Room(wide) if wide >= HAND);
        let any = table.columns.iter().any(room);
        let takes = |column: &Column| if any { room(column) } else { matches!(column.stands, Stands::Words) };
        let share: f64 = table.columns.iter().zip(&natural).filter(|(c, _)| takes(c)).map(|(_, n)| n).sum();
        let over = self.wide() - wanted;
        let widened = |(column, wide): (&Column, &f64)| {
            if takes(column) && share > 0.0 { wide + over * wide / share } else { *wide }
        };
        table.columns.iter().zip(&natural).map(widened).collect()
    }

    /// A cell's lines; a row is never broken over two pages.
    fn grid_lines(&self, text: &str, weight: Weight, wide: f64) -> Vec<String> {
        let most = wide - 2.0 * self.grid_pad();
        let mut lines = wrapped(text, self.points, weight, most);
        let fits = ((self.bottom() - MARGIN) / 2.0 / self.ems(LEADING)).floor().max(1.0) as usize;
        if lines.len() > fits {
            lines.truncate(fits);
            if let Some(last) = lines.last_mut() {
                *last = shortened(&format!("{last}…{last}"), self.points, weight, most);
            }
        }
        lines
    }

    fn grid_high(&self, cut: &Cut, row: &[Cell], weight: Weight) -> f64 {
        let high = |(at, (cell, wide)): (usize, (&Cell, &f64))| match cell {
            Cell::Words(text) => {
                self.ems(LEADING) * self.grid_lines(text, weight_of(at, weight), *wide).len() as f64
            }
            Cell::Tick => self.ems(LEADING),
            Cell::Cloth(..) => SWATCH[1],
        };
        (row.iter().zip(&cut.wides).enumerate().map(high).fold(0.0, f64::max) + self.grid_pad()).max(cut.high)
    }

    fn grid_row(&mut self, table: &Table, cut: &Cut, row: &[Cell], head: bool) {
        let (top, points, pad) = (self.y, self.points, self.grid_pad());
        let weight = if head { Weight::Bold } else { Weight::Regular };
        let high = self.grid_high(cut, row, weight);
        let id = self.sheet.begin(Part::Row);
        let mut x = self.left;
        for (at, ((column, cell), wide)) in table.columns.iter().zip(row).zip(&cut.wides).enumerate() {
            let part = match (head, at) {
                (true, _) => Part::ColumnHead,
                (false, 0) => Part::RowHead,
                (false, _) => Part::Cell,
            };
            let weight = weight_of(at, weight);
            let cell_id = self.sheet.begin(part);
            match cell {
                Cell::Words(text) if text.is_empty() => {}
                Cell::Words(text) => {
                    for (line, text) in self.grid_lines(text, weight, *wide).iter().enumerate() {
                        let y = top + pad / 2.0 + points * POINT * (1.0 + LEADING * line as f64);
                        if column.stands == Stands::Figures {
                            let text = text.trim_end();
                            self.sheet.text_to(x + wide - pad, y, text, points, weight);
                        } else {
                            self.sheet.text(x + pad, y, text, points, weight);
                        }
                    }
                }
                Cell::Tick => {
                    let side = self.ems(1.0);
                    self.sheet.frame([x + pad, top + (high - side) / 2.0, side, side], 0.35);
                }
                Cell::Cloth(hex, second) => {
                    self.colour_swatch([x + pad, top + (high - SWATCH[1]) / 2.0], *hex, *second);
                }
            }
            self.sheet.end(cell_id);
            x += wide;
        }
        self.sheet.end(id);
        self.y += high;
        let weight = if head { 0.4 } else { 0.15 };
        self.sheet.rule([self.left, self.y, self.right, self.y], weight);
        let mut lines = Vec::new();
        let mut x = self.left;
        for wide in cut.wides.iter().take(cut.wides.len().saturating_sub(1)) {
            x += wide;
            lines.push([x, top, x, self.y]);
        }
        self.sheet.lines(lines, 0.15, None);
    }

    /// A colour as it looks, and beside it how dark it is: where a printer has black alone, the lines tell light from dark.
    fn colour_swatch(&mut self, [x, y]: [f64; 2], hex: Hex, second: Option<Hex>) {
        let half = SWATCH[0] / 2.0;
        self.sheet.tint([x, y, half, SWATCH[1]], hex.channels());
        if let Some(second) = second {
            self.sheet.tint([x + half / 2.0, y, half / 2.0, SWATCH[1]], second.channels());
        }
        // CIELAB's lightness runs from 0 for black to 100.
        let dark = 1.0 - hex.lab().parts()[0] / 100.0;
        let (apart, lines) = (1.0, SWATCH[1] as usize);
        let bars =
            (0..lines).map(|n| [x + half, y + apart * (n as f64 + 0.5 - dark / 2.0), half, apart * dark]);
        if dark > 0.03 {
            self.sheet.fill(bars.collect(), 0);
        }
        self.sheet.frame([x, y, SWATCH[0], SWATCH[1]], 0.2);
    }
}
