//! Where a notice may go: a person who names a receiver must not be able to make this machine ask its own neighbours.
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};

use reqwest::Url;
use reqwest::dns::{Addrs, Name, Resolve, Resolving};

/// Whether an address is out on the internet, by the registries of special-purpose addresses
/// (IANA, made by RFC 6890): not this host, a private network, a link, a test network, or many at once.
pub fn is_public(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(v4) => is_public_v4(v4),
        IpAddr::V6(v6) => is_public_v6(v6),
    }
}

fn is_public_v4(v4: Ipv4Addr) -> bool {
    let [a, b, c, _] = v4.octets();
    let special = a == 0 // this network
        || v4.is_private()
        || (a == 100 && (64..128).contains(&b)) // shared by a carrier, RFC 6598
        || v4.is_loopback()
        || v4.is_link_local()
        || (a == 192 && b == 0 && c == 0) // protocol assignments, RFC 6890
        || v4.is_documentation()
        || (a == 192 && b == 88 && c == 99) // relays that are given up, RFC 7526
        || (a == 198 && (18..20).contains(&b)) // benchmarks, RFC 2544
        || v4.is_multicast()
        || a >= 240; // reserved, and everybody at once
    !special
}

fn is_public_v6(v6: Ipv6Addr) -> bool {
    // What carries a version 4 address within is as public as that one: mapped, translated (RFC 6052), 6to4 (RFC 3056).
    let s = v6.segments();
    let within = |high: u16, low: u16| is_public_v4(Ipv4Addr::from(u32::from(high) << 16 | u32::from(low)));
    if let Some(v4) = v6.to_ipv4_mapped() {
        return is_public_v4(v4);
    }
    match s[0] {
        0x64 if s[1] == 0xff9b && s[2..6] == [0, 0, 0, 0] => within(s[6], s[7]),
        0x2002 => within(s[1], s[2]),
        // Protocol assignments (RFC 2928) and documentation (RFC 3849, RFC 9637).
        0x2001 if s[1] < 0x200 || s[1] == 0xdb8 => false,
        0x3fff if s[1] < 0x1000 => false,
        // Only 2000::/3 is handed out for the internet at large (RFC 4291, 2.4, and IANA's registry of it).
        first => first & 0xe000 == 0x2000,
    }
}

/// Why an address is not asked.
#[derive(Debug, thiserror::Error)]
#[error("it leads to a private address, which this program was not told to allow")]
pub struct Private;

/// Looks names up, and gives private addresses only where they are allowed.
///
/// The check stands where the connection takes its address from, so that a name can't answer differently in between.
#[derive(Clone, Copy, Debug)]
pub struct Guard {
    /// Whether private addresses may be asked.
    pub inside: bool,
}

impl Guard {
    /// Whether an address written into a URL as such may be asked: no name is looked up for it.
    pub fn allows(self, url: &Url) -> bool {
        let host = url.host_str().unwrap_or_default().trim_matches(['[', ']']);
        self.inside || host.parse().is_ok_and(is_public) || host.parse::<IpAddr>().is_err()
    }
}

impl Resolve for Guard {
    fn resolve(&self, name: Name) -> Resolving {
        let inside = self.inside;
        Box::pin(async move {
            let found = tokio::net::lookup_host((name.as_str(), 0)).await?;
            let allowed: Vec<SocketAddr> = found.filter(|at| inside || is_public(at.ip())).collect();
            if allowed.is_empty() { Err(Private.into()) } else { Ok(Box::new(allowed.into_iter()) as Addrs) }
        })
    }
}
