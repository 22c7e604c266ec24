//! Whose turn it is among long jobs: so many at once beside the threads that answer pages, and one of each person's, so that
//! nobody waits for all that somebody else asked.
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use super::error::{Error, Result};
use crate::store::PersonId;

/// How many jobs of one person may wait for one that is being done.
const MOST_WAITING: usize = 4;

/// The queue of long jobs.
pub(in crate::web) struct Turns {
    running: Arc<Semaphore>,
    own: Mutex<HashMap<PersonId, Arc<Own>>>,
}

/// One person's place in the queue.
struct Own {
    turn: Arc<Semaphore>,
    /// Jobs that wait or are being done.
    asked: AtomicUsize,
}

/// A job that waits or is being done, for as long as this lives.
struct Asked(Arc<Own>);

impl Drop for Asked {
    fn drop(&mut self) {
        self.0.asked.fetch_sub(1, Ordering::Relaxed);
    }
}

impl Default for Turns {
    /// As many at once as there are cores, two at least: one person's job then never stops another's.
    fn default() -> Self {
        Self::of(std::thread::available_parallelism().map_or(2, |cores| cores.get().clamp(2, 4)))
    }
}

impl Turns {
    /// So many jobs at once.
    pub(super) fn of(at_once: usize) -> Self {
        Self { running: Arc::new(Semaphore::new(at_once)), own: Mutex::default() }
    }

    fn own(&self, who: PersonId) -> Arc<Own> {
        let mut all = self.own.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|_, own| Arc::strong_count(own) > 1);
        let new = || Arc::new(Own { turn: Arc::new(Semaphore::new(1)), asked: AtomicUsize::new(0) });
        Arc::clone(all.entry(who).or_insert_with(new))
    }

    /// Does a long job of somebody's. Who waits and hangs up leaves the queue; a job that has started can't be stopped, and keeps
    /// its turn until it ends, whether anybody still waits for it or not.
    ///
    /// # Errors
    /// [`Error::Searching`] where so many of theirs wait already.
    pub(in crate::web) async fn run<T: Send + 'static>(
        &self,
        who: PersonId,
        job: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T> {
        let own = self.own(who);
        if own.asked.fetch_add(1, Ordering::Relaxed) > MOST_WAITING {
            own.asked.fetch_sub(1, Ordering::Relaxed);
            return Err(Error::Searching);
        }
        let asked = Asked(Arc::clone(&own));
        let mine = take(&own.turn).await?;
        let turn = take(&self.running).await?;
        let job = move || {
            let _held = (asked, mine, turn);
            job()
        };
        tokio::task::spawn_blocking(job).await.map_err(|e| Error::Internal(e.to_string()))
    }
}

async fn take(queue: &Arc<Semaphore>) -> Result<OwnedSemaphorePermit> {
    Arc::clone(queue).acquire_owned().await.map_err(|e| Error::Internal(e.to_string()))
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, Mutex, mpsc};
    use std::time::Duration;

    use tokio::sync::oneshot;
    use tokio::task::JoinHandle;

    use super::{MOST_WAITING, Turns};
    use crate::store::PersonId;
    use crate::web::{Error, Result};

    /// A job of somebody's that ends when it is let.
    struct Held {
        going: JoinHandle<Result<()>>,
        let_go: mpsc::Sender<()>,
    }

    async fn held(turns: &Arc<Turns>, who: PersonId) -> Held {
        let (let_go, held) = mpsc::channel::<()>();
        let (begin, started) = oneshot::channel();
        let job = move || {
            begin.send(()).unwrap();
            let _ = held.recv();
        };
        let turns = Arc::clone(turns);
        let going = tokio::spawn(async move { turns.run(who, job).await });
        started.await.unwrap();
        Held { going, let_go }
    }

    #[tokio::test]
    async fn one_persons_jobs_leave_room_for_anothers() {
        let turns = Arc::new(Turns::of(2));
        let (busy, other) = (PersonId::new(), PersonId::new());
        let first = held(&turns, busy).await;
        let waiting: Vec<_> = (0..MOST_WAITING)
            .map(|_| {
                let turns = Arc::clone(&turns);
                tokio::spawn(async move { turns.run(busy, || ()).await })
            })
            .collect();
        tokio::task::yield_now().await;
        let theirs = tokio::time::timeout(Duration::from_secs(2), turns.run(other, || 7)).await;
        assert_eq!(theirs.unwrap().ok(), Some(7), "another's job waits for all of theirs");
        assert!(matches!(turns.run(busy, || ()).await, Err(Error::Searching)), "one too many is taken");
        first.let_go.send(()).unwrap();
        assert!(first.going.await.unwrap().is_ok());
        for one in waiting {
            assert!(one.await.unwrap().is_ok());
        }
        assert!(turns.run(busy, || ()).await.is_ok());
        assert!(turns.own.lock().unwrap().len() <= 1, "who asks nothing is forgotten");
    }

    #[tokio::test]
    async fn a_job_whose_asker_hangs_up_keeps_its_turn_until_it_ends() {
        let turns = Arc::new(Turns::of(1));
        let ended = Arc::new(Mutex::new(Vec::new()));
        let (one, other) = (PersonId::new(), PersonId::new());
        let first = held(&turns, one).await;
        first.going.abort();
        assert!(first.going.await.unwrap_err().is_cancelled());
        assert_eq!(turns.running.available_permits(), 0, "the next begins while the first still computes");
        let next = tokio::spawn({
            let (turns, ended) = (Arc::clone(&turns), Arc::clone(&ended));
            async move { turns.run(other, move || ended.lock().unwrap().push("next")).await }
        });
        tokio::task::yield_now().await;
        assert!(ended.lock().unwrap().is_empty());
        first.let_go.send(()).unwrap();
        assert!(next.await.unwrap().is_ok());
        assert_eq!(*ended.lock().unwrap(), ["next"]);
    }

    #[tokio::test]
    async fn a_job_that_fails_gives_its_turn_back() {
        let (turns, who) = (Turns::of(1), PersonId::new());
        assert!(turns.run(who, || assert_eq!(1, 2)).await.is_err());
        assert_eq!(turns.run(who, || 7).await.ok(), Some(7));
    }
}
