//! Notices: what happened that somebody must be told, to whom it goes, and how each delivery went. A notice is written in
//! the change that brings it about, so that neither is ever there without the other; sending is in `notify`.
mod by_hand;
mod deliveries;
mod pending_events;
pub mod receivers;

pub use by_hand::Untold;

use jiff::{Timestamp, civil};
use serde::{Deserialize, Serialize};
use serde_json::json;
use sqlx::FromRow;

use super::columns::{Instant, json_column, string_enum};
use super::tx::{EntityKind, Read, Write, sql};
use super::{DeliveryId, Error, NoticeId, PersonId, ReceiverId};

/// What somebody is to be told. Days and times are on the workroom's clock.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Event {
    /// A frame should be back and isn't.
    Overdue {
        /// The frame's tag.
        frame: String,
        /// The rug on it.
        rug: String,
        /// Who has it.
        weaver: String,
        /// When it was due.
        due: civil::Date,
    },
    /// A meeting won't take place.
    CalledOff {
        /// The term's name.
        term: String,
        /// The day.
        day: civil::Date,
        /// When it would have begun.
        starts: civil::Time,
    },
    /// A meeting that was called off takes place after all.
    OnAgain {
        /// The term's name.
        term: String,
        /// The day.
        day: civil::Date,
        /// When it begins.
        starts: civil::Time,
    },
    /// A weaver's turn with a frame comes.
    YourTurn {
        /// The frame's tag.
        frame: String,
        /// The rug it is for.
        rug: String,
        /// Whose turn.
        weaver: String,
        /// The day it is handed out.
        day: civil::Date,
        /// When that meeting begins.
        starts: civil::Time,
        /// The day it is to come back.
        until: civil::Date,
    },
    /// A place in a term that was full is somebody's who waited for it.
    PlaceFree {
        /// The term's name.
        term: String,
        /// Whose place it is.
        weaver: String,
    },
    /// A frame is to come back soon. Told by people alone, as those that follow.
    DueSoon {
        /// The frame's tag.
        frame: String,
        /// The rug on it.
        rug: String,
        /// Who has it.
        weaver: String,
        /// When it is due.
        due: civil::Date,
    },
    /// A colour may not last for a rug.
    ClothShort {
        /// The rug.
        rug: String,
        /// Whose it is.
        weaver: String,
        /// The colour's name.
        colour: String,
    },
    /// A rug may not be finished by the last meeting.
    MayNotFinish {
        /// The rug.
        rug: String,
        /// Whose it is.
        weaver: String,
    },
    /// Nothing: somebody tries a receiver out.
    Trial,
}

json_column!(Event);

string_enum! {
    /// How far a delivery is.
    DeliveryState {
        /// It is tried until it arrives or has been tried for days.
        Waiting = "waiting",
        /// The receiver has it.
        Sent = "sent",
        /// It was tried for days.
        GivenUp = "given up",
        /// Somebody told them instead.
        Told = "told",
    }
}

/// A program that is told.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct Receiver {
    /// Its id.
    pub id: ReceiverId,
    /// What the instructors call it.
    pub name: String,
    /// Where it listens.
    pub url: String,
    /// What its messages are signed with.
    pub secret: String,
    /// Whether it is told how to reach the people concerned.
    pub contacts: bool,
    /// Whether it is told nothing for now.
    pub paused: bool,
    /// Rises with each change.
    pub revision: i64,
}

/// A notice, on its page.
#[derive(Clone, Debug, FromRow)]
pub struct Notice {
    /// Its id.
    pub id: NoticeId,
    /// When it came about.
    pub at: Instant,
    /// What happened.
    pub event: Event,
    /// Whether its deliveries were made.
    pub shared: bool,
}

/// One notice on its way to one receiver or person.
#[derive(Clone, Debug, FromRow)]
pub struct Delivery {
    /// Its id.
    pub id: DeliveryId,
    /// The notice.
    pub notice_id: NoticeId,
    /// The receiver's name, or the person's.
    pub to_name: String,
    /// Whether it goes by mail.
    pub by_mail: bool,
    /// How far it is.
    pub state: DeliveryState,
    /// How often it was tried.
    pub attempts: i64,
    /// When it is tried next.
    pub next_at: Instant,
    /// How the last attempt went.
    pub answer: String,
    /// When that was.
    pub tried_at: Option<Instant>,
    /// Whether the receiver was removed, so that nothing can be sent to it any more.
    pub gone: bool,
}

