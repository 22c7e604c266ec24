//! The thin binary: everything lives in the library.
fn main() {}
