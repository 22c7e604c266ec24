//! The integration tests, in one binary because linking costs.
mod craft;
