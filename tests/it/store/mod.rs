//! The store, each test on both databases.
mod people;
mod prepared;
mod terms;
