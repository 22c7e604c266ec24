//! The time: the machine's own, or one that stands until it is moved. Everything inward takes the moment as an argument.
use std::sync::{Arc, Mutex};

use jiff::Timestamp;

/// The time now, to whole microseconds: the system's, or one that a test sets and moves.
#[derive(Clone, Debug)]
pub enum Clock {
    /// The machine's own clock.
    System,
    /// A clock that stands until it is moved.
    Fixed(Arc<Mutex<Timestamp>>),
}

impl Clock {
    /// A clock that stands at `at` until [`Clock::set`] moves it.
    pub fn fixed(at: Timestamp) -> Self {
        Self::Fixed(Arc::new(Mutex::new(at)))
    }

    /// The instant now. Databases keep microseconds, so nothing finer is handed out.
    pub fn now(&self) -> Timestamp {
        let now = match self {
            #[allow(clippy::disallowed_methods, reason = "this is the one place that asks the machine")]
            Self::System => Timestamp::now(),
            Self::Fixed(at) => *at.lock().unwrap_or_else(std::sync::PoisonError::into_inner),
        };
        Timestamp::from_microsecond(now.as_microsecond()).unwrap_or(now)
    }

    /// Moves a fixed clock; the system's clock can't be moved and is left alone.
    pub fn set(&self, to: Timestamp) {
        if let Self::Fixed(at) = self {
            *at.lock().unwrap_or_else(std::sync::PoisonError::into_inner) = to;
        }
    }
}
