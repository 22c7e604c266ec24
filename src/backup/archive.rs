//! What is in an archive: a table of contents that says what everything else must be, and a word for whoever opens it by hand.
use std::io::Write;

use sha2::{Digest as _, Sha256};

use super::Error;
use super::cells::cell;
use crate::store::Read;
use crate::store::whole::{Table, Value};

/// The kind of archive that this program writes and reads.
pub(super) const FORMAT: u32 = 1;

/// The table of contents, the archive's last file.
pub(super) const CONTENTS: &str = "contents.json";

/// The word for readers.
pub(super) const READ_ME: &str = "
Everything that a Thrumhall workroom keeps, to be kept safe, taken elsewhere, or read by other programs.

tables/…      one file of CSV (RFC 4180) for each table: UTF-8, lines ended by CR LF, every field in quotes, the first line the
              names of the columns. Rows stand in the order of the table's key.
schema.sql    how the tables are made, with what each table and column is for.
contents.json which tables there are, their columns and types, how many rows, and the SHA-256 of each file.

A field that holds \\N has no value. A text that begins with = + - @ ' \\ a tab or a carriage return has an apostrophe in front, so
that no spreadsheet takes it for a formula: leave one apostrophe out to have the text. Names end with their unit: _nm is whole
nanometres, _mg whole milligrams, _at microseconds since 1970-01-01 00:00 UTC; _on and _day are days such as 2026-10-07, _key and
_id name a row elsewhere. Flags are true or false.

thrumhall restore FILE --data DIR puts it all into an empty place, on either kind of database. Where contents.json says
\"secrets\": false, the secrets that sign messages to receivers are left out; after a restore each receiver gets a new one, and is
paused until somebody has told it. Passphrases are kept only as hashes, but names and contacts are not: keep this file private.
";

/// The table of contents.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Manifest {
    /// The kind of archive.
    pub format: u32,
    /// The version of the program that made it.
    pub program: String,
    /// The version of the tables: the last migration.
    pub schema: i64,
    /// When it was begun; it holds what was kept then.
    pub made_at: String,
    /// Whether the secrets of receivers are in it.
    pub secrets: bool,
    /// The tables.
    pub tables: Vec<TableFile>,
}

/// A table's file.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct TableFile {
    /// The table.
    #[serde(flatten)]
    pub table: Table,
    /// How many rows it has.
    pub rows: u64,
    /// The SHA-256 of the file, in hex.
    pub sha256: String,
}

impl TableFile {
    /// Its name in the archive.
    pub(super) fn path(table: &Table) -> String {
        format!("tables/{}.csv", table.name)
    }
}

/// Columns whose texts can be used by whoever reads them, and are left out unless asked for.
pub(super) const SECRET: [(&str, &str); 1] = [("receiver", "secret")];

/// Writes a table as CSV into `out`.
pub(super) async fn write_table<W: Write>(
    read: &mut Read,
    table: &Table,
    secrets: bool,
    out: &mut W,
) -> Result<TableFile, Error> {
    let mut hashed = Hashed { out, hash: Sha256::new() };
    let mut csv = csv::WriterBuilder::new()
        .quote_style(csv::QuoteStyle::Always)
        .terminator(csv::Terminator::CRLF)
        .from_writer(&mut hashed);
    csv.write_record(table.columns.iter().map(|column| &column.name))?;
    let hidden: Vec<bool> = table
        .columns
        .iter()
        .map(|column| !secrets && SECRET.contains(&(table.name.as_str(), column.name.as_str())))
        .collect();
    let mut rows = 0;
    read.each_row(table, |row| {
        rows += 1;
        let empty = Value::Text(Some(String::new()));
        let cells = row.iter().zip(&hidden).map(|(value, hidden)| cell(if *hidden { &empty } else { value }));
        csv.write_record(cells).map_err(Error::from)
    })
    .await?;
    csv.flush()?;
    drop(csv);
    let sha256 = data_encoding::HEXLOWER.encode(&hashed.hash.finalize());
    Ok(TableFile { table: table.clone(), rows, sha256 })
}

/// Passes on what it is given, and hashes it.
struct Hashed<'a, W> {
    out: &'a mut W,
    hash: Sha256,
}

impl<W: Write> Write for Hashed<'_, W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let n = self.out.write(bytes)?;
        self.hash.update(&bytes[..n]);
        Ok(n)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.out.flush()
    }
}
