//! Cloth: bundles on the shelf, the ledger of their weights, what is promised of them, and counting them.
pub mod bundles;
pub mod cuts;
pub mod flows;
pub mod ledger;
mod ledger_acts;
pub mod promises;
pub mod share_outs;
pub mod stocktakes;
