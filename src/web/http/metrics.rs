//! What is counted of the service, as Prometheus reads it. No name, address or path of anybody's is in it.
use std::time::Duration;

use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::Histogram;
use prometheus_client::registry::Registry;

/// Upper ends of the times that answers are sorted by, in seconds.
const TIMES: [f64; 9] = [0.005, 0.02, 0.05, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0];

type Labels = [(&'static str, String); 3];

/// Counters of one program.
pub struct Metrics {
    registry: Registry,
    requests: Family<Labels, Counter>,
    seconds: Histogram,
    refusals: Family<[(&'static str, &'static str); 1], Counter>,
    connections: Gauge,
    turned_away: Counter,
    database: Family<[(&'static str, &'static str); 1], Gauge>,
    waiting: Gauge,
}

impl Default for Metrics {
    fn default() -> Self {
        let mut registry = Registry::with_prefix("thrumhall");
        let all = Self {
            requests: Family::default(),
            seconds: Histogram::new(TIMES),
            refusals: Family::default(),
            connections: Gauge::default(),
            turned_away: Counter::default(),
            database: Family::default(),
            waiting: Gauge::default(),
            registry: Registry::default(),
        };
        registry.register("requests", "Requests answered, by method, route and status", all.requests.clone());
        registry.register("answer_seconds", "How long answers took", all.seconds.clone());
        registry.register("refusals", "Requests refused, by reason", all.refusals.clone());
        registry.register("connections", "Connections that are open", all.connections.clone());
        registry.register(
            "connections_turned_away",
            "Connections closed for want of room",
            all.turned_away.clone(),
        );
        registry.register("database_connections", "Connections to the database", all.database.clone());
        registry.register("notices_waiting", "Deliveries of notices that wait", all.waiting.clone());
        let version = [("version", env!("CARGO_PKG_VERSION"))];
        let build = Family::<[(&'static str, &'static str); 1], Gauge>::default();
        build.get_or_create(&version).set(1);
        registry.register("build", "The program that is running", build);
        Self { registry, ..all }
    }
}

impl Metrics {
    /// An answer went out.
    pub(super) fn answered(&self, method: &str, route: &str, status: u16, took: Duration) {
        let labels =
            [("method", method.to_owned()), ("route", route.to_owned()), ("status", status.to_string())];
        self.requests.get_or_create(&labels).inc();
        self.seconds.observe(took.as_secs_f64());
    }

    /// A request was refused, for this reason.
    pub(super) fn refused(&self, reason: &'static str) {
        self.refusals.get_or_create(&[("reason", reason)]).inc();
    }

    /// So many connections are open now.
    pub(crate) fn connections(&self, open: usize) {
        self.connections.set(open as i64);
    }

    /// A connection was closed for want of room.
    pub(crate) fn turned_away(&self) {
        self.turned_away.inc();
    }

    /// All of it as text, with how the database is used and how many deliveries wait.
    pub(super) fn text(&self, (open, idle): (u32, usize), waiting: i64) -> Result<String, std::fmt::Error> {
        self.database.get_or_create(&[("state", "open")]).set(i64::from(open));
        self.database.get_or_create(&[("state", "idle")]).set(idle as i64);
        self.waiting.set(waiting);
        let mut text = String::new();
        encode(&mut text, &self.registry)?;
        Ok(text)
    }
}
