//! Notices that people tell one another: what nobody was told of yet, and that somebody told them.
use serde_json::json;
use sqlx::FromRow;

use super::{DeliveryState, Event};
use crate::store::columns::Instant;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{DeliveryId, Error, NoticeId, PersonId};

/// A notice of which somebody whom it concerns was told neither by mail nor by anybody.
#[derive(Clone, Debug, FromRow)]
pub struct Untold {
    /// What makes it the same event.
    pub about: String,
    /// What happened.
    pub event: Event,
    /// Whom it concerns.
    pub person_id: PersonId,
}

impl Read {
    /// The notices since a moment of which people who are here weren't told, the oldest first.
    pub async fn untold(&mut self, since: Instant) -> Result<Vec<Untold>, Error> {
        sql!(
            all Untold, self,
            "SELECT n.about, n.happening AS event, c.person_id
             FROM notice n JOIN notice_person c ON c.notice_id = n.id JOIN person p ON p.id = c.person_id
             WHERE n.at >= $1 AND p.left_at IS NULL AND NOT EXISTS (SELECT 1 FROM delivery d
                 WHERE d.notice_id = n.id AND d.person_id = c.person_id AND d.state IN ('sent', 'told'))
             ORDER BY n.at, n.id, c.person_id",
            since
        )
    }

    /// Who was told of what since a moment: what it was about, and who.
    pub async fn told_since(&mut self, since: Instant) -> Result<Vec<(String, PersonId)>, Error> {
        sql!(
            all(String, PersonId),
            self,
            "SELECT n.about, d.person_id FROM notice n JOIN delivery d ON d.notice_id = n.id
             WHERE n.at >= $1 AND d.person_id IS NOT NULL AND d.state IN ('sent', 'told')",
            since
        )
    }
}

impl Write {
    /// Keeps that somebody told a person of these, each an event and what makes it the same event. What only people tell is no
    /// matter of the receivers'.
    pub async fn told_by_hand(&mut self, person: PersonId, told: &[(String, Event)]) -> Result<(), Error> {
        if told.is_empty() {
            self.skip_audit();
            return Ok(());
        }
        let at = self.now();
        for (about, event) in told {
            let by_people = matches!(
                event,
                Event::DueSoon { .. } | Event::ClothShort { .. } | Event::MayNotFinish { .. }
            );
            sql!(
                exec self,
                "INSERT INTO notice (id, about, at, happening, shared) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (about) DO NOTHING",
                NoticeId::new(), about.clone(), at, event.clone(), by_people
            )?;
            let notice =
                sql!(one(NoticeId,), self, "SELECT id FROM notice WHERE about = $1", about.clone())?.0;
            sql!(
                exec self,
                "INSERT INTO notice_person (notice_id, person_id) VALUES ($1, $2) ON CONFLICT DO NOTHING",
                notice, person
            )?;
            sql!(
                exec self,
                "INSERT INTO delivery (id, notice_id, person_id, state, next_at) VALUES ($1, $2, $3, $4, $5)
                 ON CONFLICT (notice_id, person_id) WHERE person_id IS NOT NULL DO UPDATE SET state = 'told'",
                DeliveryId::new(), notice, person, DeliveryState::Told, at
            )?;
        }
        self.audit_log(EntityKind::Person, person, "told", json!({ "notices": told.len() })).await
    }
}
