//! What can go wrong in the database, told apart in this one place.
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Why the store could not do what was asked. Nothing was written, unless it says otherwise.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A rule that the database itself keeps was about to be broken.
    #[error("the database refused it: {0}")]
    Broken(Violation),
    /// Somebody else changed the row since it was read.
    #[error("somebody else changed this in the meantime")]
    Stale,
    /// This very request was acted on before; here is where it led.
    #[error("this was done already")]
    Repeated(String),
    /// The database is locked, full, read-only or gone: the same request may work later.
    #[error("the database can't be used just now: {0}")]
    Unavailable(String),
    /// The database went away while it was asked to keep a change: whether it did isn't known.
    #[error("the database went away while it was asked to keep a change: {0}")]
    Unsure(String),
    /// A change was about to be kept without a line in the record.
    #[error("a change without a line in the record is not kept")]
    Unrecorded,
    /// Anything else: our own fault.
    #[error("the database failed: {0}")]
    Fault(sqlx::Error),
}

impl Error {
    /// What went wrong when a change was to be kept. Where the database answers that it didn't keep it, it didn't.
    pub(super) fn at_commit(error: sqlx::Error) -> Self {
        use sqlx::Error as E;
        let unsure = match &error {
            E::Io(_) | E::Tls(_) | E::Protocol(_) | E::WorkerCrashed => true,
            // The server or its connection is ended, which may have been just after.
            E::Database(db) => {
                db.code().is_some_and(|code| code.starts_with("08") || code.starts_with("57P"))
            }
            _ => false,
        };
        if unsure { Self::Unsure(error.to_string()) } else { error.into() }
    }

    /// Whether the named constraint is what refused it.
    pub fn violates(&self, constraint: &str) -> bool {
        matches!(self, Self::Broken(v) if v.name == constraint)
    }
}

/// A broken constraint, by the name that the migrations give it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Violation {
    /// What kind of rule it is.
    pub kind: Rule,
    /// `u_<table>__<column>__<column>` or `ck_<table>__<what>`; empty for a reference on SQLite, which names none.
    pub name: String,
}

/// The kinds of rule that a database keeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// No two rows alike.
    Unique,
    /// A condition on a row.
    Check,
    /// A row that another row names.
    Reference,
}

impl std::fmt::Display for Violation {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?} {}", self.kind, self.name)
    }
}

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        use sqlx::Error as E;
        match &error {
            E::Database(db) => {
                if let Some(violation) = violation(db.as_ref()) {
                    return Self::Broken(violation);
                }
                if db.code().as_deref() == Some(OTHER_COLUMNS) && db.message().contains("cached plan") {
                    plans_are_old();
                    return Self::Unavailable(
                        "another program brought the tables up to a newer version".to_owned(),
                    );
                }
                if unavailable(db.code().as_deref()) {
                    return Self::Unavailable(db.message().to_owned());
                }
                Self::Fault(error)
            }
            // The server broke off, which the driver tells as an answer that it can't read.
            E::Io(_)
            | E::Tls(_)
            | E::Protocol(_)
            | E::PoolTimedOut
            | E::PoolClosed
            | E::WorkerCrashed
            | E::BeginFailed => Self::Unavailable(error.to_string()),
            _ => Self::Fault(error),
        }
    }
}

/// PostgreSQL's code for what a statement that was prepared before its table changed is answered with (appendix A: feature not
/// supported).
const OTHER_COLUMNS: &str = "0A000";

/// When a statement was last refused since its table had changed: what connections of before have prepared is no good.
static PLANS_OLD: Mutex<Option<Instant>> = Mutex::new(None);

fn plans_are_old() {
    *PLANS_OLD.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
}

/// Whether what a connection of this age has prepared may still be used.
pub(super) fn plans_hold(age: Duration) -> bool {
    let old = *PLANS_OLD.lock().unwrap_or_else(PoisonError::into_inner);
    old.is_none_or(|at| age < at.elapsed())
}

fn violation(db: &dyn sqlx::error::DatabaseError) -> Option<Violation> {
    let kind = match db.kind() {
        sqlx::error::ErrorKind::UniqueViolation => Rule::Unique,
        sqlx::error::ErrorKind::CheckViolation => Rule::Check,
        sqlx::error::ErrorKind::ForeignKeyViolation => Rule::Reference,
        _ => return None,
    };
    let name = match db.constraint() {
        Some(name) => name.to_owned(),
        None => sqlite_constraint(db.message()),
    };
    Some(Violation { kind, name })
}

/// SQLite names a check but spells a unique index out by its columns: `UNIQUE constraint failed: loan.frame_id`.
/// The migrations name unique constraints by their columns, so the name can be put together again.
fn sqlite_constraint(message: &str) -> String {
    let Some((kind, tail)) = message.split_once(" constraint failed: ") else { return String::new() };
    if kind != "UNIQUE" {
        return tail.trim().to_owned();
    }
    let mut name = String::new();
    for (i, column) in tail.split(", ").enumerate() {
        let (table, column) = column.trim().split_once('.').unwrap_or(("", column));
        if i == 0 {
            name = format!("u_{table}");
        }
        name.push_str("__");
        name.push_str(column);
    }
    name
}

/// SQLite result codes (primary code in the low byte, <https://sqlite.org/rescode.html>): BUSY 5, LOCKED 6, READONLY 8,
/// IOERR 10, CORRUPT 11, FULL 13, CANTOPEN 14, NOTADB 26. PostgreSQL classes (appendix A of its manual): 08 connection,
/// 40 rollback by serialisation or deadlock, 53 resources, 55 not in the state, 57 operator intervention, 58 system.
fn unavailable(code: Option<&str>) -> bool {
    let Some(code) = code else { return false };
    if code.len() == 5 {
        return ["08", "40", "53", "55", "57", "58"].iter().any(|class| code.starts_with(class))
            || code == "25006";
    }
    code.parse::<u32>().is_ok_and(|n| matches!(n & 0xff, 5 | 6 | 8 | 10 | 11 | 13 | 14 | 26))
}

#[cfg(test)]
mod tests {
    use super::{Error, sqlite_constraint};

    #[test]
    fn a_connection_lost_at_the_commit_leaves_it_open_what_was_kept() {
        let lost = || sqlx::Error::Io(std::io::ErrorKind::ConnectionReset.into());
        assert!(matches!(Error::at_commit(lost()), Error::Unsure(_)));
        assert!(matches!(Error::from(lost()), Error::Unavailable(_)), "before it nothing was kept");
        assert!(matches!(Error::at_commit(sqlx::Error::PoolTimedOut), Error::Unavailable(_)));
    }

    #[test]
    fn sqlite_messages_become_the_names_of_the_migrations() {
        assert_eq!(sqlite_constraint("UNIQUE constraint failed: loan.frame_id"), "u_loan__frame_id");
        assert_eq!(
            sqlite_constraint("UNIQUE constraint failed: rod.length_nm, rod.diameter_nm"),
            "u_rod__length_nm__diameter_nm"
        );
        assert_eq!(sqlite_constraint("CHECK constraint failed: ck_rod__counts"), "ck_rod__counts");
        assert_eq!(sqlite_constraint("FOREIGN KEY constraint failed"), "");
    }
}
