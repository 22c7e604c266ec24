//! The running service put together: pages on a listener, notices and share-outs worked on beside them.
mod connections;

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use anyhow::Context as _;
use tokio::net::TcpListener;
use tokio::sync::watch;
use tokio::time::timeout;

use crate::clock::Clock;
use crate::notify::{Dispatcher, Mail, PATIENCE};
use crate::store::{Actor, Store};
pub use crate::web::{App, Config};
use crate::web::{metrics_page, service};

/// How often the dispatcher of notices looks for something to deliver.
const BETWEEN_TICKS: Duration = Duration::from_secs(5);
/// How often what is past its time is cleared away.
const BETWEEN_SWEEPS: Duration = Duration::from_hours(6);
/// How long the share-outs that go on, and then the database, may take to end when the program stops. With the grace that
/// connections have, less than eight seconds.
const LAST_ACTS: Duration = Duration::from_secs(1);

/// Listens, or says why not.
pub(crate) async fn bind(address: SocketAddr) -> anyhow::Result<TcpListener> {
    TcpListener::bind(address).await.with_context(|| format!("can't listen on {address}"))
}

/// Serves until the process is told to stop, then finishes what is going on, within eight seconds.
///
/// Notices are delivered meanwhile. One that is on its way when the program stops is tried again when it starts; a share-out that
/// is being worked out is taken up again by the next program on this database. Numbers about the service are told on a listener
/// of their own.
pub(crate) async fn until_stopped(
    app: App,
    mail: Option<Mail>,
    listener: TcpListener,
    metrics: Option<TcpListener>,
) -> anyhow::Result<()> {
    let store = app.store.clone();
    let inside = app.config.private_receivers;
    let dispatcher = Dispatcher::new(store.clone(), app.clock.clone(), inside, mail, PATIENCE)?;
    let delivering = tokio::spawn(dispatcher.run(BETWEEN_TICKS));
    let keeping = tokio::spawn(app.config.backups.clone().run(store.clone(), app.clock.clone()));
    let sweeping = tokio::spawn(sweep(store.clone(), app.clock.clone()));
    let share_outs = app.share_outs.clone();
    let taking_up = tokio::spawn({
        let share_outs = share_outs.clone();
        async move { share_outs.take_up_again(BETWEEN_TICKS).await }
    });
    let (tell, told) = watch::channel(false);
    let stop = |mut told: watch::Receiver<bool>| async move {
        let _ = told.wait_for(|stopped| *stopped).await;
    };
    tokio::spawn(async move {
        stopped().await;
        tracing::info!("told to stop");
        let _ = tell.send(true);
    });
    let counted = app.metrics();
    if let Some(listener) = metrics {
        // Who reads the numbers isn't counted among them.
        let pages = (metrics_page(&app), Arc::default());
        tokio::spawn(connections::serve(listener, pages, connections::USUAL, stop(told.clone())));
    }
    let ending = tokio::spawn({
        let stop = stop(told.clone());
        async move {
            stop.await;
            taking_up.abort();
            let _ = timeout(LAST_ACTS, share_outs.leave()).await;
        }
    });
    connections::serve(listener, (service(app), counted), connections::USUAL, stop(told)).await;
    delivering.abort();
    keeping.abort();
    sweeping.abort();
    let _ = timeout(LAST_ACTS, ending).await;
    let _ = timeout(LAST_ACTS, store.close()).await;
    Ok(())
}

/// Clears away what is past its time, at the start and every few hours. What fails is logged and tried at the next round.
async fn sweep(store: Store, clock: Clock) {
    loop {
        if let Err(error) = sweep_once(&store, &clock).await {
            tracing::warn!("what is past its time stays: {error}");
        }
        tokio::time::sleep(BETWEEN_SWEEPS).await;
    }
}

async fn sweep_once(store: &Store, clock: &Clock) -> Result<(), crate::store::Error> {
    let mut tx = store.write(Actor { person: None, at: clock.now() }).await?;
    tx.sweep().await?;
    tx.commit().await
}

async fn stopped() {
    let interrupted = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! { _ = interrupted => (), _ = terminated.recv() => () }
            return;
        }
    }
    let _ = interrupted.await;
}
