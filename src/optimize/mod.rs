//! Searches: cutting bars, sheets and rods, laying panels, sharing out cloth, the timetable, designs for one and for a class, rests. Pure, like [`crate::planning`].
//!
//! Each takes a budget of steps and says whether what it found is proven the best, or how far it may be from it.
pub mod bins;
mod chance;
pub mod class_designs;
pub mod cutting;
pub mod design;
pub mod fit;
pub mod new_frame;
pub mod panels;
pub mod purchase;
pub mod rod_stock;
pub mod rods;
pub mod share_out;
pub mod sheets;
pub mod timetable;
pub mod using_up;
