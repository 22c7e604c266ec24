//! The files of a database on this machine: nobody else's to read, and what a crash leaves beside them.
use std::fs::{File, OpenOptions};
use std::io::{Error, ErrorKind, Result};
use std::path::{Path, PathBuf};

use super::FILE_NAME;

/// What SQLite keeps beside a file while it is open, or after a crash.
const BESIDE: [&str; 3] = ["-wal", "-shm", "-journal"];

fn beside(file: &Path) -> impl Iterator<Item = PathBuf> {
    BESIDE.into_iter().map(|end| {
        let mut name = file.as_os_str().to_owned();
        name.push(end);
        PathBuf::from(name)
    })
}

/// Makes a directory that only its owner can enter, where it is missing; one that is there stays as it is.
pub fn private_directory(dir: &Path) -> Result<()> {
    if dir.is_dir() {
        return Ok(());
    }
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(dir)
}

/// Makes a file that only its owner can read; refuses where one is.
pub fn new_private_file(file: &Path) -> Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).read(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(file)
}

/// Takes from everybody else the right to read the database's files, and to enter a directory that holds nothing but them.
/// Where the system refuses that, it is said in the log.
pub(super) fn tighten(dir: &Path) {
    #[cfg(unix)]
    {
        let file = dir.join(FILE_NAME);
        let ours = |name: &std::ffi::OsStr| name.to_string_lossy().starts_with(FILE_NAME);
        let alone = std::fs::read_dir(dir)
            .is_ok_and(|mut all| all.all(|one| one.is_ok_and(|one| ours(&one.file_name()))));
        let files = std::iter::once(file.clone()).chain(beside(&file)).map(|file| (file, 0o600));
        for (path, mode) in files.chain(alone.then(|| (dir.to_path_buf(), 0o700))) {
            if let Err(error) = close(&path, mode) {
                tracing::warn!(path = %path.display(), %error, "others may be able to read it");
            }
        }
    }
}

#[cfg(unix)]
fn close(path: &Path, mode: u32) -> Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    match std::fs::metadata(path) {
        Ok(found) if found.permissions().mode() & 0o077 != 0 => {
            std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode))
        }
        Ok(_) => Ok(()),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
        Err(e) => Err(e),
    }
}

/// Removes what a crash left beside a file that is gone.
pub(super) fn remove_beside(file: &Path) -> Result<()> {
    beside(file).try_for_each(|left| gone(&left))
}

/// Removes a database's file and what is beside it.
pub fn remove_database(file: &Path) -> Result<()> {
    gone(file)?;
    remove_beside(file)
}

fn gone(file: &Path) -> Result<()> {
    match std::fs::remove_file(file) {
        Err(e) if e.kind() != ErrorKind::NotFound => {
            Err(Error::new(e.kind(), format!("{}: {e}", file.display())))
        }
        _ => Ok(()),
    }
}

/// Waits until the disk has a directory's new names.
pub fn sync_directory(dir: &Path) -> Result<()> {
    #[cfg(unix)]
    File::open(dir)?.sync_all()?;
    Ok(())
}