/// A delivery that is to be tried now, with all that its message needs.
#[derive(Clone, Debug, FromRow)]
pub struct Due {
    /// Its id.
    pub id: DeliveryId,
    /// The notice.
    pub notice_id: NoticeId,
    /// When that came about.
    pub at: Instant,
    /// What happened.
    pub event: Event,
    /// The receiver; `None` where it goes by mail.
    pub receiver_id: Option<ReceiverId>,
    /// Where the receiver listens.
    pub url: Option<String>,
    /// What its messages are signed with.
    pub secret: Option<String>,
    /// Whether it is told how to reach people.
    pub contacts: Option<bool>,
    /// Who is written to, where it goes by mail.
    pub person: Option<String>,
    /// What is known of how to reach them.
    pub contact: Option<String>,
    /// How often it was tried before.
    pub attempts: i64,
    /// When it was to be tried: the process that takes it up names this, and moves it.
    pub next_at: Instant,
}

/// Somebody whom a notice concerns.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct Recipient {
    /// The notice.
    pub notice_id: NoticeId,
    /// Who.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
    /// How to reach them.
    pub contact: String,
}

/// Something to be told, what makes it the same event, and whom it concerns.
pub type PendingEvent = (String, Event, Vec<PersonId>);

impl Read {
    /// The receivers, by name, those removed left out.
    pub async fn receivers(&mut self) -> Result<Vec<Receiver>, Error> {
        sql!(
            all Receiver, self,
            "SELECT id, name, url, secret, contacts, paused, revision FROM receiver WHERE removed_at IS NULL
             ORDER BY lower(name), id"
        )
    }

    /// One receiver that is not removed.
    pub async fn receiver(&mut self, id: ReceiverId) -> Result<Option<Receiver>, Error> {
        sql!(
            opt Receiver, self,
            "SELECT id, name, url, secret, contacts, paused, revision FROM receiver WHERE id = $1 AND removed_at IS NULL",
            id
        )
    }

    /// The notices, the newest first.
    pub async fn notices(&mut self, limit: i64) -> Result<Vec<Notice>, Error> {
        sql!(
            all Notice, self,
            "SELECT id, at, happening AS event, shared FROM notice ORDER BY at DESC, id DESC LIMIT $1", limit
        )
    }

    /// The deliveries of the newest notices, of each notice by name.
    pub async fn deliveries(&mut self, limit: i64) -> Result<Vec<Delivery>, Error> {
        sql!(
            all Delivery, self,
            "SELECT d.id, d.notice_id, COALESCE(r.name, p.name) AS to_name, d.person_id IS NOT NULL AS by_mail, d.state,
                 d.attempts, d.next_at, d.answer, d.tried_at, r.removed_at IS NOT NULL AS gone
             FROM delivery d LEFT JOIN receiver r ON r.id = d.receiver_id LEFT JOIN person p ON p.id = d.person_id
             WHERE d.notice_id IN (SELECT n.id FROM notice n ORDER BY n.at DESC, n.id DESC LIMIT $1)
             ORDER BY d.notice_id, COALESCE(r.name, p.name), d.id",
            limit
        )
    }

    /// The notices that nobody was made a delivery for yet, the oldest first.
    pub async fn unshared(&mut self) -> Result<Vec<Notice>, Error> {
        sql!(
            all Notice, self,
            "SELECT id, at, happening AS event, shared FROM notice WHERE NOT shared ORDER BY id"
        )
    }

    /// Whom each of the notices that are not shared yet, or are on their way, concerns.
    pub async fn recipients(&mut self) -> Result<Vec<Recipient>, Error> {
        sql!(
            all Recipient, self,
            "SELECT c.notice_id, c.person_id, p.name, p.contact FROM notice_person c JOIN person p ON p.id = c.person_id
             JOIN notice n ON n.id = c.notice_id
             WHERE NOT n.shared OR EXISTS (SELECT 1 FROM delivery d WHERE d.notice_id = n.id AND d.state = 'waiting')
             ORDER BY p.name_key, p.id"
        )
    }

