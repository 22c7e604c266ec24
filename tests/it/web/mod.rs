//! The pages, through the router.
mod access;
mod cloth;
mod entry;
mod people;
mod rugs;
