//! Passphrases: what is accepted, and their argon2id hashes.
use argon2::password_hash::phc::{Output, ParamsString, PasswordHash, Salt};
use argon2::{Algorithm, Argon2, Block, Params, Version};

use super::hashing::Place;
use super::strength::Strength;
use crate::secrets;
use crate::web::{Error, Form, Result};

/// Fewest characters: NIST SP 800-63B-4 (2025), 3.1.1.2, for a passphrase that stands alone.
pub const LEAST: usize = 15;
/// Most characters: far above the 64 that must be accepted; a bound only so that hashing stays cheap.
pub const MOST: usize = 256;

/// Reads a new passphrase typed twice, in a place of these names. The text is kept as typed: no trimming, no case folding, no rules
/// of composition.
pub fn read_new(form: &mut Form, names: &[&str]) -> Option<String> {
    let typed = form.value("passphrase").to_owned();
    if let Err(message) = judge(&typed, names) {
        form.add_error("passphrase", message);
    } else if typed != form.value("again") {
        form.add_error("again", "The two passphrases differ. Type the second like the first.");
    }
    form.is_ok().then_some(typed)
}

/// Whether a new passphrase is taken; what is said of it either way.
fn judge(typed: &str, names: &[&str]) -> Result<&'static str, String> {
    let length = typed.chars().count();
    if length < LEAST {
        return Err(format!(
            "The passphrase has {length} characters; it needs at least {LEAST}. Four or five words make a good one."
        ));
    }
    if length > MOST {
        return Err(format!("The passphrase has {length} characters; it can have at most {MOST}."));
    }
    let strength = Strength::of(typed, names);
    if strength.is_enough() { Ok(strength.words()) } else { Err(strength.words().into()) }
}

/// What is said of the new passphrase in a form while it is typed.
pub fn told(form: &Form, names: &[&str]) -> String {
    match judge(form.value("passphrase"), names) {
        Ok(words) => words.to_owned(),
        Err(words) => words,
    }
}

/// OWASP Password Storage Cheat Sheet: argon2id with m = 19 MiB, t = 2, p = 1.
fn params() -> Result<Params> {
    Params::new(19 * 1024, 2, 1, None).map_err(fault)
}

fn fault(error: impl std::fmt::Display) -> Error {
    Error::Internal(error.to_string())
}

/// The hash of a passphrase, in PHC form.
pub async fn hash(place: Place<'_>, passphrase: String) -> Result<String> {
    let salt = Salt::new(&secrets::random()[..16]).map_err(fault)?;
    let work = move |memory: &mut Vec<Block>| -> Result<String> {
        let params = params()?;
        let hash = PasswordHash {
            algorithm: Algorithm::Argon2id.ident(),
            version: Some(Version::V0x13.into()),
            params: ParamsString::try_from(&params).map_err(fault)?,
            salt: Some(salt),
            hash: Some(worked_out(memory, params, &passphrase, &salt)?),
        };
        Ok(hash.to_string())
    };
    place.work(work).await
}

/// Whether a passphrase fits a hash. Without a hash the same work is done, so that the time tells nobody which names exist.
pub async fn fits(place: Place<'_>, passphrase: String, hash: Option<String>) -> Result<bool> {
    let work = move |memory: &mut Vec<Block>| -> Result<bool> {
        let Some(hash) = hash else {
            worked_out(memory, params()?, &passphrase, &secrets::random()[..16])?;
            return Ok(false);
        };
        let hash = PasswordHash::new(&hash).map_err(fault)?;
        let (Some(salt), Some(kept)) = (hash.salt, hash.hash) else {
            return Err(fault("a hash of a passphrase lacks its salt"));
        };
        let params = Params::try_from(&hash).map_err(fault)?;
        // Outputs are compared in constant time.
        Ok(worked_out(memory, params, &passphrase, &salt)? == kept)
    };
    place.work(work).await
}

/// Whether a hash was made with other parameters than are used now, so that it should be made anew while its passphrase is at hand.
pub fn is_old(hash: &str) -> bool {
    let made = PasswordHash::new(hash).ok().and_then(|hash| {
        let ours =
            hash.algorithm == Algorithm::Argon2id.ident() && hash.version == Some(Version::V0x13.into());
        Params::try_from(&hash).ok().filter(|_| ours)
    });
    let costs = |params: &Params| (params.m_cost(), params.t_cost(), params.p_cost());
    made.as_ref().map(costs) != params().ok().as_ref().map(costs)
}

/// A hash worked out in this memory, of which as much is touched as it needs.
fn worked_out(memory: &mut Vec<Block>, params: Params, passphrase: &str, salt: &[u8]) -> Result<Output> {
    memory.resize(params.block_count(), Block::new());
    let mut out = vec![0_u8; params.output_len().unwrap_or(Params::DEFAULT_OUTPUT_LEN)];
    let argon = Argon2::new(Algorithm::Argon2id, Version::V0x13, params);
    argon.hash_password_into_with_memory(passphrase.as_bytes(), salt, &mut out, memory).map_err(fault)?;
    Output::new(&out).map_err(fault)
}
