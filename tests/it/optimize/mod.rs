//! The searches, checked against brute force and published optima.
mod bins;
mod cut;
mod new_frame;
mod panels;
mod pieced;
mod purchase;
mod rod_stock;
mod share_out;
mod shared;
mod sheets;
mod timetable;
