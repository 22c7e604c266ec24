//! Tables that come in and go out. In: the text of a CSV file (RFC 4180), of a spreadsheet's own, or of cells copied out of one, as a head
//! and rows that know their lines; what the columns mean is for the caller to know. Out: CSV that no spreadsheet takes
//! for formulas.

mod spreadsheet;

/// A table as it was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// The first row: what the columns are called.
    pub head: Vec<String>,
    /// The other rows that hold anything.
    pub rows: Vec<TableRow>,
    /// Whether semicolons part its cells, as spreadsheets write where a comma begins the decimals.
    pub decimal_commas: bool,
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
    #[error("This file isn’t a table. Save it as CSV or .xlsx and choose it again.")]
    NotText,
    /// A spreadsheet's own file of a kind that we don't read, or a broken one.
    #[error("This spreadsheet can’t be read. Save it as .xlsx or CSV and choose it again.")]
    Spreadsheet,
    /// A spreadsheet's own file that holds more than any list.
    #[error("This spreadsheet is too large. Copy the list into a file of its own, or save it as CSV.")]
    TooLarge,
    /// Nothing but blanks.
    #[error("There is nothing in it.")]
    Empty,
}

/// What Windows-1252 has from 0x80 to 0x9F; nothing where it has no letter. As in the Encoding Standard's index windows-1252
/// (encoding.spec.whatwg.org), whose five C1 controls are no letters of any table. From memory.
const WINDOWS_1252: [Option<char>; 32] = [
    Some('€'),
    None,
    Some('‚'),
    Some('ƒ'),
    Some('„'),
    Some('…'),
    Some('†'),
    Some('‡'),
    Some('ˆ'),
    Some('‰'),
    Some('Š'),
    Some('‹'),
    Some('Œ'),
    None,
    Some('Ž'),
    None,
    None,
    Some('‘'),
    Some('’'),
    Some('“'),
    Some('”'),
    Some('•'),
    Some('–'),
    Some('—'),
    Some('˜'),
    Some('™'),
    Some('š'),
    Some('›'),
    Some('œ'),
    None,
    Some('ž'),
    Some('Ÿ'),
];

/// The text of a file as spreadsheets save it: UTF-8 or UTF-16, without the mark in front of it, else Windows-1252; of an `.xlsx`
/// its first sheet that holds anything.
///
/// # Errors
/// [`NoTable::Spreadsheet`] for another kind of spreadsheet's own file, [`NoTable::TooLarge`] for one beyond all lists,
/// [`NoTable::NotText`] for what is none of these.
pub fn text(bytes: &[u8]) -> Result<String, NoTable> {
    if bytes.starts_with(b"PK\x03\x04") {
        return spreadsheet::text(bytes);
    }
    if bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Err(NoTable::Spreadsheet);
    }
    let text = match bytes {
        [0xff, 0xfe, rest @ ..] => utf_16(rest, u16::from_le_bytes)?,
        [0xfe, 0xff, rest @ ..] => utf_16(rest, u16::from_be_bytes)?,
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => {
                bytes.iter().map(|byte| windows_1252(*byte)).collect::<Option<_>>().ok_or(NoTable::NotText)?
            }
        },
    };
    // What isn't text is full of bytes that no text has, and can by chance be UTF-8 all the same.
    if text.contains('\0') {
        Err(NoTable::NotText)
    } else {
        Ok(text.trim_start_matches('\u{feff}').to_owned())
    }
}

fn utf_16(bytes: &[u8], read: fn([u8; 2]) -> u16) -> Result<String, NoTable> {
    let (pairs, []) = bytes.as_chunks::<2>() else { return Err(NoTable::NotText) };
    let units: Vec<u16> = pairs.iter().map(|pair| read(*pair)).collect();
    String::from_utf16(&units).map_err(|_| NoTable::NotText)
}

fn windows_1252(byte: u8) -> Option<char> {
    match byte {
        b'\t' | b'\n' | b'\r' | 0x20..=0x7e | 0xa0..=0xff => Some(char::from(byte)),
        0x80..=0x9f => WINDOWS_1252[usize::from(byte - 0x80)],
        _ => None,
    }
}

