//! Connections: how many are kept, how long each may take, and how they end when the program stops. What is asked over them is
//! the pages' own.
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::extract::ConnectInfo;
use hyper::Request;
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service as _, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Notify, watch};
use tokio::task::{JoinSet, yield_now};
use tokio::time::{Instant, sleep, timeout};
use tokio_io_timeout::TimeoutStream;

use crate::web::{HealthOnly, Metrics};

/// The largest head of a request, in bytes.
const HEAD: usize = 16 * 1024;

/// How much connections may ask for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    /// So many at once. When one more comes, the one goes that has sent nothing whole for longest.
    pub most: usize,
    /// So many more where each of those is being answered: they are told that the service is full, but for its health pages.
    pub reserve: usize,
    /// Within this time a connection's next request has to be there, its head whole.
    pub head: Duration,
    /// The same for one of the reserve.
    pub head_in_reserve: Duration,
    /// Within this time somebody has to take the next part of an answer.
    pub taking: Duration,
    /// What is going on when the program stops has this long to end.
    pub grace: Duration,
}

/// A process may hold 1024 files open by default; a second connection pool and our own files come out of the rest.
pub(super) const USUAL: Limits = Limits {
    most: 512,
    reserve: 32,
    head: Duration::from_secs(10),
    head_in_reserve: Duration::from_secs(2),
    taking: Duration::from_secs(20),
    grace: Duration::from_secs(5),
};

/// What a connection that waits has to end, once it is asked to: the rest of its last answer.
const LAST_WORDS: Duration = Duration::from_secs(1);

/// A connection that is open.
struct Connection {
    /// Requests that are being answered over it.
    answering: AtomicUsize,
    /// Whether anything whole was ever asked over it.
    asked: AtomicBool,
    /// Since when it has been waiting, where it is.
    since: Mutex<Instant>,
    /// Whether it is one of the reserve.
    in_reserve: bool,
    /// Asks it to end.
    leave: Notify,
}

impl Connection {
    fn waits(&self) -> bool {
        self.answering.load(Ordering::Relaxed) == 0
    }

    fn since(&self) -> Instant {
        *self.since.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A request that is being answered, for as long as this lives.
struct Answering(Arc<Connection>);

impl Answering {
    fn over(connection: &Arc<Connection>) -> Self {
        connection.answering.fetch_add(1, Ordering::Relaxed);
        connection.asked.store(true, Ordering::Relaxed);
        Self(Arc::clone(connection))
    }
}

impl Drop for Answering {
    fn drop(&mut self) {
        *self.0.since.lock().unwrap_or_else(PoisonError::into_inner) = Instant::now();
        self.0.answering.fetch_sub(1, Ordering::Relaxed);
    }
}

/// The connections that are open, by their number.
struct House {
    open: Mutex<BTreeMap<u64, Arc<Connection>>>,
    limits: Limits,
    metrics: Arc<Metrics>,
}

/// A connection's place among the open ones, until this is dropped.
struct Place {
    house: Arc<House>,
    number: u64,
    connection: Arc<Connection>,
}

impl House {
    /// Takes one more in; `None` where each place is taken and each of those is being answered.
    fn admit(self: &Arc<Self>, number: u64) -> Option<Place> {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let mut in_reserve = false;
        if open.len() >= self.limits.most {
            let longest = open.iter().filter(|(_, one)| one.waits()).min_by_key(|(_, one)| one.since());
            let longest = longest.map(|(number, _)| *number);
            if let Some(gone) = longest.and_then(|number| open.remove(&number)) {
                gone.leave.notify_one();
                self.metrics.turned_away();
            } else if open.len() < self.limits.most + self.limits.reserve {
                in_reserve = true;
            } else {
                self.metrics.turned_away();
                return None;
            }
        }
        let connection = Arc::new(Connection {
            answering: AtomicUsize::new(0),
            asked: AtomicBool::new(false),
            since: Mutex::new(Instant::now()),
            in_reserve,
            leave: Notify::new(),
        });
        open.insert(number, Arc::clone(&connection));
        self.metrics.connections(open.len());
        drop(open);
        Some(Place { house: Arc::clone(self), number, connection })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut open = self.house.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.remove(&self.number);
        self.house.metrics.connections(open.len());
    }
}

/// Answers over a listener until `stop` is done; then lets what is going on end, for as long as the limits say.
pub(super) async fn serve(
    listener: TcpListener,
    (pages, metrics): (Router, Arc<Metrics>),
    limits: Limits,
    stop: impl Future<Output = ()>,
) {
    let house = Arc::new(House { open: Mutex::default(), limits, metrics });
    let (stopping, stops) = watch::channel(false);
    let mut going = JoinSet::new();
    let mut number = 0;
    tokio::pin!(stop);
    loop {
        let taken = tokio::select! {
            biased;
            () = &mut stop => break,
            Some(_) = going.join_next() => continue,
            taken = listener.accept() => taken,
        };
        match taken {
            Ok((stream, peer)) => {
                number += 1;
                // One too many is hung up on: its asker will try again.
                if let Some(place) = house.admit(number) {
                    going.spawn(answer(stream, peer, pages.clone(), place, stops.clone()));
                }
                // Under a flood it is read before so many others have come that it is the one that waited longest.
                yield_now().await;
            }
            Err(error) => {
                tracing::warn!(cause = %error, "a connection can't be taken");
                sleep(Duration::from_millis(100)).await;
            }
        }
    }
    drop(listener);
    let _ = stopping.send(true);
    let _ = timeout(limits.grace, async { while going.join_next().await.is_some() {} }).await;
    going.shutdown().await;
}

/// One connection, from its first request to its end.
async fn answer(
    stream: TcpStream,
    peer: SocketAddr,
    pages: Router,
    place: Place,
    mut stops: watch::Receiver<bool>,
) {
    let limits = place.house.limits;
    let (connection, in_reserve) = (Arc::clone(&place.connection), place.connection.in_reserve);
    let _ = stream.set_nodelay(true);
    let mut stream = TimeoutStream::new(stream);
    stream.set_write_timeout(Some(limits.taking));
    let pages = TowerToHyperService::new(pages);
    let over = Arc::clone(&connection);
    let pages = service_fn(move |mut request: Request<Incoming>| {
        let answering = Answering::over(&over);
        request.extensions_mut().insert(ConnectInfo(peer));
        if in_reserve {
            request.extensions_mut().insert(HealthOnly);
        }
        let answer = pages.call(request);
        async move {
            let answer = answer.await;
            drop(answering);
            answer
        }
    });
    let serving = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(if in_reserve { limits.head_in_reserve } else { limits.head })
        .max_buf_size(HEAD)
        .keep_alive(!in_reserve)
        .serve_connection(TokioIo::new(Box::pin(stream)), pages);
    tokio::pin!(serving);
    tokio::select! {
        ended = serving.as_mut() => {
            if let Err(error) = ended {
                tracing::debug!(cause = %error, "a connection broke off");
            }
            return;
        }
        () = connection.leave.notified() => (),
        _ = stops.wait_for(|stopping| *stopping) => (),
    }
    if !connection.asked.load(Ordering::Relaxed) {
        // Nothing is under way over it: under a flood of such connections each that lingered would be one too many.
        return;
    }
    serving.as_mut().graceful_shutdown();
    let left = if connection.waits() { LAST_WORDS } else { limits.grace };
    let _ = timeout(left, serving).await;
}
