//! What `tests/security/` says of this program holds: its tables are whole and name what exists; and what no other test shows, of the
//! program's answers, of its sources, of the program itself.
mod answers;
mod asvs;
mod program;
mod sources;
