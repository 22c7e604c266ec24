//! Databases that are being made: a file, or a backup's tables in an empty place.
use std::path::{Path, PathBuf};

use super::{OpenError, Tables, file_stands, schema_version};
use crate::store::{FILE_NAME, Place, Store, files};

/// An empty database that is to be filled from a backup.
pub enum Filling {
    /// A file that has its name when all is in.
    File(Making),
    /// A database of a server.
    Server(Store),
}

impl Filling {
    /// Makes tables of this version in an empty place.
    ///
    /// # Errors
    /// [`OpenError::Taken`] where anything is there already.
    pub async fn begin(place: &Place, version: i64) -> Result<Self, OpenError> {
        let filling = match place {
            Place::Dir(dir) => {
                files::private_directory(dir)
                    .map_err(|source| OpenError::Directory { dir: dir.clone(), source })?;
                Self::File(Making::begin(dir).await?)
            }
            Place::Url(url) => {
                let store = Store::connect_server(url, 2).await?;
                let fits = match store.tables().await? {
                    Tables::None => true,
                    Tables::Ours(found) if found > version => {
                        return Err(OpenError::Ahead(place.to_string()));
                    }
                    Tables::Ours(_) => {
                        let read = store.read().await;
                        let nobody = match read {
                            Ok(mut read) => read.nobody_is_here().await,
                            Err(error) => Err(error),
                        };
                        nobody.unwrap_or(false)
                    }
                    Tables::Newer | Tables::Foreign => false,
                };
                if !fits {
                    return Err(OpenError::Taken(place.to_string()));
                }
                Self::Server(store)
            }
        };
        filling.store().migrate_to(version).await?;
        Ok(filling)
    }

    /// What is to be filled.
    pub fn store(&self) -> &Store {
        match self {
            Self::File(making) => &making.store,
            Self::Server(store) => store,
        }
    }

    /// Brings the tables up to this program's version.
    pub async fn upgrade(&self) -> Result<(), OpenError> {
        self.store().migrate_to(schema_version()).await
    }

    /// Gives the database its name: from now on it is one.
    pub async fn keep(self) -> Result<(), OpenError> {
        match self {
            Self::File(making) => making.keep().await,
            Self::Server(store) => {
                store.close().await;
                Ok(())
            }
        }
    }
}

/// A database file that is being made: it has another name until it is whole, and is gone if it never gets there.
pub struct Making {
    pub(super) store: Store,
    file: PathBuf,
    dir: PathBuf,
}

impl Making {
    /// Begins an empty file beside the place that it is meant for.
    pub(super) async fn begin(dir: &Path) -> Result<Self, OpenError> {
        let at = |source| OpenError::Directory { dir: dir.to_path_buf(), source };
        if file_stands(dir)? {
            return Err(OpenError::Taken(dir.join(FILE_NAME).display().to_string()));
        }
        let file = dir.join(format!("{FILE_NAME}.making-{}", std::process::id()));
        files::remove_database(&file).map_err(at)?;
        files::new_private_file(&file).map_err(at)?;
        let store = Store::connect_file(&file, 2).await?;
        Ok(Self { store, file, dir: dir.to_path_buf() })
    }

    /// Gives it its name. What a crash left beside a file that is gone goes first: SQLite would take it for this one's.
    pub(super) async fn keep(self) -> Result<(), OpenError> {
        let at = |source| OpenError::Directory { dir: self.dir.clone(), source };
        // Leaving the log of changes moves all into the file itself.
        if let Store::Sqlite(pool) = &self.store {
            sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)")
                .execute(pool)
                .await
                .map_err(|source| OpenError::Connect { place: self.file.display().to_string(), source })?;
        }
        self.store.close().await;
        let to = self.dir.join(FILE_NAME);
        if file_stands(&self.dir)? {
            return Err(OpenError::Taken(to.display().to_string()));
        }
        files::remove_beside(&to).map_err(at)?;
        // A link refuses where another program was quicker; where there are no links, a new name has to do.
        match std::fs::hard_link(&self.file, &to) {
            Ok(()) => {}
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
                return Err(OpenError::Taken(to.display().to_string()));
            }
            Err(_) => std::fs::rename(&self.file, &to).map_err(at)?,
        }
        files::sync_directory(&self.dir).map_err(at)
    }
}

impl Drop for Making {
    fn drop(&mut self) {
        // Whatever came of it, the other name goes; what can't be removed is removed by the next that begins here.
        let _ = files::remove_database(&self.file);
    }
}
