//! A spreadsheet's own file (`.xlsx`, Office Open XML, ECMA-376), as the text of a table: its first sheet that holds anything.
//! Such a file is an archive and may be a bomb: how far it unpacks is measured before anything in it is read.
use std::io::{Cursor, Read as _};

use calamine::{DataRef, Reader as _, Xlsx};
use zip::ZipArchive;

use super::NoTable;

/// The most bytes that a file may unpack to: a list of 2 MB has about ten times as much around its cells.
const UNPACKED: u64 = 16 * 1024 * 1024;
/// The most bytes of what is neither a sheet nor its words, such as styles: a byte of those may take forty in memory.
const AROUND: u64 = 1024 * 1024;
/// The most parts of a file.
const PARTS: usize = 500;
/// The most rows and columns of a sheet, empty ones among them.
const ROWS: u32 = 50_000;
const COLUMNS: u32 = 200;
/// The most bytes of text that are made of it.
const TEXT: usize = 4 * 1024 * 1024;

/// The first sheet that holds anything, its cells in quotes and parted by commas, its rows on the lines that they have there.
///
/// # Errors
/// [`NoTable::Spreadsheet`] for a file that isn't one of these, [`NoTable::TooLarge`] for one that holds more than a list may.
pub fn text(bytes: &[u8]) -> Result<String, NoTable> {
    measured(bytes)?;
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|_| NoTable::Spreadsheet)?;
    for name in book.sheet_names() {
        let text = sheet(&mut book, &name)?;
        if !text.trim().is_empty() {
            return Ok(text);
        }
    }
    Err(NoTable::Empty)
}

/// Unpacks every part and counts: what an archive says of its sizes needn't be true.
fn measured(bytes: &[u8]) -> Result<(), NoTable> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|_| NoTable::Spreadsheet)?;
    if archive.len() > PARTS {
        return Err(NoTable::TooLarge);
    }
    let mut left = UNPACKED;
    for at in 0..archive.len() {
        let part = archive.by_index(at).map_err(|_| NoTable::Spreadsheet)?;
        let words = part
            .name()
            .is_ok_and(|name| name.starts_with("xl/worksheets/") || name == "xl/sharedStrings.xml");
        let most = if words { left } else { left.min(AROUND) };
        let mut unpacked = Vec::new();
        part.take(most + 1).read_to_end(&mut unpacked).map_err(|_| NoTable::Spreadsheet)?;
        let size = unpacked.len() as u64;
        if size > most {
            return Err(NoTable::TooLarge);
        }
        left -= size;
        // Pictures and the like are never looked at.
        if unpacked.trim_ascii_start().starts_with(b"<") || words {
            honest(&unpacked)?;
        } else if unpacked.starts_with(b"\xff\xfe") || unpacked.starts_with(b"\xfe\xff") {
            return Err(NoTable::Spreadsheet);
        }
    }
    Ok(())
}

/// Refuses a part that names more shared strings than it has bytes, since the reader makes room for as many as are named; and one
/// in another encoding than UTF-8, in which that couldn't be seen.
fn honest(part: &[u8]) -> Result<(), NoTable> {
    const NAMED: &str = "uniqueCount";
    let text = std::str::from_utf8(part).map_err(|_| NoTable::Spreadsheet)?;
    let declared = text.trim_start_matches('\u{feff}').split("?>").next().unwrap_or_default();
    let other = declared.starts_with("<?xml")
        && declared.split_once("encoding").is_some_and(|(_, rest)| !rest.to_lowercase().contains("utf-8"));
    if other || text.contains('\0') {
        return Err(NoTable::Spreadsheet);
    }
    for (at, _) in text.match_indices(NAMED) {
        let Some(rest) = text[at + NAMED.len()..].trim_start().strip_prefix('=') else { continue };
        let number = rest.trim_start().trim_start_matches(['"', '\'']);
        let digits = number.split(|c: char| !c.is_ascii_digit()).next().unwrap_or_default();
        if digits.parse::<usize>().is_ok_and(|named| named > part.len()) || digits.len() > 9 {
            return Err(NoTable::TooLarge);
        }
    }
    Ok(())
}

fn sheet(book: &mut Xlsx<Cursor<&[u8]>>, name: &str) -> Result<String, NoTable> {
    // Cell by cell: asked for as a whole, a sheet with one cell at its far corner would be a billion.
    let Ok(mut cells) = book.worksheet_cells_reader(name) else { return Ok(String::new()) };
    let mut out = String::new();
    let (mut row, mut column) = (0, 0);
    while let Some(cell) = cells.next_cell().map_err(|_| NoTable::Spreadsheet)? {
        let text = shown(cell.get_value());
        if text.is_empty() {
            continue;
        }
        let (to_row, to_column) = cell.get_position();
        if to_row >= ROWS || to_column >= COLUMNS || out.len() > TEXT {
            return Err(NoTable::TooLarge);
        }
        // Rows and cells stand in order (ECMA-376, 18.3.1.73 and 18.3.1.4).
        if to_row < row || (to_row == row && to_column < column) {
            return Err(NoTable::Spreadsheet);
        }
        while row < to_row {
            out.push('\n');
            (row, column) = (row + 1, 0);
        }
        while column < to_column {
            out.push(',');
            column += 1;
        }
        out.push('"');
        out.push_str(&text.replace('"', "\"\""));
        out.push('"');
    }
    Ok(out)
}

/// A cell as its reader sees it, in one line; nothing of a formula that went wrong.
fn shown(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(number) => number.to_string(),
        // Fifteen figures, as spreadsheets show: 0.1 + 0.2 is 0.3 there.
        DataRef::Float(number) => format!("{number:.14e}")
            .parse::<f64>()
            .map_or_else(|_| String::new(), |number| number.to_string()),
        DataRef::Bool(yes) => if *yes { "TRUE" } else { "FALSE" }.to_owned(),
        DataRef::String(text) => line(text),
        DataRef::SharedString(text) => line(text),
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => line(text),
        DataRef::DateTime(day) => day.to_string(),
        DataRef::Error(_) | DataRef::Empty => String::new(),
    }
}

fn line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
