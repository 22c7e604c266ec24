//! The pages, through the router.
mod access;
mod entry;
mod faults;
mod people;
mod rugs;
