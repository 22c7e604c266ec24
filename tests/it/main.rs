//! The integration tests, in one binary because linking costs.
#![allow(
    missing_docs,
    clippy::doc_markdown,
    clippy::float_cmp,
    clippy::print_stderr,
    clippy::unwrap_used,
    clippy::missing_panics_doc,
    reason = "tests"
)]

mod support;

mod backup;
mod calendar;
mod demo;
mod drawing;
mod drawn_guide;
mod model;
mod notify;
mod optimize;
mod pdf;
mod planning;
mod races;
mod rights;
mod rooms;
mod security;
mod service;
mod sources;
mod store;
mod tables;
mod units;
mod web;
