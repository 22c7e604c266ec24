//! Backups that were made or tried while the program ran: what they are is [`crate::backup`]'s.
use jiff::Timestamp;
use sqlx::FromRow;

use super::columns::{Instant, string_enum};
use super::tx::{Read, Write, sql};
use super::{BackupId, Error};

string_enum! {
    /// What became of a backup.
    BackupState {
        /// It is being made.
        Running = "running",
        /// It was made, read back and found whole.
        Good = "good",
        /// There is none.
        Failed = "failed",
    }
}

/// One backup, made or tried.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct BackupRun {
    /// Its id.
    pub id: BackupId,
    /// What became of it.
    pub state: BackupState,
    /// When it began; it holds what was kept then.
    pub begun_at: Instant,
    /// Where it was written.
    pub file: String,
    /// How large it is.
    pub bytes: Option<i64>,
    /// Why there is none.
    pub failure: String,
}

impl Read {
    /// The latest backups, the newest first.
    pub async fn backup_runs(&mut self, most: i64) -> Result<Vec<BackupRun>, Error> {
        sql!(
            all BackupRun,
            self,
            "SELECT id, state, begun_at, file, bytes, failure FROM backup_run ORDER BY begun_at DESC, id DESC LIMIT $1",
            most
        )
    }

    /// The last backup that was whole.
    pub async fn last_good_backup(&mut self) -> Result<Option<BackupRun>, Error> {
        sql!(
            opt BackupRun,
            self,
            "SELECT id, state, begun_at, file, bytes, failure FROM backup_run WHERE state = 'good'
             ORDER BY begun_at DESC, id DESC LIMIT 1"
        )
    }

    /// Since when somebody can have made backups: when the workroom was set up.
    pub async fn workroom_made_at(&mut self) -> Result<Option<Instant>, Error> {
        Ok(sql!(opt(Instant,), self, "SELECT made_at FROM workroom")?.map(|(at,)| at))
    }
}

impl Write {
    /// Says that a backup is being made, taken for alive until `until`. What didn't end in its time is taken for failed first.
    ///
    /// # Errors
    /// A broken `u_backup_run__state` where another is being made.
    pub async fn begin_backup(&mut self, id: BackupId, file: &str, until: Timestamp) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "UPDATE backup_run SET state = 'failed', ended_at = $1, failure = 'It never ended.'
             WHERE state = 'running' AND until_at < $1",
            at
        )?;
        sql!(
            exec self,
            "INSERT INTO backup_run (id, state, begun_at, until_at, file) VALUES ($1, 'running', $2, $3, $4)",
            id, at, Instant(until), file.to_owned()
        )?;
        // The list of backups is its own record.
        self.skip_audit();
        Ok(())
    }

    /// Says what became of a backup: its size, or why there is none.
    pub async fn end_backup(&mut self, id: BackupId, outcome: Result<i64, String>) -> Result<(), Error> {
        let (at, good) = (self.now(), outcome.is_ok());
        let (bytes, failure) = match outcome {
            Ok(bytes) => (Some(bytes), String::new()),
            Err(why) => (None, why),
        };
        sql!(
            exec self,
            "UPDATE backup_run SET state = CASE WHEN $2 THEN 'good' ELSE 'failed' END, ended_at = $3, bytes = $4, failure = $5
             WHERE id = $1",
            id, good, at, bytes, failure
        )?;
        self.skip_audit();
        Ok(())
    }

    /// Notes a backup that was made by hand.
    pub async fn note_backup(&mut self, id: BackupId, file: &str, bytes: i64) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO backup_run (id, state, begun_at, until_at, ended_at, file, bytes) VALUES ($1, 'good', $2, $2, $2, $3, $4)",
            id, at, file.to_owned(), bytes
        )?;
        self.skip_audit();
        Ok(())
    }
}
