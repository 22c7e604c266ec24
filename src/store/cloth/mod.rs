//! Cloth: bundles on the shelf, the ledger of their weights, what is promised of them, and counting them.
pub mod acceptance;
pub mod bundles;
pub mod corrections;
pub mod cuts;
pub mod flows;
pub mod ledger;
mod ledger_acts;
pub(crate) mod past;
pub mod promises;
pub mod share_outs;
pub mod shelf;
pub mod stocktakes;
pub mod yields;
