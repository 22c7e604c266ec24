//! The store, each test on both databases.
mod cloth;
mod frames;
mod loans;
mod people;
mod prepared;
mod rods;
mod rug_log;
mod rugs;
mod shelf;
mod terms;
