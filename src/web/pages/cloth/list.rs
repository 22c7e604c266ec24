//! A list of bundles: what the columns of its table mean, and each row read as if it were typed at the scale.
use super::columns::{self, AS_THEY_STAND, IN};
use super::{Form, reading};
use crate::planning::cloth::Kind;
use crate::planning::colour::{Hex, NAMED};
use crate::store::cloth::ledger::Lot;
use crate::tables::{Table, TableRow};
use crate::units::{Mass, Units};

/// The most rows that are taken in at once.
const MOST: usize = 10_000;

/// A sheet that weighs more is asked about, in grams: the largest, of denim, weighs less. Ours, no source.
const HEAVY_SHEET_G: f64 = 4_000.0;

/// A whole number as spreadsheets write it: `2.0` is 2.
fn whole(cell: &str) -> String {
    match cell.split_once('.') {
        Some((whole, rest))
            if !whole.is_empty() && !rest.is_empty() && rest.bytes().all(|digit| digit == b'0') =>
        {
            whole.to_owned()
        }
        _ => cell.to_owned(),
    }
}

/// Other names, above all those of the shelf's own table, and what they fill in. What follows from the rest, or is new
/// with each list, fills in nothing.
const ALSO: [(&str, &str); 7] = [
    ("color", "colour"),
    ("balance_g", "weight"),
    ("state", "washed"),
    ("weighed_in_g", "first weight"),
    ("family", ""),
    ("g_per_m2", ""),
    ("came_in", ""),
];

/// A list that was read.
#[derive(Debug, Default)]
pub(super) struct List {
    /// The rows that can come in.
    pub good: Vec<Good>,
    /// What is wrong with the others, in the order of their lines.
    pub wrong: Vec<Wrong>,
    /// How many others there are.
    pub wrong_rows: usize,
}

/// A row that can come in.
#[derive(Debug)]
pub(super) struct Good {
    pub line: u64,
    pub lot: Lot,
    /// What of the row doesn't come in as it stands.
    pub remark: &'static str,
}

/// Something wrong with a row.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Wrong {
    pub line: u64,
    pub column: String,
    pub why: String,
}

impl List {
    /// What all the good rows weigh.
    pub(super) fn weight(&self) -> Mass {
        self.good.iter().map(|good| good.lot.weighing.net()).sum()
    }
}

/// Reads a table as a list of bundles; bare numbers are in `units` where the scale's form allows them. `Err` says why it
/// is no such list.
pub(super) fn read(table: &Table, units: Units) -> Result<List, String> {
    let read = Columns::of(table)?;
    if table.rows.is_empty() {
        return Err("There are no rows under the first, which names the columns.".into());
    }
    if table.rows.len() > MOST {
        return Err(format!("These are {} rows; at most {MOST} can come in at once.", table.rows.len()));
    }
    let mut list = List::default();
    for row in &table.rows {
        match read.lot(row, units) {
            Ok(good) => list.good.push(good),
            Err(wrong) => {
                list.wrong_rows += 1;
                list.wrong.extend(wrong);
            }
        }
    }
    Ok(list)
}

/// A table's columns.
struct Columns<'a> {
    head: &'a [String],
    /// Whether a comma begins decimals.
    decimal_commas: bool,
    /// Whether washed cloth is ticked with a cross, so that an empty cell says no.
    crossed: bool,
    /// What each fills in.
    fields: Vec<&'static str>,
}

fn field(name: &str) -> Option<&'static str> {
    let name = name.to_lowercase().replace([' ', '-'], "_");
    let also = || ALSO.iter().find(|(known, _)| *known == name).map(|(_, field)| *field);
    IN.iter().map(|column| column.name).find(|known| *known == name).or_else(also)
}

