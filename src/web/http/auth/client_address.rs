//! Where a request comes from, as far as limits are concerned.
use std::net::{IpAddr, Ipv6Addr, SocketAddr};

use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::HeaderMap;
use axum::http::request::Parts;

use crate::web::App;

/// Where a request comes from: the connection's other end, or what the proxy in front says. An IPv6 address is given as its
/// first 64 bits: whoever has one of them has them all.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::web) struct ClientAddress(pub String);

impl FromRequestParts<App> for ClientAddress {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Self::Rejection> {
        if let Some(named) = forwarded(&parts.headers).filter(|_| app.config.behind_proxy) {
            return Ok(Self(named));
        }
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>();
        Ok(Self(peer.map_or_else(|| "unknown".into(), |peer| network(peer.0.ip()))))
    }
}

/// The last address of the last `X-Forwarded-For` is the one our own proxy saw; those before it, in this line or in lines of
/// their own, are whatever the visitor wrote.
fn forwarded(headers: &HeaderMap) -> Option<String> {
    let line = headers.get_all("x-forwarded-for").iter().next_back()?;
    let last = line.to_str().ok()?.rsplit(',').next()?.trim();
    let address =
        last.parse::<IpAddr>().or_else(|_| last.parse::<SocketAddr>().map(|with_port| with_port.ip()));
    Some(address.map_or_else(|_| last.chars().take(60).collect(), network))
}

fn network(address: IpAddr) -> String {
    match address.to_canonical() {
        IpAddr::V4(address) => address.to_string(),
        IpAddr::V6(address) => {
            let [a, b, c, d, ..] = address.segments();
            format!("{}/64", Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0))
        }
    }
}

#[cfg(test)]
mod tests {
    use axum::http::{HeaderMap, HeaderValue};

    use super::{forwarded, network};

    #[test]
    fn of_several_forwarded_addresses_the_last_of_the_last_line_counts() {
        for (lines, last) in [
            (&["192.0.2.1"][..], "192.0.2.1"),
            (&["198.51.100.9, 192.0.2.1"], "192.0.2.1"),
            (&["198.51.100.9", "192.0.2.1"], "192.0.2.1"),
            (&["198.51.100.9, 198.51.100.8", "198.51.100.7 ,192.0.2.1 "], "192.0.2.1"),
            (&["192.0.2.1:4711"], "192.0.2.1"),
            (&["[2001:db8:1:2:3::4]:4711"], "2001:db8:1:2::/64"),
            (&["hidden"], "hidden"),
        ] {
            let mut headers = HeaderMap::new();
            for line in lines {
                headers.append("x-forwarded-for", HeaderValue::from_static(line));
            }
            assert_eq!(forwarded(&headers).as_deref(), Some(last), "{lines:?}");
        }
        assert_eq!(forwarded(&HeaderMap::new()), None);
    }

    #[test]
    fn neighbours_in_one_ipv6_network_count_together() {
        for (address, counted) in [
            ("2001:db8:1:2::5", "2001:db8:1:2::/64"),
            ("2001:db8:1:2:ffff:ffff:ffff:ffff", "2001:db8:1:2::/64"),
            ("2001:db8:1:3::5", "2001:db8:1:3::/64"),
            ("::ffff:192.0.2.1", "192.0.2.1"),
            ("192.0.2.1", "192.0.2.1"),
        ] {
            assert_eq!(network(address.parse().unwrap()), counted);
        }
    }
}
