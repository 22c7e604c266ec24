//! The ways in: passphrases, tries at them, second steps, and from where somebody comes.
pub(in crate::web) mod client_address;
pub(in crate::web) mod entering;
pub(in crate::web) mod half_way;
pub(in crate::web) mod hashing;
pub(in crate::web) mod passphrase;
pub(in crate::web) mod relying_party;
pub(in crate::web) mod strength;
pub(in crate::web) mod tries;
