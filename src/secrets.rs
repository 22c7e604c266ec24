//! Secrets that nobody may guess, and what is kept of them. The one place where chance enters.
use data_encoding::{BASE64URL_NOPAD, HEXLOWER};
use rand::Rng as _;
use sha2::{Digest as _, Sha256};

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