/// What a first line such as `sep=;` says parts the cells; some spreadsheets write one.
fn said(text: &str) -> Option<u8> {
    let line = text.trim_start().lines().next()?.trim_matches(|c| c == '"' || c == '\r');
    match line.as_bytes() {
        [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', mark @ (b';' | b',' | b'\t' | b'|')] => Some(*mark),
        _ => None,
    }
}

impl Table {
    /// Reads a text. Cells are parted by what its first line names (`sep=;`), else by what parts most of them on that line: commas,
    /// semicolons or tabs.
    ///
    /// # Errors
    /// [`NoTable::Empty`] where there is no first row.
    pub fn read(text: &str) -> Result<Self, NoTable> {
        let said = said(text);
        let mark = said.unwrap_or_else(|| parted_by(text));
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .delimiter(mark)
            .from_reader(text.as_bytes());
        let mut lines = Lines { text: text.as_bytes(), at: 0, line: 1 };
        let mut rows = Vec::new();
        for record in reader.records() {
            // The text is UTF-8 and its rows may be of any length, so nothing is left that the reader refuses.
            let record = record.map_err(|_| NoTable::NotText)?;
            let cells: Vec<String> = record.iter().map(unguarded).collect();
            if cells.iter().any(|cell| !cell.is_empty()) {
                rows.push(TableRow { line: lines.of(record.position()), cells });
            }
        }
        if said.is_some() && !rows.is_empty() {
            rows.remove(0);
        }
        if rows.is_empty() {
            return Err(NoTable::Empty);
        }
        let head = rows.remove(0).cells;
        Ok(Self { head, rows, decimal_commas: mark == b';' })
    }
}

fn parted_by(text: &str) -> u8 {
    const MARKS: [u8; 3] = *b"\t;,";
    let mut times = [0_usize; MARKS.len()];
    let mut bytes = text.bytes().peekable();
    // Quotes count where a cell begins; what stands within them parts nothing.
    let (mut begins, mut quoted, mut blank) = (true, false, true);
    while let Some(byte) = bytes.next() {
        match byte {
            b'"' if quoted => quoted = bytes.next_if_eq(&b'"').is_some(),
            _ if quoted => {}
            b'\r' | b'\n' if !blank => break,
            b'"' if begins => quoted = true,
            _ => {}
        }
        let mark = MARKS.iter().position(|mark| *mark == byte && !quoted);
        if let Some(which) = mark {
            times[which] += 1;
        }
        begins = mark.is_some() || matches!(byte, b'\r' | b'\n') && !quoted;
        blank &= byte.is_ascii_whitespace();
    }
    // Of equals the last is taken.
    let most = MARKS.iter().zip(times).max_by_key(|(_, times)| *times);
    most.map_or(b',', |(mark, _)| *mark)
}

/// Counts lines as editors do: they end with `\n`, `\r\n`, or `\r` alone, as some spreadsheets write them.
struct Lines<'t> {
    text: &'t [u8],
    at: usize,
    line: u64,
}

impl Lines<'_> {
    /// The line on which a row begins; rows are asked for in their order. The reader names the place where it began to look, which
    /// empty lines may follow.
    fn of(&mut self, row: Option<&csv::Position>) -> u64 {
        let from = row.and_then(|row| usize::try_from(row.byte()).ok()).unwrap_or(self.at);
        while let Some(&byte) = self.text.get(self.at) {
            if self.at >= from && !matches!(byte, b'\r' | b'\n') {
                break;
            }
            self.at += 1;
            let ends = byte == b'\n' || byte == b'\r' && self.text.get(self.at) != Some(&b'\n');
            self.line += u64::from(ends);
        }
        self.line
    }
}

/// A cell without the apostrophe that keeps spreadsheets from taking it for a formula.
fn unguarded(cell: &str) -> String {
    match cell.strip_prefix('\'') {
        Some(rest) if rest.starts_with(['=', '+', '-', '@']) => rest.to_owned(),
        _ => cell.to_owned(),
    }
}

/// A table as CSV (RFC 4180), every cell in quotes. Cells that a spreadsheet would take for a formula are led by an apostrophe;
/// numbers of less than nothing are numbers.
pub fn csv<R: AsRef<[String]>>(head: &[&str], rows: impl Iterator<Item = R>) -> Result<Vec<u8>, csv::Error> {
    // Led by the mark of UTF-8: without it spreadsheets guess, and get letters beyond ASCII wrong.
    let mut out = csv::WriterBuilder::new()
        .quote_style(csv::QuoteStyle::Always)
        .terminator(csv::Terminator::CRLF)
        .from_writer("\u{feff}".as_bytes().to_vec());
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
        assert_eq!(String::from_utf8(table).unwrap(), "\u{feff}\"a\"\r\n\"'=1+1\"\r\n\"plain, said\"\r\n");
        let table = csv(&["a"], [["-1.5".to_owned()], ["-1+2".to_owned()]].into_iter()).unwrap();
        assert_eq!(String::from_utf8(table).unwrap(), "\u{feff}\"a\"\r\n\"-1.5\"\r\n\"'-1+2\"\r\n");
    }
}
