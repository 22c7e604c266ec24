//! Thrumhall: plans rag rugs, cloth and frames for a weaving class.
//!
//! The rooms and who may call whom are described in `DEVELOPERS.md`.
pub mod class;
pub mod cli;
pub mod craft;
pub mod edge;
pub mod exchange;
pub mod paper;
pub mod store;
pub mod web;
