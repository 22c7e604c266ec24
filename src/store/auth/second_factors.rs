//! What instructors and volunteers have beside their passphrase: passkeys, one-time codes, recovery codes. Sign-ins that wait
//! for one of them are in [`super::half_way`].
use serde_json::json;
use sqlx::FromRow;

use crate::store::columns::Instant;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{Error, PasskeyId, PersonId};

/// A passkey, as its owner sees it.
#[derive(Clone, Debug, FromRow)]
pub struct Passkey {
    /// Its own.
    pub id: PasskeyId,
    /// Whose it is.
    pub person_id: PersonId,
    /// What its owner calls it.
    pub name: String,
    /// Public key and counter, as JSON.
    pub credential: String,
    /// When it was added.
    pub made_at: Instant,
    /// When it last opened a sign-in.
    pub used_at: Option<Instant>,
}

/// The secret shared with somebody's app.
#[derive(Clone, Debug, FromRow)]
pub struct OneTimeCode {
    /// Base32.
    pub secret: String,
    /// When a first code came from the app; `None`: none did yet, and codes open nothing.
    pub confirmed_at: Option<Instant>,
    /// Wrong codes since the last sign-in that was completed.
    pub failures: i64,
}

impl OneTimeCode {
    /// Whether too many wrong codes came in a row for any to be taken.
    pub fn is_closed(&self) -> bool {
        self.failures >= MOST_FAILURES
    }
}

/// What second factors somebody has.
#[derive(Clone, Copy, Debug, FromRow)]
pub struct Factors {
    /// How many passkeys.
    pub passkeys: i64,
    /// Whether an app makes codes for them: 1 or 0.
    pub codes: i64,
    /// How many recovery codes are left.
    pub recovery_codes: i64,
}

impl Factors {
    /// Whether signing in takes a second step.
    pub fn any(self) -> bool {
        self.passkeys > 0 || self.codes > 0
    }
}

/// Wrong codes in a row after which no code is taken any more: NIST SP 800-63B-4, 3.2.2. With three steps of time open at once
/// somebody who guesses gets in with a chance of 3 in 10,000.
pub const MOST_FAILURES: i64 = 100;

impl Read {
    /// What second factors somebody has.
    pub async fn factors(&mut self, person: PersonId) -> Result<Factors, Error> {
        sql!(
            one Factors, self,
            "SELECT (SELECT COUNT(*) FROM passkey k WHERE k.person_id = $1) AS passkeys,
                    (SELECT COUNT(*) FROM one_time_code c
                     WHERE c.person_id = $1 AND c.confirmed_at IS NOT NULL) AS codes,
                    (SELECT COUNT(*) FROM recovery_code r
                     WHERE r.person_id = $1 AND r.used_at IS NULL) AS recovery_codes",
            person
        )
    }

    /// Somebody's passkeys, the oldest first.
    pub async fn passkeys(&mut self, person: PersonId) -> Result<Vec<Passkey>, Error> {
        sql!(
            all Passkey, self,
            "SELECT id, person_id, name, credential, made_at, used_at FROM passkey WHERE person_id = $1 ORDER BY id",
            person
        )
    }

    /// The passkey that an authenticator calls so, of somebody who is here.
    pub async fn passkey_by_credential(&mut self, credential_id: &str) -> Result<Option<Passkey>, Error> {
        sql!(
            opt Passkey, self,
            "SELECT k.id, k.person_id, k.name, k.credential, k.made_at, k.used_at
             FROM passkey k JOIN person p ON p.id = k.person_id
             WHERE k.credential_id = $1 AND p.left_at IS NULL AND p.role <> 'weaver'",
            credential_id.to_owned()
        )
    }

    /// The secret that somebody's app has.
    pub async fn one_time_code(&mut self, person: PersonId) -> Result<Option<OneTimeCode>, Error> {
        sql!(
            opt OneTimeCode, self,
            "SELECT secret, confirmed_at, failures FROM one_time_code WHERE person_id = $1",
            person
        )
    }
}

impl Write {
    /// Locks a person's row, so that what is decided about their factors is decided one after the other.
    pub async fn lock_person(&mut self, person: PersonId) -> Result<(), Error> {
        sql!(exec self, "UPDATE person SET revision = revision WHERE id = $1", person)?;
        Ok(())
    }

