//! What other programs read.
mod calendar;
