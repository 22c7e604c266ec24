//! The store, each test on both databases.
mod check;
mod cloth;
mod cuts;
mod flows;
mod frames;
mod loans;
mod people;
mod prepared;
mod promises;
mod rods;
mod rug_log;
mod rugs;
mod shelf;
mod stocktakes;
mod terms;
mod timetable;
