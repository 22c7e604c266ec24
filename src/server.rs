//! The running service put together: pages on a listener, and notices dispatched beside them.
use std::net::SocketAddr;
use std::time::Duration;

use anyhow::Context as _;
use tokio::net::TcpListener;

use crate::notify::{Dispatcher, Mail, PATIENCE};
use crate::web::service;
pub use crate::web::{App, Config};

/// How often the dispatcher of notices looks for something to deliver.
const BETWEEN_TICKS: Duration = Duration::from_secs(5);

/// Listens, or says why not.
pub(crate) async fn bind(address: SocketAddr) -> anyhow::Result<TcpListener> {
    TcpListener::bind(address).await.with_context(|| format!("can't listen on {address}"))
}

/// Serves until the process is told to stop, then finishes what is going on.
///
/// Notices are delivered meanwhile. One that is on its way when the program stops is tried again when it starts.
pub(crate) async fn until_stopped(app: App, mail: Option<Mail>, listener: TcpListener) -> anyhow::Result<()> {
    let store = app.store.clone();
    let inside = app.config.private_receivers;
    let dispatcher = Dispatcher::new(store.clone(), app.clock.clone(), inside, mail, PATIENCE)?;
    let delivering = tokio::spawn(dispatcher.run(BETWEEN_TICKS));
    let pages = service(app).into_make_service_with_connect_info::<SocketAddr>();
    axum::serve(listener, pages).with_graceful_shutdown(stopped()).await?;
    delivering.abort();
    store.close().await;
    Ok(())
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
