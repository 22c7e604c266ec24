//! Passphrases: what is accepted, and their argon2id hashes.
use argon2::{Algorithm, Argon2, Params, PasswordHash, PasswordHasher as _, PasswordVerifier as _, Version};

use crate::web::{App, Error, Form, Result};

/// Fewest characters: NIST SP 800-63B-4 (2025), 3.1.1.2, for a passphrase that stands alone.
pub const LEAST: usize = 15;
/// Most characters: far above the 64 that must be accepted; a bound only so that hashing stays cheap.
pub const MOST: usize = 256;

/// Reads a new passphrase typed twice. The text is kept as typed: no trimming, no case folding, no rules of composition.
pub fn read_new(form: &mut Form) -> Option<String> {
    let typed = form.value("passphrase").to_owned();
    let length = typed.chars().count();
    let mut kinds: Vec<char> = typed.chars().collect();
    kinds.sort_unstable();
    kinds.dedup();
    if length < LEAST {
        form.add_error(
            "passphrase",
            format!("The passphrase has {length} characters; {LEAST} are the fewest. Four or five words make a good one."),
        );
    } else if length > MOST {
        form.add_error("passphrase", format!("The passphrase has {length} characters; {MOST} are the most."));
    } else if kinds.len() < 5 {
        form.add_error(
            "passphrase",
            "The passphrase is made of too few different characters to be hard to guess.",
        );
    } else if typed != form.value("again") {
        form.add_error("again", "The two passphrases differ. Type the second like the first.");
    }
    form.is_ok().then_some(typed)
}

/// OWASP Password Storage Cheat Sheet: argon2id with m = 19 MiB, t = 2, p = 1.
fn argon() -> Result<Argon2<'static>> {
    let params = Params::new(19 * 1024, 2, 1, None).map_err(|e| Error::Internal(e.to_string()))?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

/// The hash of a passphrase, in PHC form.
pub async fn hash(app: &App, passphrase: String) -> Result<String> {
    work(app, move || {
        let hash = argon()?.hash_password(passphrase.as_bytes());
        Ok(hash.map_err(|e| Error::Internal(e.to_string()))?.to_string())
    })
    .await
}

/// Whether a passphrase fits a hash. Without a hash the same work is done, so that the time tells nobody which names exist.
pub async fn fits(app: &App, passphrase: String, hash: Option<String>) -> Result<bool> {
    work(app, move || {
        let argon = argon()?;
        let Some(hash) = hash else {
            let _ = argon.hash_password(passphrase.as_bytes());
            return Ok(false);
        };
        let hash = PasswordHash::new(&hash).map_err(|e| Error::Internal(e.to_string()))?;
        Ok(argon.verify_password(passphrase.as_bytes(), &hash).is_ok())
    })
    .await
}

async fn work<T: Send + 'static>(app: &App, job: impl FnOnce() -> Result<T> + Send + 'static) -> Result<T> {
    super::state::one_at_a_time(&app.hashing, job).await?
}
