//! What was begun at the door and waits for its end, for minutes: a sign-in whose second step is to come, a question put to an
//! authenticator; and links by which somebody who can't get in any more sets a new passphrase.
use jiff::{Timestamp, ToSpan as _};
use serde_json::json;
use sqlx::FromRow;

use crate::store::columns::{Instant, string_enum};
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{Error, PersonId};

string_enum! {
    /// What was begun.
    HalfWay {
        /// A sign-in whose passphrase was right.
        SecondStep = "second step",
        /// An authenticator was asked to prove a passkey.
        PasskeyAsked = "passkey asked",
        /// An authenticator was asked to make a passkey.
        PasskeyMade = "passkey made",
    }
}

/// What was begun, and what going on with it needs.
#[derive(Clone, Debug, FromRow)]
pub struct Begun {
    /// Whose it is; `None` where an authenticator is to say so.
    pub person_id: Option<PersonId>,
    /// What going on needs.
    pub state: String,
}

/// A link by which somebody sets a new passphrase.
#[derive(Clone, Debug, FromRow)]
pub struct LetInLink {
    /// Whom it lets in.
    pub person_id: PersonId,
    /// Their name.
    pub name: String,
    /// Whether it takes their second factors off, too.
    pub forget_factors: bool,
}

/// How long something may stay half done.
pub const MINUTES: i64 = 10;
/// Codes tried in one half-way sign-in; then it begins with the passphrase again.
pub const TRIES: i64 = 5;
/// Most that may be half done at once: begun by anybody, it must not fill the disk.
const MOST: i64 = 10_000;
/// How long a link to a new passphrase works.
pub const LINK_MINUTES: i64 = 30;

impl Read {
    /// What was begun with this secret, unless it ran out, was ended, or its person left.
    pub async fn half_way(
        &mut self,
        token_hash: &str,
        kind: HalfWay,
        now: Timestamp,
    ) -> Result<Option<Begun>, Error> {
        sql!(
            opt Begun, self,
            "SELECT h.person_id, h.state FROM half_way h LEFT JOIN person p ON p.id = h.person_id
             WHERE h.token_hash = $1 AND h.kind = $2 AND h.expires_at > $3 AND p.left_at IS NULL",
            token_hash.to_owned(), kind, Instant(now)
        )
    }

    /// Whom this link lets in, if it still works.
    pub async fn let_in_link(
        &mut self,
        token_hash: &str,
        now: Timestamp,
    ) -> Result<Option<LetInLink>, Error> {
        sql!(
            opt LetInLink, self,
            "SELECT l.person_id, p.name, l.forget_factors FROM let_in_link l JOIN person p ON p.id = l.person_id
             WHERE l.token_hash = $1 AND l.expires_at > $2 AND p.left_at IS NULL AND p.role <> 'weaver'",
            token_hash.to_owned(), Instant(now)
        )
    }

    /// When the session began; `None` when there is no such one.
    pub async fn session_began(&mut self, token_hash: &str) -> Result<Option<Timestamp>, Error> {
        let row = sql!(
            opt(Instant,),
            self,
            "SELECT made_at FROM session WHERE token_hash = $1",
            token_hash.to_owned()
        )?;
        Ok(row.map(|(at,)| at.0))
    }
}

impl Write {
    /// Keeps what was begun for some minutes, and clears away what ran out; `false` when too much is half done already.
    pub async fn begin(
        &mut self,
        token_hash: &str,
        kind: HalfWay,
        person: Option<PersonId>,
        state: &str,
    ) -> Result<bool, Error> {
        let at = self.now();
        let ends = Instant(at.0.saturating_add(MINUTES.minutes()).unwrap_or(at.0));
        self.skip_audit();
        sql!(exec self, "DELETE FROM half_way WHERE expires_at <= $1", at)?;
        // What a passphrase or a session stands behind is let through; what anybody may begin is counted.
        if person.is_none()
            && sql!(val i64, self, "SELECT COUNT(*) FROM half_way WHERE person_id IS NULL")? >= MOST
        {
            return Ok(false);
        }
        sql!(
            exec self,
            "INSERT INTO half_way (token_hash, kind, person_id, state, expires_at) VALUES ($1, $2, $3, $4, $5)",
            token_hash.to_owned(), kind, person, state.to_owned(), ends
        )?;
        Ok(true)
    }

    /// Counts a try before it is looked at; `false` when there were enough of them.
    pub async fn count_step(&mut self, token_hash: &str) -> Result<bool, Error> {
        self.skip_audit();
        Ok(sql!(
            exec self,
            "UPDATE half_way SET tries = tries + 1 WHERE token_hash = $1 AND tries < $2", token_hash.to_owned(), TRIES
        )? == 1)
    }

    /// Ends what was begun; `false` when it was ended before.
    pub async fn end(&mut self, token_hash: &str) -> Result<bool, Error> {
        self.skip_audit();
        Ok(sql!(exec self, "DELETE FROM half_way WHERE token_hash = $1", token_hash.to_owned())? == 1)
    }

    /// Makes a link by which somebody sets a new passphrase; an earlier one stops working.
    pub async fn make_let_in_link(
        &mut self,
        token_hash: &str,
        person: PersonId,
        forget_factors: bool,
    ) -> Result<(), Error> {
        let at = self.now();
        let ends = Instant(at.0.saturating_add(LINK_MINUTES.minutes()).unwrap_or(at.0));
        sql!(
            exec self,
            "INSERT INTO let_in_link (token_hash, person_id, forget_factors, made_at, expires_at)
             VALUES ($1, $2, $3, $4, $5)
             ON CONFLICT (person_id) DO UPDATE SET token_hash = excluded.token_hash,
                 forget_factors = excluded.forget_factors, made_at = excluded.made_at, expires_at = excluded.expires_at",
            token_hash.to_owned(), person, forget_factors, at, ends
        )?;
        let detail = json!({ "takes_second_factor_off": forget_factors });
        self.audit_log(EntityKind::Person, person, "link to a new passphrase made", detail).await
    }

    /// Uses a link to a new passphrase up; `false` when it was used before.
    pub async fn use_let_in_link(&mut self, token_hash: &str) -> Result<bool, Error> {
        let at = self.now();
        Ok(sql!(
            exec self,
            "DELETE FROM let_in_link WHERE token_hash = $1 AND expires_at > $2", token_hash.to_owned(), at
        )? == 1)
    }
}
