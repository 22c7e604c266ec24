//! Thrumhall: plans rag rugs, cloth and frames for a weaving class.
//!
//! The rooms and who may call whom are described in `DEVELOPERS.md`.
pub mod backup;
pub mod calendar;
pub mod cli;
pub mod clock;
pub mod drawing;
pub mod notify;
pub mod optimize;
pub mod pdf;
pub mod planning;
pub mod secrets;
mod server;
mod services;
pub mod store;
pub mod tables;
pub mod units;
pub mod web;
