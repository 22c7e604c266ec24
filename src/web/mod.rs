//! The pages: one file per noun with its routes, handlers, page structs and forms, and the pieces they share.
//!
//! A handler reads: load, decide, render. Wrong input comes back with status 422 and what was typed; an act that worked
//! answers 303 and leads to a page.
mod assets;
mod build;
mod calendar;
mod caller;
mod cautions;
mod cloth;
mod entry;
mod error;
mod form;
mod frames;
mod hand_out;
mod layers;
mod loans;
mod meetings;
mod notices;
mod outlook;
mod page;
pub mod papers;
mod passphrase;
mod people;
mod qr;
mod receivers;
mod record;
mod rods;
pub mod route;
mod rugs;
mod share_out;
mod sheets;
mod show;
mod sizes;
mod term_end;
mod terms;
mod timetable;
mod today;
mod upload;
mod workroom;

use std::sync::Arc;

use axum::Router;
use tokio::sync::Semaphore;

pub use caller::{Me, Perhaps};
pub use error::{Error, Result};
pub use form::{Asked, Filled, Form, Posted};
pub use page::Shell;
pub use share_out::share_out_at_once;

use crate::edge::Clock;
use crate::store::Store;
use route::Route;

/// What whoever runs the program decided.
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
    /// What whoever runs the program decided.
    pub config: Arc<Config>,
    /// A hash takes 19 MiB, so only one is worked out at a time.
    hashing: Arc<Semaphore>,
    /// Exact searches take up to a second of one core: they wait for each other, and every other page goes on.
    searching: Arc<Semaphore>,
}

impl App {
    /// The state of a running program.
    pub fn new(store: Store, clock: Clock, config: Config) -> Self {
        let one = || Arc::new(Semaphore::new(1));
        Self { store, clock, config: Arc::new(config), hashing: one(), searching: one() }
    }

    /// Opens a change by the person who asks.
    pub async fn write(&self, me: &Me) -> Result<crate::store::Write> {
        Ok(self.store.write(me.acting(self)).await?)
    }
}

/// Does long work beside the threads that answer pages, one job of a queue at a time.
async fn one_at_a_time<T: Send + 'static>(
    queue: &Semaphore,
    job: impl FnOnce() -> T + Send + 'static,
) -> Result<T> {
    let _turn = queue.acquire().await.map_err(|e| Error::Internal(e.to_string()))?;
    tokio::task::spawn_blocking(job).await.map_err(|e| Error::Internal(e.to_string()))
}

/// Every page there is.
pub fn table() -> Vec<Route> {
    [
        assets::routes(),
        build::routes(),
        calendar::routes(),
        cloth::routes(),
        cautions::routes(),
        entry::routes(),
        frames::routes(),
        hand_out::routes(),
        loans::routes(),
        meetings::routes(),
        notices::routes(),
        papers::routes(),
        people::routes(),
        receivers::routes(),
        record::routes(),
        rods::routes(),
        rugs::routes(),
        share_out::routes(),
        sheets::routes(),
        term_end::routes(),
        terms::routes(),
        timetable::routes(),
        today::routes(),
        workroom::routes(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The whole service: the table's pages behind the layers.
pub fn service(app: App) -> Router {
    layers::wrap(&app, route::build(&app, table())).with_state(app)
}
