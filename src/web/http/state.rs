//! What every handler can reach, and how long work is kept off the threads that answer.
use std::sync::Arc;

use super::auth::hashing::Hashing;
use super::error::Result;
use super::kept::KeptPages;
use super::metrics::Metrics;
use super::turns::Turns;
use crate::backup::schedule::Schedule;
use crate::clock::Clock;
use crate::services::share_out::work::ShareOuts;
use crate::store::{PersonId, Store};

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
    /// How backups are made.
    pub backups: Schedule,
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
    /// Hashes of passphrases are worked out one at a time.
    pub(in crate::web) hashing: Arc<Hashing>,
    /// Exact searches and papers take up to a second of one core: they wait for each other, and every other page goes on.
    searching: Arc<Turns>,
    /// Share-outs that are being worked out here.
    pub(crate) share_outs: ShareOuts,
    /// Pages kept in memory.
    pub(in crate::web) kept: Arc<KeptPages>,
    /// What is counted of the service.
    pub(in crate::web) metrics: Arc<Metrics>,
    /// When it was last seen that something can be written.
    pub(in crate::web) ready: Arc<tokio::sync::Mutex<Option<std::time::Instant>>>,
}

impl App {
    /// The state of a running program.
    pub fn new(store: Store, clock: Clock, config: Config) -> Self {
        Self {
            share_outs: ShareOuts::new(store.clone(), clock.clone()),
            store,
            clock,
            config: Arc::new(config),
            hashing: Arc::default(),
            searching: Arc::default(),
            kept: Arc::default(),
            metrics: Arc::default(),
            ready: Arc::default(),
        }
    }

    /// What is counted of the service.
    pub(crate) fn metrics(&self) -> Arc<Metrics> {
        Arc::clone(&self.metrics)
    }

    /// Does a long job of somebody's beside the threads that answer pages, when it is their turn.
    pub(in crate::web) async fn search<T: Send + 'static>(
        &self,
        who: PersonId,
        job: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T> {
        self.searching.run(who, job).await
    }
}
