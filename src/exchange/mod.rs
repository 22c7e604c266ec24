//! What other programs read and are told: calendar feeds, and tables that come in. Nothing here asks the database or the
//! web; values come in, bytes go out.
pub mod calendar;
pub mod table;
