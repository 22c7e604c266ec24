//! What other programs read and are told: calendar feeds, tables that come in, notices that go out. Values come in, bytes go
//! out; only the courier of notices asks the database and the network.
pub mod calendar;
pub mod notices;
pub mod outward;
pub mod table;
