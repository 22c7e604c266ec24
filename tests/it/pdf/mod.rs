//! Papers as values: what stands where, before it is drawn. The files themselves are looked at in `tests/outside/paper.py`.
mod layout;
mod read;
mod samples;
mod text;
