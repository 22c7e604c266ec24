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

mod class;
mod craft;
mod demo;
mod exchange;
mod model;
mod paper;
mod races;
mod rights;
mod store;
mod web;
