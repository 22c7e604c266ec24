//! Computations over many rugs, checked against brute force and published optima; the searches of one rug beside them.
mod cut;
mod purchase;
mod share_out;
mod shared;
mod timetable;