impl<'a> Columns<'a> {
    fn of(table: &'a Table) -> Result<Self, String> {
        let head = table.head.as_slice();
        if head.iter().all(|name| field(name).is_none()) {
            let first: String = head.join(", ").chars().take(60).collect();
            return Err(format!(
                "The first row has to name the columns: kind, colour, weight and washed at least. Here it is “{first}”."
            ));
        }
        let mut fields = Vec::new();
        for (at, name) in head.iter().enumerate() {
            let unused = name.is_empty()
                && table.rows.iter().all(|row| row.cells.get(at).is_none_or(String::is_empty));
            let Some(field) = field(name).or(unused.then_some("")) else {
                let (number, known) = (at + 1, IN.map(|column| column.name).join(", "));
                let name: String = name.chars().take(40).collect();
                return Err(format!(
                    "Column {number} is called “{name}”, which is none of those known: {known}. Rename it or take it out."
                ));
            };
            if let Some(twin) = fields.iter().position(|known| *known == field && !field.is_empty()) {
                return Err(format!("The columns “{}” and “{name}” say the same. Keep one.", head[twin]));
            }
            fields.push(field);
        }
        let lacks = |field: &&str| !(fields.contains(field) || *field == "colour" && fields.contains(&"hex"));
        let lacking: Vec<&str> = ["kind", "colour", "weight", "washed"].into_iter().filter(lacks).collect();
        if !lacking.is_empty() {
            return Err(format!("A column is missing: {}.", lacking.join(", ")));
        }
        let mut read = Self { head, decimal_commas: table.decimal_commas, crossed: false, fields };
        let crossed =
            |row: &TableRow| matches!(read.cell(row, "washed").to_lowercase().as_str(), "x" | "✓" | "✔");
        read.crossed = table.rows.iter().any(crossed);
        Ok(read)
    }

    /// A cell that holds a number, as the scale reads it: a comma before its decimals becomes a point.
    fn number(&self, row: &TableRow, field: &str) -> String {
        let cell = self.cell(row, field);
        let commas = self.decimal_commas || self.named(field).ends_with("_g");
        match cell.split_once(',') {
            Some((before, after))
                if commas
                    && !cell.contains('.')
                    && before.ends_with(|last: char| last.is_ascii_digit())
                    && after.starts_with(|first: char| first.is_ascii_digit())
                    && !after.contains(',') =>
            {
                format!("{before}.{after}")
            }
            _ => cell.to_owned(),
        }
    }

    fn at(&self, field: &str) -> Option<usize> {
        self.fields.iter().position(|known| *known == field)
    }

    fn cell<'r>(&self, row: &'r TableRow, field: &str) -> &'r str {
        self.at(field).and_then(|at| row.cells.get(at)).map_or("", String::as_str)
    }

    /// The name of the column that a field of the scale's form was filled from.
    fn named(&self, field: &str) -> String {
        let field = match field {
            "own_name" => "colour",
            "own_hex" => "hex",
            "second" | "second_name" => "second_colour",
            field => field,
        };
        self.at(field).map_or_else(|| field.to_owned(), |at| self.head[at].clone())
    }

    fn lot(&self, row: &TableRow, units: Units) -> Result<Good, Vec<Wrong>> {
        let line = row.line;
        if row.cells.iter().skip(self.head.len()).any(|cell| !cell.is_empty()) {
            let why = format!(
                "The row has {} cells, but the first row names {}. A cell that holds a comma needs quotation marks.",
                row.cells.len(),
                self.head.len()
            );
            return Err(vec![Wrong { line, column: String::new(), why }]);
        }
        let mut form = Form::blank(units);
        fill_kind(&mut form, self.cell(row, "kind"));
        let (colour, hex) = (self.cell(row, "colour"), self.cell(row, "hex"));
        if colour.is_empty() && hex.is_empty() {
            form.add_error("colour", "The colour is missing.");
        }
        fill_colour(&mut form, ["colour", "own_name", "own_hex"], colour, hex);
        let (second, hex) = (self.cell(row, "second_colour"), self.cell(row, "second_hex"));
        fill_colour(&mut form, ["second", "second_name", "second_hex"], second, hex);
        let washed = self.cell(row, "washed");
        let mut remark =
            fill_washed(&mut form, if washed.is_empty() && self.crossed { "no" } else { washed });
        let weight = self.number(row, "weight");
        // A column that names its unit holds bare numbers.
        let bare =
            self.named("weight").ends_with("_g") && weight.ends_with(|last: char| last.is_ascii_digit());
        form.set("weight", if bare { format!("{weight} g") } else { weight.clone() });
        let first = self.number(row, "first weight");
        let used = bare && !first.is_empty() && first != weight;
        if used && !self.cell(row, "sheets").is_empty() {
            remark = "Some of it is used up, so its sheets aren’t counted.";
        } else {
            for field in ["sheets", "sheet_length", "sheet_width", "sheet_size", "sheet_hem", "sheet_top_hem"]
            {
                form.set(field, self.number(row, field));
            }
            form.set("sheets", whole(form.value("sheets")));
        }
        let (tag, note) = (self.cell(row, "tag"), self.cell(row, "note"));
        let tag = if tag.is_empty() { String::new() } else { format!("Tag before: {tag}. ") };
        form.set("note", tag + note);
        for field in AS_THEY_STAND {
            form.set(field, self.cell(row, field));
        }

        let (fields, weighing) = (columns::fields(&mut form), reading::weighing(&mut form, "", false));
        match (fields, weighing) {
            (Some(fields), Some(weighing)) if form.is_ok() => {
                let sheets = fields.sheets.map_or(0, |sheets| sheets.count);
                if sheets > 0 && weighing.net().grams() / sheets as f64 > HEAVY_SHEET_G {
                    remark =
                        "That is heavy for so few sheets: is the weight right? If not, mend the list first.";
                }
                Ok(Good { line, lot: Lot { fields, weighing }, remark })
            }
            _ => {
                let wrong = form.errors().iter();
                Err(wrong
                    .map(|(name, why)| Wrong { line, column: self.named(name), why: why.clone() })
                    .collect())
            }
        }
    }
}

