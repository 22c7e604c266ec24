//! Signatures, and whom nobody may be made to ask.
use jiff::Timestamp;
use thrumhall::notify::{is_public, sign};

/// Source: the reference libraries of the Standard Webhooks specification, which share this vector.
#[test]
fn a_signature_is_that_of_the_specification() {
    let at = Timestamp::from_second(1_614_265_330).unwrap();
    let signed = sign(
        "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw",
        "msg_p5jXN8AQM9LWM0D4loKWxJek",
        at,
        r#"{"test": 2432232314}"#,
    );
    assert_eq!(signed.unwrap(), "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
    for bad in ["", "whsec_", "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", "whsec_not base64"] {
        assert!(sign(bad, "id", at, "{}").is_err(), "{bad:?}");
    }
}

/// Source: IANA, IPv4 and IPv6 Special-Purpose Address Registries (RFC 6890), an address of each entry that is not
/// globally reachable; and some that are.
#[test]
fn private_addresses_are_told_from_public_ones() {
    let private = [
        "0.0.0.0",
        "0.1.2.3",
        "10.0.0.1",
        "100.64.0.1",
        "100.127.255.255",
        "127.0.0.1",
        "127.9.9.9",
        "169.254.169.254",
        "172.16.0.1",
        "172.31.255.255",
        "192.0.0.8",
        "192.0.2.1",
        "192.88.99.1",
        "192.168.1.1",
        "198.18.0.1",
        "198.19.255.255",
        "198.51.100.7",
        "203.0.113.9",
        "224.0.0.1",
        "240.0.0.1",
        "255.255.255.255",
        "::",
        "::1",
        "::ffff:127.0.0.1",
        "::ffff:10.0.0.1",
        "64:ff9b::7f00:1",
        "64:ff9b:1::1",
        "100::1",
        "2001::1",
        "2001:2::1",
        "2001:db8::1",
        "2002:7f00:1::",
        "2002:c0a8:101::1",
        "3fff::1",
        "5f00::1",
        "fc00::1",
        "fd12:3456::1",
        "fe80::1",
        "ff02::1",
        "::127.0.0.1",
    ];
    for address in private {
        assert!(!is_public(address.parse().unwrap()), "{address}");
    }
    let public = [
        "1.1.1.1",
        "100.63.255.255",
        "100.128.0.1",
        "172.15.0.1",
        "172.32.0.1",
        "192.0.1.1",
        "198.17.0.1",
        "198.20.0.1",
        "223.255.255.255",
        "2606:4700::1",
        "2001:4860::8888",
        "2a00::1",
        "::ffff:1.1.1.1",
        "64:ff9b::101:101",
    ];
    for address in public {
        assert!(is_public(address.parse().unwrap()), "{address}");
    }
}
