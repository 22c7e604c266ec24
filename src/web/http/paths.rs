//! Paths that are known outside of their own file: what asks nobody who they are.

/// The page that says that the program lives. It asks nobody: a database that is away is no reason to start the program again.
pub(super) const LIVES: &str = "/healthz";
/// The page that says that something can be written.
pub(super) const READY: &str = "/readyz";

/// The names of those who may weigh in at a tablet: whatever else is asked for there leads back to them.
pub(in crate::web) const NAMES: &str = "/cloth/weigh-in/names";

/// Whether a path leads to what is the same for everybody, so that nobody has to be asked who they are: a database that is away
/// leaves pages their looks.
pub(super) fn same_for_all(path: &str) -> bool {
    path.starts_with("/static/") || path == LIVES || path == READY
}
