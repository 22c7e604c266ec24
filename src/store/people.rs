//! People: instructors, volunteers, weavers. How they enter is in [`super::auth`].
use serde_json::json;
use sqlx::FromRow;

use super::columns::{Instant, string_enum};
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, PersonId};
use crate::units::Units;

string_enum! {
    /// What a person is here.
    Role {
        /// Assigns frames, plans the term, sees everything.
        Instructor = "instructor",
        /// Weighs in and finds cloth.
        Volunteer = "volunteer",
        /// Makes a rug.
        Weaver = "weaver",
    }
}

/// A person, without their secrets.
#[derive(Clone, Debug, FromRow)]
pub struct Person {
    /// Theirs alone.
    pub id: PersonId,
    /// As they write it.
    pub name: String,
    /// What they are here.
    pub role: Role,
    /// How to reach them; shown to instructors only.
    pub contact: String,
    /// Their own units, where they chose some.
    pub units: Option<Units>,
    /// When they left; `None` while they are here.
    pub left_at: Option<Instant>,
    /// Rises with each change.
    pub revision: i64,
}

/// What can be said of a person in a form.
#[derive(Clone, Debug)]
pub struct PersonFields {
    /// As they write it.
    pub name: String,
    /// How to reach them.
    pub contact: String,
    /// Their own units, or the workroom's.
    pub units: Option<Units>,
}

/// A name folded for signing in: trimmed, inner blanks single, lower case.
pub fn name_key(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

impl Read {
    /// One person.
    pub async fn person(&mut self, id: PersonId) -> Result<Option<Person>, Error> {
        sql!(
            opt Person, self,
            "SELECT id, name, role, contact, units, left_at, revision FROM person WHERE id = $1",
            id
        )
    }

    /// Everybody who is here, by role and then name.
    pub async fn people(&mut self) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, revision FROM person
             WHERE left_at IS NULL
             ORDER BY CASE role WHEN 'instructor' THEN 1 WHEN 'volunteer' THEN 2 ELSE 3 END, name_key, id"
        )
    }

    /// The weavers who are here, by name.
    pub async fn weavers(&mut self) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, revision FROM person
             WHERE role = 'weaver' AND left_at IS NULL ORDER BY name_key, id"
        )
    }
}

impl Write {
    /// Adds a person. A second instructor or volunteer of the same name breaks `u_person__name_key`.
    pub async fn add_person(
        &mut self,
        id: PersonId,
        role: Role,
        fields: &PersonFields,
        passphrase_hash: Option<String>,
    ) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO person (id, name, name_key, role, contact, units, passphrase_hash, made_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
            id, fields.name.clone(), name_key(&fields.name), role, fields.contact.clone(), fields.units,
            passphrase_hash, at
        )?;
        self.audit_log(EntityKind::Person, id, "added", json!({ "name": fields.name, "role": role.word() }))
            .await
    }

    /// Changes what is said of a person, if nobody else did since `revision`.
    pub async fn change_person(
        &mut self,
        id: PersonId,
        revision: i64,
        fields: &PersonFields,
    ) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE person SET name = $1, name_key = $2, contact = $3, units = $4, revision = revision + 1
             WHERE id = $5 AND revision = $6",
            fields.name.clone(), name_key(&fields.name), fields.contact.clone(), fields.units, id, revision
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Person, id, "changed", json!({ "name": fields.name })).await
    }

    /// Notes that a person left: their links and sessions stop working, their record stays.
    ///
    /// # Errors
    /// [`Error::Stale`] when they left before, or the person who notes it did.
    pub async fn person_leaves(&mut self, id: PersonId) -> Result<(), Error> {
        // Both are locked, always in one order, and who takes somebody off the list must still be on it: two who do it to
        // each other at once would leave nobody.
        let by = self.actor.person;
        let mut both = [Some(id), by];
        both.sort_unstable();
        for one in both.into_iter().flatten() {
            sql!(exec self, "UPDATE person SET revision = revision WHERE id = $1", one)?;
        }
        if let Some(by) = by {
            let here = sql!(exec self, "UPDATE person SET revision = revision WHERE id = $1 AND left_at IS NULL", by)?;
            check_revision(here)?;
        }
        let at = self.now();
        let rows = sql!(
            exec self,
            "UPDATE person SET left_at = $1, revision = revision + 1 WHERE id = $2 AND left_at IS NULL", at, id
        )?;
        check_revision(rows)?;
        sql!(exec self, "UPDATE entry_link SET replaced_at = $1 WHERE person_id = $2 AND replaced_at IS NULL", at, id)?;
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", id)?;
        self.audit_log(EntityKind::Person, id, "left", json!({})).await
    }
}
