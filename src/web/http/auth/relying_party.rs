//! For whom passkeys are: the address people use, as Web Authentication wants it named.
use std::net::IpAddr;

use passki::Passki;

/// The party that passkeys at this address belong to; `None` where browsers allow none: at plain http, but on the machine
/// itself, and at addresses that are numbers.
pub(in crate::web) fn relying_party(origin: &str, workroom: &str) -> Option<Passki> {
    let origin = origin.to_ascii_lowercase();
    let (scheme, host) = origin.split_once("://")?;
    // Browsers leave a scheme's usual port out of an origin.
    let usual = if scheme == "https" { ":443" } else { ":80" };
    let host = host.strip_suffix(usual).unwrap_or(host);
    let name = host.split(':').next().unwrap_or(host);
    let here = name == "localhost" || name.ends_with(".localhost");
    let secure = scheme == "https" || (scheme == "http" && here);
    if !secure || name.is_empty() || name.starts_with('[') || name.parse::<IpAddr>().is_ok() {
        return None;
    }
    Some(Passki::new(name, &[format!("{scheme}://{host}")], workroom))
}

#[cfg(test)]
mod tests {
    use super::relying_party;

    #[test]
    fn passkeys_are_for_names_over_tls_and_for_this_machine() {
        for (origin, named) in [
            ("https://rugs.example", Some(("rugs.example", "https://rugs.example"))),
            ("https://Rugs.example:443", Some(("rugs.example", "https://rugs.example"))),
            ("https://rugs.example:8443", Some(("rugs.example", "https://rugs.example:8443"))),
            ("http://localhost:8080", Some(("localhost", "http://localhost:8080"))),
            ("http://rugs.localhost", Some(("rugs.localhost", "http://rugs.localhost"))),
            ("http://rugs.example", None),
            ("http://127.0.0.1:8080", None),
            ("https://192.0.2.7", None),
            ("https://[::1]:8080", None),
            ("http://notlocalhost", None),
            ("ftp://localhost", None),
            ("https://", None),
            ("", None),
        ] {
            let party = relying_party(origin, "Loft");
            let found = party.as_ref().map(|party| (party.rp_id.as_str(), party.rp_origins[0].as_str()));
            assert_eq!(found, named, "{origin}");
        }
    }
}
