//! Computations over many rugs, checked against brute force and published optima.
mod share_out;
mod timetable;
