//! What other programs read, and tables that come in.
mod calendar;
mod notices;
mod table;