// What is refused here keeps its words: the scale's form, which speaks of buttons, adds none to a field that is wrong.

fn fill_kind(form: &mut Form, typed: &str) {
    let titled =
        || Kind::ALL.into_iter().find(|kind| kind.facts().title.to_lowercase() == typed.to_lowercase());
    match typed.parse::<Kind>() {
        _ if typed.is_empty() => form.add_error("kind", "The kind of cloth is missing."),
        Ok(kind) => form.set("kind", kind.key()),
        Err(why) => match titled() {
            Some(kind) => form.set("kind", kind.key()),
            None => form.add_error("kind", why),
        },
    }
}

/// A colour into three fields of the scale's form: the choice, and the name and look of one that isn't listed.
fn fill_colour(form: &mut Form, [choice, own_name, own_hex]: [&str; 3], name: &str, hex: &str) {
    let hex = if hex.is_empty() || hex.starts_with('#') { hex.to_owned() } else { format!("#{hex}") };
    let known = |key: &str| key.to_lowercase() == name.to_lowercase();
    let listed = NAMED.iter().find(|named| known(named.key) || known(named.name));
    match listed {
        Some(named) if hex.is_empty() || Hex::parse(&hex) == Ok(named.hex) => form.set(choice, named.key),
        _ if !hex.is_empty() => {
            form.set(choice, reading::OWN);
            form.set(own_name, name);
            form.set(own_hex, hex);
        }
        _ if name.is_empty() => {}
        _ => {
            let name: String = name.chars().take(40).collect();
            form.add_error(
                choice,
                format!("“{name}” is none of the colours known by name. Give its hex too, such as #22305a."),
            );
        }
    }
}

fn fill_washed(form: &mut Form, typed: &str) -> &'static str {
    match typed.to_lowercase().as_str() {
        "yes" | "ready" | "washed" | "y" | "x" | "✓" | "✔" | "1" | "true" => form.set("washed", "yes"),
        "no" | "arrived" | "not washed" | "n" | "0" | "false" => form.set("washed", "no"),
        "washing" => {
            form.set("washed", "no");
            return "It was in the wash and comes in as not washed.";
        }
        "" => form.add_error("washed", "Whether it is washed is missing: yes or no."),
        _ => {
            let typed: String = typed.chars().take(40).collect();
            form.add_error("washed", format!("“{typed}” doesn’t say whether it is washed: write yes or no."));
        }
    }
    ""
}
