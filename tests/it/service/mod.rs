//! The service as it runs for years: its connections, its end, its log, what it does while the database can't be used, and several
//! programs on one database.
mod away;
mod program;
mod share_outs;
