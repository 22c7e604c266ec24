//! Tables that come in and go out. In: the text of a CSV file (RFC 4180) or of cells copied out of a spreadsheet, as a head
//! and rows that know their lines; what the columns mean is for the caller to know. Out: CSV that no spreadsheet takes
//! for formulas.

/// A table as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// The first row: what the columns are called.
    pub head: Vec<String>,
    /// The other rows that hold anything.
    pub rows: Vec<TableRow>,
}

/// One row of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TableRow {
    /// The line of the text on which it begins, the first being 1.
    pub line: u64,
    /// Its cells, trimmed.
    pub cells: Vec<String>,
}

/// Why there is no table in a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoTable {
    /// The bytes are no text as we read it.
    #[error("This is no text in UTF-8. Save the table as CSV in UTF-8 and choose it again.")]
    NotText,
    /// Nothing but blanks.
    #[error("There is nothing in it.")]
    Empty,
}

/// The text of a file, without the mark that some programs put in front of UTF-8.
///
/// # Errors
/// [`NoTable::NotText`] for what isn't UTF-8.
pub fn text(bytes: &[u8]) -> Result<&str, NoTable> {
    let text = std::str::from_utf8(bytes).map_err(|_| NoTable::NotText)?;
    // A spreadsheet's own file is full of bytes that no text has, and can by chance be UTF-8 all the same.
    if text.contains('\0') { Err(NoTable::NotText) } else { Ok(text.trim_start_matches('\u{feff}')) }
}

impl Table {
    /// Reads a text. Cells are parted by what parts most of them on the first line: commas, semicolons or tabs.
    ///
    /// # Errors
    /// [`NoTable::Empty`] where there is no first row.
    pub fn read(text: &str) -> Result<Self, NoTable> {
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .delimiter(parted_by(text))
            .from_reader(text.as_bytes());
        let mut rows = Vec::new();
        for record in reader.records() {
            // The text is UTF-8 and its rows may be of any length, so nothing is left that the reader refuses.
            let record = record.map_err(|_| NoTable::NotText)?;
            let cells: Vec<String> = record.iter().map(unguarded).collect();
            if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push(TableRow { line: line_of(text, record.position()), cells });
            }
        }
        if rows.is_empty() {
            return Err(NoTable::Empty);
        }
        let head = rows.remove(0).cells;
        Ok(Self { head, rows })
    }
}

fn parted_by(text: &str) -> u8 {
    let first = text.lines().find(|line| !line.trim().is_empty()).unwrap_or("");
    let times = |mark: &&u8| first.bytes().filter(|byte| byte == *mark).count();
    // Of equals the last is taken.
    b"\t;,".iter().max_by_key(times).copied().unwrap_or(b',')
}

/// The line a row begins on. The reader names the place where it began to look, which empty lines may follow.
fn line_of(text: &str, place: Option<&csv::Position>) -> u64 {
    let Some(place) = place else { return 0 };
    let from = usize::try_from(place.byte()).unwrap_or(usize::MAX);
    let skipped = text.as_bytes().get(from..).unwrap_or_default();
    let breaks =
        skipped.iter().take_while(|byte| matches!(byte, b'\r' | b'\n')).filter(|byte| **byte == b'\n');
    place.line() + breaks.count() as u64
}

/// A cell without the apostrophe that keeps spreadsheets from taking it for a formula.
fn unguarded(cell: &str) -> String {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest.to_owned(),
        _ => cell.to_owned(),
    }
}

/// A table as CSV (RFC 4180). Cells that a spreadsheet would take for a formula are led by an apostrophe;
/// numbers of less than nothing are numbers.
pub fn csv<R: AsRef<[String]>>(head: &[&str], rows: impl Iterator<Item = R>) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    out.write_record(head)?;
    for row in rows {
        out.write_record(row.as_ref().iter().map(|cell| {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']) && cell.parse::<f64>().is_err();
            if formula { format!("'{cell}") } else { cell.clone() }
        }))?;
    }
    out.into_inner().map_err(|e| csv::Error::from(std::io::Error::other(e.to_string())))
}

#[cfg(test)]
mod tests {
    use super::csv;

    #[test]
    fn a_cell_never_becomes_a_formula() {
        let table = csv(&["a"], [["=1+1".to_owned()], ["plain, said".to_owned()]].into_iter()).unwrap();
        assert_eq!(String::from_utf8(table).unwrap(), "a\r\n'=1+1\r\n\"plain, said\"\r\n");
        let table = csv(&["a"], [["-1.5".to_owned()], ["-1+2".to_owned()]].into_iter()).unwrap();
        assert_eq!(String::from_utf8(table).unwrap(), "a\r\n-1.5\r\n'-1+2\r\n");
    }
}
