//! The store, each test on both databases.
mod frames;
mod loans;
mod people;
mod prepared;
mod rods;
mod rugs;
