//! Deliveries on their way: taken up for an attempt, how it went, told in another way, sent once more.
use jiff::Timestamp;
use serde_json::json;

use super::{DeliveryState, Due};
use crate::store::columns::Instant;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{DeliveryId, Error, PersonId, ReceiverId};

impl Read {
    /// How many deliveries wait.
    pub async fn deliveries_waiting(&mut self) -> Result<i64, Error> {
        sql!(val i64, self, "SELECT COUNT(*) FROM delivery WHERE state = 'waiting'")
    }
}

impl Write {
    /// Takes a delivery up for an attempt, unless somebody else did since it was read, or its receiver is paused or gone
    /// by now; until `lease` nobody else will. Gives it as it is at this moment: its secret may be another one since.
    /// A process that takes it up and then dies leaves it to the next.
    pub async fn claim(&mut self, due: &Due, lease: Timestamp) -> Result<Option<Due>, Error> {
        self.skip_audit();
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE delivery SET next_at = $3, attempts = attempts + 1, tried_at = $4
             WHERE id = $1 AND next_at = $2 AND state = 'waiting' AND (receiver_id IS NULL OR EXISTS (
                 SELECT 1 FROM receiver r WHERE r.id = receiver_id AND NOT r.paused AND r.removed_at IS NULL))",
            due.id, due.next_at, Instant(lease), at
        )?;
        if rows == 0 {
            return Ok(None);
        }
        sql!(
            opt Due, self,
            "SELECT d.id, d.notice_id, n.at, n.happening AS event, d.receiver_id, r.url, r.secret, r.contacts, p.name AS person,
                 p.contact, d.attempts - 1 AS attempts, d.next_at
             FROM delivery d JOIN notice n ON n.id = d.notice_id LEFT JOIN receiver r ON r.id = d.receiver_id
             LEFT JOIN person p ON p.id = d.person_id
             WHERE d.id = $1",
            due.id
        )
    }

    /// Keeps how the attempt that [`Write::claim`] gave as `due` went: it arrived, or it is tried again at `again`, or it
    /// is given up.
    pub async fn attempted(
        &mut self,
        due: &Due,
        state: DeliveryState,
        answer: &str,
        again: Timestamp,
    ) -> Result<(), Error> {
        self.skip_audit();
        // One that arrived has arrived, and one that somebody told is told, whatever a slower attempt says. An attempt that
        // failed says nothing once its lease ran out and another took it up, or its receiver was removed.
        sql!(
            exec self,
            "UPDATE delivery SET state = $2, answer = $3, next_at = $4
             WHERE id = $1 AND state NOT IN ('sent', 'told') AND ($6 OR (state = 'waiting' AND next_at = $5))",
            due.id, state, answer.to_owned(), Instant(again), due.next_at, state == DeliveryState::Sent
        )?;
        Ok(())
    }

    /// Records what was done about a delivery under whom it is to: a receiver, or a person by mail.
    async fn record_delivery(&mut self, id: DeliveryId, act: &'static str) -> Result<(), Error> {
        let to = sql!(
            opt(Option<ReceiverId>, Option<PersonId>),
            self,
            "SELECT receiver_id, person_id FROM delivery WHERE id = $1",
            id
        )?;
        match to {
            Some((Some(receiver), _)) => self.audit_log(EntityKind::Receiver, receiver, act, json!({})).await,
            Some((None, Some(person))) => self.audit_log(EntityKind::Person, person, act, json!({})).await,
            // There is no such delivery, so nothing was changed.
            _ => {
                self.skip_audit();
                Ok(())
            }
        }
    }

    /// Keeps that somebody told them, so that nothing is left to be done about a delivery that didn't arrive.
    pub async fn mark_handled(&mut self, id: DeliveryId) -> Result<(), Error> {
        sql!(
            exec self,
            "UPDATE delivery SET state = 'told' WHERE id = $1 AND state IN ('waiting', 'given up')", id
        )?;
        self.record_delivery(id, "told instead").await
    }

    /// Tries a delivery again that didn't arrive, under the id it had. Nothing happens when it arrived meanwhile.
    pub async fn send_again(&mut self, id: DeliveryId) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "UPDATE delivery SET state = 'waiting', next_at = $2, attempts = 0 WHERE id = $1 AND state <> 'sent'
                 AND NOT EXISTS (SELECT 1 FROM receiver r WHERE r.id = receiver_id AND r.removed_at IS NOT NULL)",
            id, at
        )?;
        self.record_delivery(id, "sent again").await
    }
}
