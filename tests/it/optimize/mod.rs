//! The searches, checked against brute force and published optima.
mod bins;
mod class_designs;
mod cut;
mod design;
mod new_frame;
mod panels;
mod pieced;
mod purchase;
mod rod_stock;
mod share_out;
mod shared;
mod sheets;
mod timetable;
mod using_up;
