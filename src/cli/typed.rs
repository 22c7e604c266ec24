//! Values as people type them, read the way they are meant.
use std::net::{Ipv4Addr, SocketAddr};

use reqwest::Url;

/// An address to listen on. `localhost` is this machine by IPv4, as everything that names it here.
pub(super) fn listen(text: &str) -> Result<SocketAddr, String> {
    let here = text.strip_prefix("localhost:").and_then(|port| port.parse().ok());
    match here {
        Some(port) => Ok((Ipv4Addr::LOCALHOST, port).into()),
        None => text.parse().map_err(|_| "it is an IP address and a port, such as 127.0.0.1:8080".to_owned()),
    }
}

/// The address that people type, as browsers name an origin: without a path, without a port that goes without saying. Only this
/// machine may do without a scheme, since whether an address is TLS can't be guessed.
pub(super) fn public_url(text: &str) -> Result<String, String> {
    let wrong = || "it is http:// or https:// and a host, without a path: https://rugs.example".to_owned();
    let host = text.split([':', '/']).next().unwrap_or_default();
    let whole = if ["localhost", "127.0.0.1"].contains(&host) || text.starts_with("[::1]") {
        format!("http://{text}")
    } else {
        text.to_owned()
    };
    let url: Url = whole.parse().map_err(|_| wrong())?;
    let bare = url.path() == "/" && url.query().is_none() && url.fragment().is_none();
    let nobody = url.username().is_empty() && url.password().is_none();
    match (url.scheme(), url.host_str()) {
        ("http" | "https", Some(_)) if bare && nobody => Ok(url.origin().ascii_serialization()),
        _ => Err(wrong()),
    }
}

#[cfg(test)]
mod tests {
    use super::{listen, public_url};
    use crate::services::paper_data::only_here;

    #[test]
    fn a_public_address_is_read_as_it_is_meant() {
        for (typed, meant) in [
            ("https://rugs.example", "https://rugs.example"),
            ("https://rugs.example/", "https://rugs.example"),
            ("HTTPS://Rugs.Example:443/", "https://rugs.example"),
            ("http://rugs.example:8080", "http://rugs.example:8080"),
            ("localhost:8080", "http://localhost:8080"),
            ("127.0.0.1:8080/", "http://127.0.0.1:8080"),
            ("[::1]:8080", "http://[::1]:8080"),
        ] {
            assert_eq!(public_url(typed).as_deref(), Ok(meant), "{typed}");
        }
        for wrong in [
            "",
            "rugs.example",
            "rugs.example:8080",
            "ftp://rugs.example",
            "https://",
            "https://a.example/rugs",
            "https://me@a.example",
            "https://a.example/?x",
        ] {
            assert!(public_url(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn this_machine_is_told_from_others() {
        assert!(
            ["http://127.0.0.1:8080", "http://localhost", "http://[::1]:1", "http://0.0.0.0:1"]
                .into_iter()
                .all(only_here)
        );
        assert!(!only_here("https://rugs.example") && !only_here("http://192.168.1.2:8080"));
        assert_eq!(listen("localhost:80"), Ok(([127, 0, 0, 1], 80).into()));
        assert_eq!(listen("[::1]:80").map(|it| it.port()), Ok(80));
        assert!(listen("rugs.example:80").is_err() && listen("localhost").is_err());
    }
}
