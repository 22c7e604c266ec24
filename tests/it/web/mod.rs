//! The pages, through the router.
mod access;
mod cloth;
mod entry;
mod faults;
mod people;
mod rugs;
mod terms;
mod today;
