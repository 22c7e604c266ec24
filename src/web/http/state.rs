//! What every handler can reach, and how long work is kept off the threads that answer.
use std::sync::Arc;

use tokio::sync::Semaphore;

use super::error::{Error, Result};
use crate::clock::Clock;
use crate::store::Store;

/// What the person who runs the program decided.
#[derive(Clone, Debug, Default)]
pub struct Config {
    /// The address that people type, such as `https://rugs.example`; where it isn't given, what the browser asked for.
    pub public_url: Option<String>,
    /// Whether a proxy in front names the visitor's address in `X-Forwarded-For`.
    pub behind_proxy: bool,
    /// Whether notices may go to private addresses.
    pub private_receivers: bool,
    /// Whether a mail server is named.
    pub mail: bool,
}

impl Config {
    /// Whether browsers reach us over TLS, so that cookies can be kept to it.
    pub fn behind_tls(&self) -> bool {
        self.public_url.as_deref().is_some_and(|url| url.starts_with("https://"))
    }
}

/// What every handler can reach.
#[derive(Clone)]
pub struct App {
    /// The database.
    pub store: Store,
    /// The time.
    pub clock: Clock,
    /// What the person who runs the program decided.
    pub config: Arc<Config>,
    /// A hash takes 19 MiB, so only one is worked out at a time.
    pub(in crate::web) hashing: Arc<Semaphore>,
    /// Exact searches take up to a second of one core: they wait for each other, and every other page goes on.
    pub(in crate::web) searching: Arc<Semaphore>,
}

impl App {
    /// The state of a running program.
    pub fn new(store: Store, clock: Clock, config: Config) -> Self {
        let one = || Arc::new(Semaphore::new(1));
        Self { store, clock, config: Arc::new(config), hashing: one(), searching: one() }
    }
}

/// Does long work beside the threads that answer pages, one job of a queue at a time. Whoever waits in the queue and hangs up
/// leaves it; a job that has started can't be stopped, and keeps its turn until it ends, whether anybody still waits for it or not.
pub(in crate::web) async fn one_at_a_time<T: Send + 'static>(
    queue: &Arc<Semaphore>,
    job: impl FnOnce() -> T + Send + 'static,
) -> Result<T> {
    let turn = Arc::clone(queue).acquire_owned().await.map_err(|e| Error::Internal(e.to_string()))?;
    let job = move || {
        let _turn = turn;
        job()
    };
    tokio::task::spawn_blocking(job).await.map_err(|e| Error::Internal(e.to_string()))
}

#[cfg(test)]
mod tests {
    use std::sync::{Arc, Mutex, mpsc};

    use tokio::sync::{Semaphore, oneshot};

    use super::one_at_a_time;

    #[tokio::test]
    async fn a_job_whose_asker_hangs_up_keeps_its_turn_until_it_ends() {
        let queue = Arc::new(Semaphore::new(1));
        let ended = Arc::new(Mutex::new(Vec::new()));
        let (go_on, held) = mpsc::channel::<()>();
        let (begin, started) = oneshot::channel();
        let first = tokio::spawn({
            let (queue, ended) = (Arc::clone(&queue), Arc::clone(&ended));
            async move {
                let job = move || {
                    begin.send(()).unwrap();
                    let _ = held.recv();
                    ended.lock().unwrap().push("first");
                };
                one_at_a_time(&queue, job).await
            }
        });
        started.await.unwrap();
        first.abort();
        assert!(first.await.unwrap_err().is_cancelled());
        assert_eq!(queue.available_permits(), 0, "the next begins while the first still computes");
        let next = tokio::spawn({
            let (queue, ended) = (Arc::clone(&queue), Arc::clone(&ended));
            async move { one_at_a_time(&queue, move || ended.lock().unwrap().push("next")).await }
        });
        go_on.send(()).unwrap();
        assert!(next.await.unwrap().is_ok());
        assert_eq!(*ended.lock().unwrap(), ["first", "next"]);
    }

    #[tokio::test]
    async fn a_job_that_fails_gives_its_turn_back() {
        let queue = Arc::new(Semaphore::new(1));
        assert!(one_at_a_time(&queue, || assert_eq!(1, 2)).await.is_err());
        assert_eq!(one_at_a_time(&queue, || 7).await.ok(), Some(7));
    }
}
