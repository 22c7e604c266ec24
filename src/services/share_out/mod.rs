//! Sharing cloth out: what rugs need, the question put to the search, and the work on it.
pub mod needs;
pub mod work;
