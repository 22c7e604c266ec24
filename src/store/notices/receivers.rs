//! Receivers of notices: adding, changing, a new secret, removing. What they are sent is in [`crate::store::notices`].
use serde_json::json;

use crate::store::tx::{EntityKind, Write, check_revision, sql};
use crate::store::{Error, ReceiverId};

/// What can be said of a receiver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiverFields {
    /// What the instructors call it.
    pub name: String,
    /// Where it listens.
    pub url: String,
    /// Whether it is told how to reach the people concerned.
    pub contacts: bool,
    /// Whether it is told nothing for now.
    pub paused: bool,
}

impl Write {
    /// Adds a receiver.
    pub async fn add_receiver(
        &mut self,
        id: ReceiverId,
        fields: &ReceiverFields,
        secret: &str,
    ) -> Result<(), Error> {
        let (f, at) = (fields.clone(), self.now());
        let detail = json!({ "name": f.name, "contacts": f.contacts });
        sql!(
            exec self,
            "INSERT INTO receiver (id, name, url, secret, contacts, paused, made_at) VALUES ($1, $2, $3, $4, $5, $6, $7)",
            id, f.name, f.url, secret.to_owned(), f.contacts, f.paused, at
        )?;
        self.audit_log(EntityKind::Receiver, id, "added", detail).await
    }

    /// Changes a receiver, if nobody else did since `revision`.
    pub async fn change_receiver(
        &mut self,
        id: ReceiverId,
        revision: i64,
        fields: &ReceiverFields,
    ) -> Result<(), Error> {
        let f = fields.clone();
        let detail = json!({ "name": f.name, "contacts": f.contacts, "paused": f.paused });
        let rows = sql!(
            exec self,
            "UPDATE receiver SET name = $3, url = $4, contacts = $5, paused = $6, revision = revision + 1
             WHERE id = $1 AND revision = $2 AND removed_at IS NULL",
            id, revision, f.name, f.url, f.contacts, f.paused
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Receiver, id, "changed", detail).await
    }

    /// Gives a receiver another secret; messages signed with the old one stop at once.
    pub async fn renew_secret(&mut self, id: ReceiverId, secret: &str) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE receiver SET secret = $2, revision = revision + 1 WHERE id = $1 AND removed_at IS NULL",
            id, secret.to_owned()
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Receiver, id, "secret renewed", json!({})).await
    }

    /// Gives a new secret to each receiver whose own is lost, as after a restore, and pauses it until somebody has told it.
    pub(crate) async fn renew_lost_secrets(&mut self, secret: impl Fn() -> String) -> Result<(), Error> {
        let lost =
            sql!(all(ReceiverId,), self, "SELECT id FROM receiver WHERE secret = '' AND removed_at IS NULL")?;
        for (id,) in lost {
            sql!(
                exec self,
                "UPDATE receiver SET secret = $2, paused = TRUE, revision = revision + 1 WHERE id = $1",
                id, secret()
            )?;
            let detail = json!({ "paused": true });
            self.audit_log(EntityKind::Receiver, id, "secret renewed", detail).await?;
        }
        self.skip_audit();
        Ok(())
    }

    /// Removes a receiver: what still waits for it is given up, and what it was told stays in sight.
    pub async fn remove_receiver(&mut self, id: ReceiverId) -> Result<(), Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE receiver SET removed_at = $2, revision = revision + 1, secret = '' WHERE id = $1 AND removed_at IS NULL",
            id, at
        )?;
        check_revision(rows)?;
        sql!(
            exec self,
            "UPDATE delivery SET state = 'given up', answer = 'The receiver was removed.'
             WHERE receiver_id = $1 AND state = 'waiting'",
            id
        )?;
        self.audit_log(EntityKind::Receiver, id, "removed", json!({})).await
    }
}
