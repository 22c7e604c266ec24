//! The pages, through the router.
mod access;
mod entry;
mod people;
mod rugs;
mod terms;
mod today;
