//! Codes that an app makes of a shared secret and the time: RFC 6238 with what every app understands, HMAC-SHA-1, six digits,
//! steps of 30 seconds; and recovery codes.
use data_encoding::BASE32_NOPAD;
use jiff::Timestamp;
use totp_rs::{Builder, Secret, Totp};

use super::{Error, Result};
use crate::secrets;

/// A new secret in base32: 160 bits, as RFC 4226 (4, R6) recommends.
pub fn new_secret() -> String {
    BASE32_NOPAD.encode(&secrets::random()[..20])
}

fn totp(secret: &str, workroom: &str, name: &str) -> Result<Totp> {
    let fault = |error: &dyn std::fmt::Display| Error::Fault(format!("a secret for one-time codes: {error}"));
    // The two names are parted by a colon where an app shows them, so they hold none themselves.
    let plain = |text: &str| text.replace(':', " ");
    Builder::new()
        .with_secret(Secret::try_from_base32(secret).map_err(|e| fault(&e))?)
        .with_skew(1)
        .with_issuer(Some(plain(workroom)))
        .with_account_name(plain(name))
        .build()
        .map_err(|e| fault(&e))
}

/// The address that an app reads off a QR code.
pub fn address(secret: &str, workroom: &str, name: &str) -> Result<String> {
    totp(secret, workroom, name)?.to_url().map_err(|e| Error::Fault(e.to_string()))
}

/// The time step whose code this is, now or one step to either side: clocks differ. Blanks within are no matter.
pub fn step(secret: &str, code: &str, now: Timestamp) -> Result<Option<i64>> {
    let code: String = code.chars().filter(|c| !c.is_whitespace()).collect();
    if code.len() != 6 || !code.bytes().all(|digit| digit.is_ascii_digit()) {
        return Ok(None);
    }
    let step = totp(secret, "-", "-")?.check(&code, now.as_second().unsigned_abs());
    Ok(step.and_then(|step| i64::try_from(step).ok()))
}

/// How many recovery codes are made at a time.
pub const RECOVERY_CODES: usize = 10;

/// Ten new recovery codes: six groups of four, 120 random bits each.
pub fn new_recovery_codes() -> Vec<String> {
    let code = |_| {
        let text = BASE32_NOPAD.encode(&secrets::random()[..15]);
        let groups: Vec<&str> = (0..6).map(|i| &text[i * 4..i * 4 + 4]).collect();
        groups.join("-")
    };
    (0..RECOVERY_CODES).map(code).collect()
}

/// What is kept of a recovery code, however it was typed; `None` when it can't be one. A fast hash is enough: 120 bits can't
/// be guessed (NIST SP 800-63B-4, 3.1.2.2).
pub fn recovery_hash(typed: &str) -> Option<String> {
    let plain: String = typed
        .chars()
        .filter(|c| !c.is_whitespace() && *c != '-')
        .map(|c| match c.to_ascii_uppercase() {
            // The alphabet has none of these digits.
            '0' => 'O',
            '1' => 'I',
            '8' => 'B',
            letter => letter,
        })
        .collect();
    (BASE32_NOPAD.decode(plain.as_bytes()).ok()?.len() == 15).then(|| secrets::secret_hash(&plain))
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use jiff::Timestamp;

    use super::{RECOVERY_CODES, new_recovery_codes, recovery_hash};

    /// "12345678901234567890" in base32.
    const RFC_SECRET: &str = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ";

    /// Source: RFC 6238 (2011), appendix B, the rows of SHA-1. There codes have eight digits; of the same number ours are the
    /// last six (RFC 4226, 5.3: the number modulo ten to the power of the digits).
    #[test]
    fn codes_are_those_of_the_published_vectors() {
        for (second, eight) in [
            (59, "94287082"),
            (1_111_111_109, "07081804"),
            (1_111_111_111, "14050471"),
            (1_234_567_890, "89005924"),
            (2_000_000_000, "69279037"),
            (20_000_000_000, "65353130"),
        ] {
            let at = |second| Timestamp::from_second(second).unwrap();
            let step = |code: &str, second| super::step(RFC_SECRET, code, at(second)).unwrap();
            let (code, of) = (&eight[2..], second / 30);
            assert_eq!(step(code, second), Some(of), "{code}");
            assert_eq!(step(&format!(" {} {} ", &code[..3], &code[3..]), second), Some(of), "blanks within");
            // RFC 6238, 5.2: one step to either side.
            let begin = of * 30;
            assert_eq!(step(code, begin + 59), Some(of));
            assert_eq!(step(code, begin + 60), None);
            assert_eq!(step(code, begin - 30), Some(of));
            // Before the first second of all nothing was issued.
            if begin > 31 {
                assert_eq!(step(code, begin - 31), None);
            }
            for wrong in [eight, &code[1..], "", "abcdef", "１２３４５６"] {
                assert_eq!(step(wrong, second), None, "{wrong}");
            }
        }
    }

    #[test]
    fn recovery_codes_are_read_however_they_are_typed() {
        let codes = new_recovery_codes();
        assert_eq!(codes.len(), RECOVERY_CODES);
        let hashes: BTreeSet<_> = codes.iter().map(|code| recovery_hash(code).unwrap()).collect();
        assert_eq!(hashes.len(), RECOVERY_CODES);
        let code = &codes[0];
        let typed = [code.to_lowercase(), code.replace('-', ""), format!("  {} ", code.replace('-', " "))];
        let mistaken = code.replace('O', "0").replace('I', "1").replace('B', "8");
        for typed in typed.iter().chain([&mistaken]) {
            assert_eq!(recovery_hash(typed), recovery_hash(code), "{typed}");
        }
        for wrong in ["", "123456", &code[1..], &format!("{code}A"), &codes.join("")] {
            assert_eq!(recovery_hash(wrong), None, "{wrong}");
        }
    }
}
