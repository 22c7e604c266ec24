//! Restoring a backup into an empty place. Nothing is kept unless everything came in as it was.
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use jiff::Timestamp;
use zip::ZipArchive;

use super::Error;
use super::archive::{CONTENTS, FORMAT, Manifest, TableFile, write_table};
use super::cells::value;
use crate::store::whole::Table;
use crate::store::{Actor, Filling, Place, Store, Write, schema_version};

/// The largest table of contents that is read.
const LARGEST_CONTENTS: u64 = 16 << 20;

/// Puts a backup into an empty place, and brings its tables up to this program's version. Secrets that were left out are made
/// new, by `secret`, and their receivers paused.
pub async fn restore(
    file: &Path,
    place: &Place,
    now: Timestamp,
    secret: impl Fn() -> String,
) -> Result<Manifest, Error> {
    let (filling, manifest) = fill(file, place).await?;
    filling.upgrade().await?;
    if !manifest.secrets {
        let mut tx = filling.store().write(Actor { person: None, at: now }).await?;
        tx.renew_lost_secrets(secret).await?;
        tx.commit().await?;
    }
    filling.keep().await?;
    Ok(manifest)
}

/// The same, without anything made new.
pub(super) async fn into_as_it_is(file: &Path, place: &Place) -> Result<Manifest, Error> {
    let (filling, manifest) = fill(file, place).await?;
    filling.keep().await?;
    Ok(manifest)
}

async fn fill(file: &Path, place: &Place) -> Result<(Filling, Manifest), Error> {
    let mut archive = Archive::open(file)?;
    let manifest = archive.contents()?;
    let filling = Filling::begin(place, manifest.schema).await?;
    archive.put_into(filling.store(), &manifest).await?;
    let damage = filling.store().read().await?.damage().await?;
    match damage.first() {
        None => Ok((filling, manifest)),
        Some(first) => Err(Error::Differs(first.clone())),
    }
}

struct Archive<'a> {
    file: &'a Path,
    zip: ZipArchive<File>,
}

impl<'a> Archive<'a> {
    fn open(file: &'a Path) -> Result<Self, Error> {
        let opened = File::open(file).map_err(|source| Error::File { file: file.to_path_buf(), source })?;
        match ZipArchive::new(opened) {
            Ok(zip) => Ok(Self { file, zip }),
            Err(error) => Err(Error::NotWhole { file: file.to_path_buf(), why: error.to_string() }),
        }
    }

    fn not_whole(&self, why: impl Into<String>) -> Error {
        Error::NotWhole { file: self.file.to_path_buf(), why: why.into() }
    }

    fn contents(&mut self) -> Result<Manifest, Error> {
        let mut bytes = Vec::new();
        let read = match self.zip.by_name(CONTENTS) {
            Ok(entry) => entry.take(LARGEST_CONTENTS).read_to_end(&mut bytes).map_err(|e| e.to_string()),
            Err(error) => Err(error.to_string()),
        };
        read.map_err(|e| self.not_whole(format!("{CONTENTS}: {e}")))?;
        let manifest: Manifest =
            serde_json::from_slice(&bytes).map_err(|e| self.not_whole(format!("{CONTENTS}: {e}")))?;
        if manifest.format > FORMAT || manifest.schema > schema_version() {
            return Err(Error::Newer { file: self.file.to_path_buf(), by: manifest.program });
        }
        Ok(manifest)
    }

    /// Everything in one change, which is compared with the table of contents before it is kept.
    async fn put_into(&mut self, store: &Store, manifest: &Manifest) -> Result<(), Error> {
        let mut tx = store.write(Actor { person: None, at: Timestamp::UNIX_EPOCH }).await?;
        let tables = tx.tables().await?;
        let named: Vec<&Table> = manifest.tables.iter().map(|file| &file.table).collect();
        if !named.iter().copied().eq(tables.iter()) {
            return Err(self.not_whole("its tables are not those of the version that it names"));
        }
        tx.begin_filling(&tables).await?;
        for table in &tables {
            self.put_table(&mut tx, table).await?;
        }
        tx.all_is_in().await?;
        for TableFile { table, rows, sha256 } in &manifest.tables {
            let found = write_table(&mut tx, table, manifest.secrets, &mut std::io::sink()).await?;
            if (found.rows, &found.sha256) != (*rows, sha256) {
                return Err(Error::Differs(format!(
                    "the table {} has {} rows of {rows}, or they are others",
                    table.name, found.rows
                )));
            }
        }
        Ok(tx.commit().await?)
    }

    async fn put_table(&mut self, tx: &mut Write, table: &Table) -> Result<(), Error> {
        let path = TableFile::path(table);
        let file = self.file;
        let wrong = |why: String| Error::NotWhole { file: file.to_path_buf(), why: format!("{path}: {why}") };
        let entry = self.zip.by_name(&path).map_err(|e| wrong(e.to_string()))?;
        let mut csv = csv::ReaderBuilder::new().from_reader(entry);
        let head = csv.headers().map_err(|e| wrong(e.to_string()))?;
        if !head.iter().eq(table.columns.iter().map(|column| column.name.as_str())) {
            return Err(wrong("its columns are others".into()));
        }
        let mut rows = Vec::new();
        for record in csv.records() {
            let record = record.map_err(|e| wrong(e.to_string()))?;
            let cells = table.columns.iter().zip(&record);
            let row = cells.map(|(column, cell)| {
                value(column.kind, cell)
                    .ok_or_else(|| wrong(format!("{cell:?} can't stand in {}", column.name)))
            });
            rows.push(row.collect::<Result<Vec<_>, _>>()?);
            if rows.len() == Write::rows_at_once(table) {
                tx.fill(table, &rows).await?;
                rows.clear();
            }
        }
        Ok(tx.fill(table, &rows).await?)
    }
}
