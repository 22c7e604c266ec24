//! Making a backup: all tables as of one moment into a file of another name, which is restored for trial before it has its own.
use std::fs::File;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

use jiff::Timestamp;
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::archive::{CONTENTS, FORMAT, Manifest, READ_ME, write_table};
use super::{Error, restore};
use crate::store::{MIGRATIONS, Place, Store, files};

/// Whether the secrets that sign messages to receivers go into a backup.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Secrets {
    /// They don't: whoever reads the backup can't speak for this service.
    LeftOut,
    /// They do: nothing has to be set up again after a move.
    Included,
}

/// A backup that was made, and found whole.
#[derive(Clone, Debug)]
pub struct Written {
    /// Its size.
    pub bytes: u64,
    /// What is in it.
    pub manifest: Manifest,
}

/// A file or directory that goes when it isn't wanted any more, however that came.
struct Passing(PathBuf);

impl Drop for Passing {
    fn drop(&mut self) {
        // Nothing more can be done about what stays: its name says what it is.
        let _ =
            if self.0.is_dir() { std::fs::remove_dir_all(&self.0) } else { std::fs::remove_file(&self.0) };
    }
}

/// Writes everything that the database holds into a new file, which only its owner can read, and restores it for trial into an
/// embedded database beside it: a backup that can't be restored is none.
pub async fn write(store: &Store, to: &Path, now: Timestamp, secrets: Secrets) -> Result<Written, Error> {
    if to.exists() {
        return Err(Error::Exists(to.to_path_buf()));
    }
    let at = |source| Error::File { file: to.to_path_buf(), source };
    let name = to.file_name().ok_or_else(|| at(std::io::ErrorKind::InvalidInput.into()))?.to_string_lossy();
    let dir = to.parent().filter(|dir| !dir.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let beside = |what: &str| dir.join(format!(".{name}.{what}-{}", std::process::id()));
    let (part, trial) = (Passing(beside("part")), Passing(beside("trial")));
    files::remove_database(&part.0).map_err(at)?;
    let file = files::new_private_file(&part.0).map_err(at)?;
    let manifest = fill(store, &file, now, secrets).await?;
    file.sync_all().map_err(at)?;
    let bytes = file.metadata().map_err(at)?.len();
    drop(file);
    if trial.0.exists() {
        std::fs::remove_dir_all(&trial.0).map_err(at)?;
    }
    restore::into_as_it_is(&part.0, &Place::Dir(trial.0.clone())).await?;
    // A link refuses where a file of that name came up meanwhile; where there are no links, a new name has to do.
    match std::fs::hard_link(&part.0, to) {
        Ok(()) => {}
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
            return Err(Error::Exists(to.to_path_buf()));
        }
        Err(_) => std::fs::rename(&part.0, to).map_err(at)?,
    }
    files::sync_directory(dir).map_err(at)?;
    Ok(Written { bytes, manifest })
}

async fn fill(store: &Store, file: &File, now: Timestamp, secrets: Secrets) -> Result<Manifest, Error> {
    let mut zip = ZipWriter::new(BufWriter::new(file));
    let options = SimpleFileOptions::default().unix_permissions(0o600).large_file(true);
    zip.start_file("READ-ME.txt", options)?;
    zip.write_all(READ_ME.trim_start().as_bytes())?;
    zip.start_file("schema.sql", options)?;
    let mut read = store.read_at_leisure().await?;
    let schema = read.schema().await?;
    for migration in MIGRATIONS.iter().filter(|migration| migration.version <= schema) {
        write!(zip, "-- {:04} {}\n{}\n", migration.version, migration.description, migration.sql.as_str())?;
    }
    let included = secrets == Secrets::Included;
    let mut tables = Vec::new();
    for table in read.tables().await? {
        zip.start_file(super::TableFile::path(&table), options)?;
        tables.push(write_table(&mut read, &table, included, &mut zip).await?);
    }
    let manifest = Manifest {
        format: FORMAT,
        program: env!("CARGO_PKG_VERSION").to_owned(),
        schema,
        made_at: now.to_string(),
        secrets: included,
        tables,
    };
    zip.start_file(CONTENTS, options)?;
    let contents = serde_json::to_vec_pretty(&manifest).map_err(|e| Error::Fault(e.to_string()))?;
    zip.write_all(&contents)?;
    zip.finish()?.flush()?;
    Ok(manifest)
}
