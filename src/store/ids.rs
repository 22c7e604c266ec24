//! One type per kind of id, from one macro, so that a frame's id can't be handed to a question about a rug.
//! Ids are version 7 UUIDs (RFC 9562): they sort by the time they were made.

use sha2::{Digest as _, Sha256};

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub struct $name(uuid::Uuid);

        impl $name {
            /// A new id, never handed out before.
            #[allow(clippy::disallowed_methods, clippy::new_without_default, reason = "the one place that makes ids")]
            pub fn new() -> Self {
                Self(uuid::Uuid::now_v7())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.hyphenated().fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, uuid::Error> {
                uuid::Uuid::try_parse(text).map(Self)
            }
        }

        crate::store::columns::text_column!($name);
    )+};
}

ids! {
    /// A person: instructor, volunteer or weaver.
    PersonId,
    /// A frame in the inventory.
    FrameId,
    /// A size of edge rod, counted.
    RodId,
    /// A frame handed out once.
    LoanId,
    /// A weighed-in lot of cloth.
    BundleId,
    /// One entry of the cloth ledger.
    EntryId,
    /// A term.
    TermId,
    /// One meeting of a term.
    MeetingId,
    /// One weaver's rug.
    RugId,
    /// One entry of a rug's log.
    LogId,
    /// A share-out of cloth.
    ShareOutId,
    /// Cloth promised to a part of a rug.
    PromiseId,
    /// A stocktake of the shelf.
    StocktakeId,
    /// A notice: something that somebody is to be told.
    NoticeId,
    /// One notice on its way to one receiver or person.
    DeliveryId,
    /// A program that is told.
    ReceiverId,
    /// A tablet at the scale.
    TabletId,
    /// One backup, made or tried.
    BackupId,
    /// A passkey of somebody's.
    PasskeyId,
    /// One line of the record.
    ChangeId,
    /// A form's key: the same key twice is the same press of a button.
    RequestKey,
}

impl RequestKey {
    /// The key of the `n`th part of what this key stands for: always the same, so that the same list taken in twice
    /// makes the same keys, and the ledger refuses the second.
    #[must_use]
    pub fn part(self, n: u64) -> Self {
        let digest = Sha256::new().chain_update(self.0.as_bytes()).chain_update(n.to_be_bytes()).finalize();
        let mut bytes = [0_u8; 16];
        bytes.copy_from_slice(&digest[..16]);
        // Version 8 is for what is made in one's own way (RFC 9562, 5.8).
        Self(uuid::Builder::from_custom_bytes(bytes).into_uuid())
    }
}