    /// The deliveries that are to be tried by now, the oldest first, so many of each receiver at most and so many mails. A paused
    /// receiver's wait.
    pub async fn deliveries_due(&mut self, now: Instant, limit: i64) -> Result<Vec<Due>, Error> {
        sql!(
            all Due, self,
            "SELECT d.id, d.notice_id, n.at, n.happening AS event, d.receiver_id, r.url, r.secret, r.contacts, p.name AS person,
                 p.contact, d.attempts, d.next_at
             FROM (SELECT w.*, ROW_NUMBER() OVER (PARTITION BY w.receiver_id ORDER BY w.next_at, w.id) AS place
                     FROM delivery w WHERE w.state = 'waiting' AND w.next_at <= $1) d
             JOIN notice n ON n.id = d.notice_id LEFT JOIN receiver r ON r.id = d.receiver_id
             LEFT JOIN person p ON p.id = d.person_id
             WHERE d.place <= $2 AND (r.id IS NULL OR (NOT r.paused AND r.removed_at IS NULL))
             ORDER BY d.next_at, d.id",
            now, limit
        )
    }
}

impl Write {
    /// Writes a notice, once, and gives whether it did: nothing happens when the same event was told before.
    pub async fn enqueue(&mut self, (about, event, people): &PendingEvent) -> Result<bool, Error> {
        let (id, at) = (NoticeId::new(), self.now());
        let rows = sql!(
            exec self,
            "INSERT INTO notice (id, about, at, happening) VALUES ($1, $2, $3, $4) ON CONFLICT (about) DO NOTHING",
            id, about.clone(), at, event.clone()
        )?;
        if rows == 0 {
            return Ok(false);
        }
        // All of them by one statement: an id is in a text that holds it, since none is part of another.
        let named: String = people.iter().map(PersonId::to_string).collect::<Vec<_>>().join(" ");
        sql!(
            exec self,
            "INSERT INTO notice_person (notice_id, person_id)
             SELECT CAST($1 AS TEXT), p.id FROM person p WHERE CAST($2 AS TEXT) LIKE '%' || p.id || '%'",
            id, named
        )?;
        Ok(true)
    }

    /// Makes a notice's deliveries: to every receiver there is, and by mail to these people. Nothing happens when they were
    /// made before.
    pub async fn share(&mut self, notice: NoticeId, by_mail: &[PersonId]) -> Result<(), Error> {
        self.skip_audit();
        let at = self.now();
        let rows =
            sql!(exec self, "UPDATE notice SET shared = $2 WHERE id = $1 AND NOT shared", notice, true)?;
        if rows == 0 {
            return Ok(());
        }
        let receivers = sql!(
            all(ReceiverId,),
            self,
            "SELECT id FROM receiver WHERE removed_at IS NULL AND NOT paused ORDER BY id"
        )?;
        for (receiver,) in receivers {
            self.deliver(notice, Some(receiver), None, at.0).await?;
        }
        for person in by_mail {
            self.deliver(notice, None, Some(*person), at.0).await?;
        }
        Ok(())
    }

    /// Makes one delivery, to be tried at once.
    async fn deliver(
        &mut self,
        notice: NoticeId,
        receiver: Option<ReceiverId>,
        person: Option<PersonId>,
        at: Timestamp,
    ) -> Result<(), Error> {
        sql!(
            exec self,
            "INSERT INTO delivery (id, notice_id, receiver_id, person_id, state, next_at) VALUES ($1, $2, $3, $4, $5, $6)
             ON CONFLICT DO NOTHING",
            DeliveryId::new(), notice, receiver, person, DeliveryState::Waiting, Instant(at)
        )?;
        Ok(())
    }

    /// Writes a notice that tries one receiver out, for it alone.
    pub async fn try_receiver(&mut self, receiver: ReceiverId) -> Result<(), Error> {
        let (id, at) = (NoticeId::new(), self.now());
        sql!(
            exec self,
            "INSERT INTO notice (id, about, at, happening, shared) VALUES ($1, $2, $3, $4, $5)",
            id, format!("trial:{id}"), at, Event::Trial, true
        )?;
        self.deliver(id, Some(receiver), None, at.0).await?;
        self.audit_log(EntityKind::Receiver, receiver, "tried", json!({})).await
    }
}
