//! The store, each test on both databases.
mod cloth;
mod people;
mod prepared;
mod terms;
