//! HTTP: the route table, who is asking, forms, messages, errors, and what every page has around it.
pub(super) mod answer;
pub(super) mod assets;
pub(super) mod download;
pub(super) mod error;
pub(super) mod form;
pub(super) mod id;
pub(super) mod layers;
pub(super) mod page;
pub(super) mod passphrase;
pub mod route;
pub(super) mod session;
pub(super) mod state;
pub(super) mod upload;
