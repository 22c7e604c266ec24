//! Where time and chance enter: the clock, and the secrets nobody may guess. Everything inward takes them as arguments.
use std::sync::{Arc, Mutex};

use data_encoding::{BASE64URL_NOPAD, HEXLOWER};
use jiff::Timestamp;
use rand::Rng as _;
use sha2::{Digest as _, Sha256};

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

/// 256 random bits in 43 URL-safe characters: a secret that is shown once and kept only as its [`secret_hash`].
pub fn secret() -> String {
    BASE64URL_NOPAD.encode(&random())
}

/// 256 random bits.
pub fn random() -> [u8; 32] {
    let mut bytes = [0_u8; 32];
    #[allow(clippy::disallowed_methods, reason = "this is the one place that makes secrets")]
    rand::rng().fill_bytes(&mut bytes);
    bytes
}

/// The SHA-256 of a secret in hex. A fast hash is enough here: the secret has 256 random bits, so it can't be guessed.
pub fn secret_hash(secret: &str) -> String {
    HEXLOWER.encode(&Sha256::digest(secret.as_bytes()))
}
