//! Backups: everything that a database holds as documented CSV in one archive, made while the program runs, read back before it
//! counts, and put into an empty database of either kind.
mod archive;
mod cells;
mod restore;
pub mod schedule;
mod write;

pub use archive::{Manifest, TableFile};
pub use restore::restore;
pub use write::{Secrets, Written, write};

use std::path::PathBuf;

use crate::store::{self, OpenError};

/// Why there is no backup, or why one can't be restored.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A file that is there already.
    #[error("{} is there already; a backup never replaces a file", .0.display())]
    Exists(PathBuf),
    /// Something about a file.
    #[error("{}: {source}", file.display())]
    File {
        /// The file.
        file: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
    /// A file that is no backup, or no longer a whole one.
    #[error("{} is no whole backup of this program: {why}", file.display())]
    NotWhole {
        /// The file.
        file: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// A backup that a newer program made.
    #[error("{} was made by version {by}, whose tables this program doesn't know: use that version or a later one", file.display())]
    Newer {
        /// The file.
        file: PathBuf,
        /// The version of the program that made it.
        by: String,
    },
    /// What was written and what was read back differ.
    #[error("what was written can't be read back as it was: {0}")]
    Differs(String),
    /// The database can't be opened.
    #[error(transparent)]
    Open(#[from] OpenError),
    /// The database.
    #[error(transparent)]
    Store(#[from] store::Error),
    /// Our own fault.
    #[error("{0}")]
    Fault(String),
}

impl From<zip::result::ZipError> for Error {
    fn from(error: zip::result::ZipError) -> Self {
        Self::Fault(error.to_string())
    }
}

impl From<std::io::Error> for Error {
    fn from(error: std::io::Error) -> Self {
        Self::Fault(error.to_string())
    }
}

impl From<csv::Error> for Error {
    fn from(error: csv::Error) -> Self {
        Self::Fault(error.to_string())
    }
}
