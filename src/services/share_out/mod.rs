//! Sharing cloth out: what rugs need, the question put to the search, and the work on it.
pub mod cover;
pub mod needs;
pub mod touching;
pub mod work;
