//! Computations over many rugs at once: pure, like [`crate::craft`].
pub mod fit;
pub mod flow;
pub mod purchase;
pub mod share_out;
pub mod timetable;
pub mod wall_picture;
