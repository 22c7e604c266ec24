//! The pages, through the router.
mod access;
mod entry;
mod people;
mod terms;
mod today;
