//! A notice as a signed request, as the Standard Webhooks specification describes it: the receiver can tell that it is
//! ours, how old it is, and whether it had it before.
use data_encoding::BASE64;
use hmac::{Hmac, KeyInit as _, Mac as _};
use jiff::Timestamp;
use sha2::Sha256;

/// What a secret begins with.
const MARK: &str = "whsec_";

/// A secret for a new receiver, from 32 random bytes.
pub fn secret_of(bytes: [u8; 32]) -> String {
    format!("{MARK}{}", BASE64.encode(&bytes))
}

/// A receiver's secret isn't one of our tokens.
#[derive(Debug, thiserror::Error)]
#[error("the receiver’s secret can’t be read; make a new one")]
pub struct BadSecret;

/// The `webhook-signature` of a message: HMAC-SHA-256 over its id, the time in Unix seconds and the body, joined by full
/// stops.
///
/// # Errors
/// [`BadSecret`] when the secret is not one that [`secret_of`] makes.
pub fn sign(secret: &str, id: &str, at: Timestamp, body: &str) -> Result<String, BadSecret> {
    let key = secret.strip_prefix(MARK).and_then(|text| BASE64.decode(text.as_bytes()).ok());
    let key = key.filter(|key| !key.is_empty()).ok_or(BadSecret)?;
    let mut mac = Hmac::<Sha256>::new_from_slice(&key).map_err(|_| BadSecret)?;
    mac.update(format!("{id}.{}.{body}", at.as_second()).as_bytes());
    Ok(format!("v1,{}", BASE64.encode(&mac.finalize().into_bytes())))
}
