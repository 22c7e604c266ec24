//! What the class does, one file per thing done: takes an open [`Read`](crate::store::Read) or
//! [`Write`](crate::store::Write), loads, asks the pure rooms, decides, writes. Knows no HTTP, no HTML and no PDF, and no clock but in
//! the work on a share-out, which goes on after the request that began it.
pub mod attendance;
pub mod free_cloth;
pub mod guide;
pub mod hand_out;
pub mod learning;
pub mod messages;
pub mod one_time_codes;
pub mod outlook;
pub mod paper_data;
pub mod pieced;
pub mod row_counter;
pub mod rug_calendar;
pub mod rug_input;
pub mod rug_plan;
pub mod rug_status;
pub mod share_out;
pub mod timetable;
pub mod tonight;
pub mod turns;

use crate::store;

/// Why something can't be done.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// There is no such thing.
    #[error("there is no such {0}")]
    NotFound(&'static str),
    #[error(transparent)]
    Store(#[from] store::Error),
    /// A fault of this program.
    #[error("{0}")]
    Fault(String),
}

/// The result of a service.
pub type Result<T, E = Error> = std::result::Result<T, E>;