    /// Adds a passkey. One that is somebody's already breaks `u_passkey__credential_id`.
    pub async fn add_passkey(
        &mut self,
        person: PersonId,
        name: &str,
        credential_id: &str,
        credential: &str,
    ) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO passkey (id, person_id, name, credential_id, credential, made_at) VALUES ($1, $2, $3, $4, $5, $6)",
            PasskeyId::new(), person, name.to_owned(), credential_id.to_owned(), credential.to_owned(), at
        )?;
        self.audit_log(EntityKind::Person, person, "passkey added", json!({ "passkey": name })).await
    }

    /// Takes one of somebody's passkeys away; `false` when they have no such one.
    pub async fn remove_passkey(&mut self, person: PersonId, id: PasskeyId) -> Result<bool, Error> {
        let name = sql!(
            opt(String,),
            self,
            "SELECT name FROM passkey WHERE id = $1 AND person_id = $2",
            id,
            person
        )?;
        let rows = sql!(exec self, "DELETE FROM passkey WHERE id = $1 AND person_id = $2", id, person)?;
        let Some((name,)) = name.filter(|_| rows == 1) else { return Ok(false) };
        self.drop_recovery_codes_of_nothing(person).await?;
        self.audit_log(EntityKind::Person, person, "passkey removed", json!({ "passkey": name })).await?;
        Ok(true)
    }

    /// Notes that a passkey opened a sign-in, with the counter it now stands at.
    pub async fn passkey_used(&mut self, id: PasskeyId, credential: &str) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "UPDATE passkey SET credential = $1, used_at = $2 WHERE id = $3", credential.to_owned(), at, id
        )?;
        Ok(())
    }

    /// Keeps a new secret for somebody's app until its first code confirms it; an earlier one that wasn't confirmed goes.
    /// `false` when they have a confirmed one: it stays until they take it off.
    pub async fn begin_one_time_codes(&mut self, person: PersonId, secret: &str) -> Result<bool, Error> {
        let at = self.now();
        self.skip_audit();
        Ok(sql!(
            exec self,
            "INSERT INTO one_time_code (person_id, secret, made_at) VALUES ($1, $2, $3)
             ON CONFLICT (person_id) DO UPDATE SET secret = excluded.secret, made_at = excluded.made_at,
                 last_step = 0, failures = 0
             WHERE one_time_code.confirmed_at IS NULL",
            person, secret.to_owned(), at
        )? == 1)
    }

    /// The app has the secret: from now on its codes are asked for. `false` when it was confirmed before, or is another one.
    pub async fn confirm_one_time_codes(
        &mut self,
        person: PersonId,
        secret: &str,
        step: i64,
    ) -> Result<bool, Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE one_time_code SET confirmed_at = $1, last_step = $2, failures = 0
             WHERE person_id = $3 AND confirmed_at IS NULL AND secret = $4",
            at, step, person, secret.to_owned()
        )?;
        if rows == 0 {
            return Ok(false);
        }
        self.audit_log(EntityKind::Person, person, "one-time codes set up", json!({})).await?;
        Ok(true)
    }

    /// Takes the one-time codes off; `false` when there are none.
    pub async fn remove_one_time_codes(&mut self, person: PersonId) -> Result<bool, Error> {
        let rows = sql!(exec self, "DELETE FROM one_time_code WHERE person_id = $1", person)?;
        if rows == 0 {
            return Ok(false);
        }
        self.drop_recovery_codes_of_nothing(person).await?;
        self.audit_log(EntityKind::Person, person, "one-time codes taken off", json!({})).await?;
        Ok(true)
    }

    /// Counts a try of a one-time code before it is looked at; `false` when there were too many wrong ones in a row.
    pub async fn count_code_try(&mut self, person: PersonId) -> Result<bool, Error> {
        self.skip_audit();
        Ok(sql!(
            exec self,
            "UPDATE one_time_code SET failures = failures + 1
             WHERE person_id = $1 AND confirmed_at IS NOT NULL AND failures < $2",
            person, MOST_FAILURES
        )? == 1)
    }

    /// Uses the code of a time step up; `false` when it or a later one was used before.
    pub async fn use_code_step(&mut self, person: PersonId, step: i64) -> Result<bool, Error> {
        Ok(sql!(
            exec self,
            "UPDATE one_time_code SET last_step = $1 WHERE person_id = $2 AND last_step < $1 AND confirmed_at IS NOT NULL",
            step, person
        )? == 1)
    }

    /// A sign-in was completed: wrong codes before it are forgotten.
    pub async fn forgive_code_tries(&mut self, person: PersonId) -> Result<(), Error> {
        sql!(exec self, "UPDATE one_time_code SET failures = 0 WHERE person_id = $1 AND failures > 0", person)?;
        Ok(())
    }

    /// Puts new recovery codes in the place of all earlier ones.
    pub async fn replace_recovery_codes(&mut self, person: PersonId, hashes: &[String]) -> Result<(), Error> {
        let at = self.now();
        sql!(exec self, "DELETE FROM recovery_code WHERE person_id = $1", person)?;
        for hash in hashes {
            sql!(
                exec self,
                "INSERT INTO recovery_code (code_hash, person_id, made_at) VALUES ($1, $2, $3)",
                hash.clone(), person, at
            )?;
        }
        self.audit_log(EntityKind::Person, person, "recovery codes made", json!({ "codes": hashes.len() }))
            .await
    }

    /// Uses a recovery code up; `false` when it isn't one of theirs, or was used before.
    pub async fn use_recovery_code(&mut self, person: PersonId, hash: &str) -> Result<bool, Error> {
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE recovery_code SET used_at = $1 WHERE code_hash = $2 AND person_id = $3 AND used_at IS NULL",
            at, hash.to_owned(), person
        )?;
        if rows == 0 {
            return Ok(false);
        }
        self.audit_log(EntityKind::Person, person, "recovery code used", json!({})).await?;
        Ok(true)
    }

    /// Takes every second factor off somebody who lost theirs, and ends their sessions.
    pub async fn take_off_factors(&mut self, person: PersonId) -> Result<(), Error> {
        self.forget_factors(person).await?;
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", person)?;
        self.audit_log(EntityKind::Person, person, "second factor taken off", json!({})).await
    }

    /// Every second factor of a person goes, and what they began and didn't end.
    pub(in crate::store) async fn forget_factors(&mut self, person: PersonId) -> Result<(), Error> {
        sql!(exec self, "DELETE FROM passkey WHERE person_id = $1", person)?;
        sql!(exec self, "DELETE FROM one_time_code WHERE person_id = $1", person)?;
        sql!(exec self, "DELETE FROM recovery_code WHERE person_id = $1", person)?;
        sql!(exec self, "DELETE FROM half_way WHERE person_id = $1", person)?;
        sql!(exec self, "DELETE FROM let_in_link WHERE person_id = $1", person)?;
        Ok(())
    }

    /// Recovery codes stand in for a factor; with the last factor they go.
    async fn drop_recovery_codes_of_nothing(&mut self, person: PersonId) -> Result<(), Error> {
        if !self.factors(person).await?.any() {
            sql!(exec self, "DELETE FROM recovery_code WHERE person_id = $1", person)?;
        }
        Ok(())
    }
}
