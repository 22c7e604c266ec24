//! The pages, through the router.
mod access;
mod any_size;
mod build;
mod cloth;
mod entry;
mod faults;
mod frames;
mod hand_out;
mod loans;
mod people;
mod rods;
mod rug_cloth;
mod rugs;
mod sheets;
mod terms;
mod today;
mod windings;
