//! How this program asks others over the network: one way to a client, so that TLS is set up wherever one is made.
use reqwest::{Client, ClientBuilder};

/// A client to be built, with the cryptography that TLS uses named: two are known to the library, none is its default.
pub fn client() -> ClientBuilder {
    // Set once per process; a second caller finds it set.
    let _ = rustls::crypto::ring::default_provider().install_default();
    Client::builder().user_agent(concat!("Thrumhall/", env!("CARGO_PKG_VERSION")))
}
