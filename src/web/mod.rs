//! The pages.
