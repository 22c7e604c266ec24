//! The log: where it goes, how it is written, and how much of it.
use std::io::{IsTerminal as _, stderr};

use tracing_subscriber::EnvFilter;

/// How the log is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Format {
    /// A line for people; coloured on a terminal, never in a file.
    Plain,
    /// An object of JSON on each line.
    Json,
}

/// Writes the log from here on, to standard error; `RUST_LOG` says how much of it.
pub(super) fn begin(format: Format) {
    let filter = EnvFilter::try_from_default_env().unwrap_or_else(|_| EnvFilter::new("info,sqlx=error"));
    let coloured = stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|set| set.is_empty());
    let log = tracing_subscriber::fmt().with_env_filter(filter).with_writer(stderr);
    match format {
        Format::Plain => log.with_ansi(coloured).init(),
        Format::Json => log.json().flatten_event(true).with_ansi(false).init(),
    }
}
