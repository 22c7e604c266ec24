//! The database. Nothing else speaks SQL.
