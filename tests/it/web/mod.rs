//! The pages, through the router.
mod access;
mod cloth;
mod entry;
mod faults;
mod frames;
mod hand_out;
mod loans;
mod people;
mod rods;
mod rug_log;
mod rugs;
mod terms;
mod today;
mod windings;
