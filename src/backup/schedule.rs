//! Backups that are made by themselves: when the next is due, which copy of the program makes it, and which old ones go.
use std::path::{Path, PathBuf};
use std::time::Duration;

use jiff::{SignedDuration, Timestamp};
use tokio::runtime::Handle;

use super::{Error, Secrets, write};
use crate::clock::Clock;
use crate::store::{Actor, BackupId, Store, files};

/// What the person who runs the program decided about backups.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Schedule {
    /// Where they are kept; without it none is made.
    pub dir: Option<PathBuf>,
    /// Hours from one to the next.
    pub every_hours: u32,
    /// How many are kept.
    pub keep: usize,
    /// Whether somebody sees to backups in another way.
    pub elsewhere: bool,
}

/// How long one may take until it is taken for dead.
const PATIENCE: SignedDuration = SignedDuration::from_mins(30);

/// How soon a backup that failed is tried again.
const AGAIN: SignedDuration = SignedDuration::from_mins(15);

/// Without a schedule, somebody who makes backups by hand is reminded after so long.
const BY_HAND: SignedDuration = SignedDuration::from_hours(8 * 24);

/// How often it is asked whether one is due.
const BETWEEN_ROUNDS: Duration = Duration::from_mins(1);

impl Schedule {
    fn every(&self) -> SignedDuration {
        SignedDuration::from_hours(i64::from(self.every_hours.max(1)))
    }

    /// Whether the last good backup, or the workroom where there is none, is so old that somebody has to look.
    pub fn is_old(&self, since: Timestamp, now: Timestamp) -> bool {
        let most = match &self.dir {
            Some(_) => self.every() + self.every() + SignedDuration::from_hours(1),
            None => BY_HAND,
        };
        !self.elsewhere && now.duration_since(since) > most
    }

    /// Makes backups as they fall due, for as long as the program runs, on threads of their own: packing and writing would hold
    /// up pages.
    pub async fn run(self, store: Store, clock: Clock) {
        while self.dir.is_some() {
            let (schedule, store, clock) = (self.clone(), store.clone(), clock.clone());
            let here = Handle::current();
            let round = move || here.block_on(schedule.make_if_due(&store, &clock)).map(|_| ());
            match tokio::task::spawn_blocking(round).await {
                Ok(Ok(())) => {}
                Ok(Err(error)) => tracing::error!(%error, "backups can't be seen to"),
                Err(error) => tracing::error!(%error, "a backup fell over"),
            }
            tokio::time::sleep(BETWEEN_ROUNDS).await;
        }
    }

    /// Makes a backup if one is due, and removes the oldest of those that are too many. Of several copies of the program one
    /// makes it: the others find it begun.
    ///
    /// # Errors
    /// Only of the database in which it is noted; a backup that fails is noted there, and said in the log.
    pub async fn make_if_due(&self, store: &Store, clock: &Clock) -> Result<Option<PathBuf>, Error> {
        let Some(dir) = &self.dir else { return Ok(None) };
        let now = clock.now();
        let mut tx = store.write(Actor { person: None, at: now }).await?;
        let good = tx.last_good_backup().await?.map(|run| Timestamp::from(run.begun_at));
        let last = tx.backup_runs(1).await?.first().map(|run| Timestamp::from(run.begun_at));
        let over =
            |since: Option<Timestamp>, wait| since.is_none_or(|since| now.duration_since(since) >= wait);
        if !over(good, self.every()) || !over(last, AGAIN.min(self.every())) {
            return Ok(None);
        }
        let file = dir.join(name(now));
        let id = BackupId::new();
        match tx.begin_backup(id, &file.display().to_string(), now + PATIENCE).await {
            Ok(()) => tx.commit().await?,
            Err(error) if error.violates("u_backup_run__state") => return Ok(None),
            Err(error) => return Err(error.into()),
        }
        let made = match files::private_directory(dir) {
            Ok(()) => write(store, &file, now, Secrets::LeftOut).await,
            Err(source) => Err(Error::File { file: dir.clone(), source }),
        };
        match &made {
            Ok(_) => {
                tracing::info!(file = %file.display(), "backup made");
                if let Err(error) = self.remove_oldest(dir) {
                    tracing::warn!(%error, dir = %dir.display(), "old backups stay");
                }
            }
            Err(error) => tracing::error!(file = %file.display(), %error, "backup failed"),
        }
        let outcome = made.map(|made| i64::try_from(made.bytes).unwrap_or(i64::MAX));
        let is_made = outcome.is_ok();
        let mut tx = store.write(Actor { person: None, at: clock.now() }).await?;
        tx.end_backup(id, outcome.map_err(|error| error.to_string())).await?;
        tx.commit().await?;
        Ok(is_made.then_some(file))
    }

    /// Only files that carry one of our names are touched.
    fn remove_oldest(&self, dir: &Path) -> std::io::Result<()> {
        let mut ours: Vec<PathBuf> = std::fs::read_dir(dir)?
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| path.file_name().is_some_and(|name| is_ours(&name.to_string_lossy())))
            .collect();
        ours.sort();
        let too_many = ours.len().saturating_sub(self.keep.max(1));
        ours.iter().take(too_many).try_for_each(std::fs::remove_file)
    }
}

/// The name of a backup made by itself: by name they sort as they were made.
fn name(at: Timestamp) -> String {
    format!("thrumhall-{}.zip", at.strftime("%Y%m%dT%H%M%SZ"))
}

fn is_ours(name: &str) -> bool {
    let moment = name.strip_prefix("thrumhall-").and_then(|rest| rest.strip_suffix("Z.zip"));
    moment.is_some_and(|moment| {
        moment.len() == 15
            && moment.bytes().enumerate().all(|(i, b)| if i == 8 { b == b'T' } else { b.is_ascii_digit() })
    })
}
