//! Tests of one rug's computation. Published rows shared by several files stand in `tests/it/vectors/`.
mod pure;
mod units;
