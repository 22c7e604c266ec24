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
    /// When they were erased; nothing that tells who they were is kept since.
    pub erased_at: Option<Instant>,
    /// Rises with each change.
    pub revision: i64,
    /// What instructors noted; instructors alone read it, and the person in their own data.
    pub note: String,
}

/// A weaver who may be given a personal link.
#[derive(Clone, Debug, FromRow)]
pub struct LinkHolder {
    /// Theirs alone.
    pub id: PersonId,
    /// As they write it.
    pub name: String,
    /// Whether they have a link that works.
    pub has_link: bool,
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

/// A pattern for LIKE that finds a text as it stands.
pub(in crate::store) fn pattern(text: &str) -> String {
    let text = text.trim().replace('!', "!!").replace('%', "!%").replace('_', "!_");
    format!("%{text}%")
}

impl Read {
    /// One person.
    pub async fn person(&mut self, id: PersonId) -> Result<Option<Person>, Error> {
        sql!(
            opt Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person WHERE id = $1",
            id
        )
    }

    /// Everybody who is here, by role and then name.
    pub async fn people(&mut self) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person
             WHERE left_at IS NULL
             ORDER BY CASE role WHEN 'instructor' THEN 1 WHEN 'volunteer' THEN 2 ELSE 3 END, name_key, id"
        )
    }

    /// Some of those who are here, by role and then name: those whose name holds a text, where one is given.
    pub async fn found_who_is_here(
        &mut self,
        text: &str,
        limit: i64,
        offset: i64,
    ) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person
             WHERE left_at IS NULL AND (CAST($1 AS TEXT) = '%%' OR name_key LIKE $1 ESCAPE '!')
             ORDER BY CASE role WHEN 'instructor' THEN 1 WHEN 'volunteer' THEN 2 ELSE 3 END, name_key, id LIMIT $2 OFFSET $3",
            pattern(&name_key(text)), limit, offset
        )
    }

    /// The weavers who are here and are called the same.
    pub async fn twins(&mut self, name: &str, but: Option<PersonId>) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person
             WHERE role = 'weaver' AND left_at IS NULL AND name_key = $1 AND (CAST($2 AS TEXT) IS NULL OR id <> $2) ORDER BY id",
            name_key(name), but
        )
    }

    /// Some of those who left and were not erased, by name: those whose name holds a text, where one is given.
    pub async fn found_who_left(
        &mut self,
        text: &str,
        limit: i64,
        offset: i64,
    ) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person
             WHERE left_at IS NOT NULL AND erased_at IS NULL
                 AND (CAST($1 AS TEXT) = '%%' OR name_key LIKE $1 ESCAPE '!')
             ORDER BY name_key, id LIMIT $2 OFFSET $3",
            pattern(&name_key(text)), limit, offset
        )
    }

    /// The weavers who are here, by name.
    pub async fn weavers(&mut self) -> Result<Vec<Person>, Error> {
        sql!(
            all Person, self,
            "SELECT id, name, role, contact, units, left_at, erased_at, revision, note FROM person
             WHERE role = 'weaver' AND left_at IS NULL ORDER BY name_key, id"
        )
    }
}

impl Read {
    /// The weavers of terms that run, and those who are in no term yet, by name.
    pub async fn link_holders(&mut self) -> Result<Vec<LinkHolder>, Error> {
        sql!(
            all LinkHolder, self,
            "SELECT p.id, p.name,
                    EXISTS (SELECT 1 FROM entry_link l WHERE l.person_id = p.id AND l.replaced_at IS NULL) AS has_link
             FROM person p WHERE p.role = 'weaver' AND p.left_at IS NULL
                 AND (NOT EXISTS (SELECT 1 FROM enrolment e WHERE e.person_id = p.id)
                      OR EXISTS (SELECT 1 FROM enrolment e JOIN term t ON t.id = e.term_id
                                 WHERE e.person_id = p.id AND t.closed_at IS NULL))
             ORDER BY p.name_key, p.id"
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
        // The first instructor types their own; whoever is added by another was given theirs.
        let given = passphrase_hash.is_some() && self.actor.person.is_some();
        sql!(
            exec self,
            "INSERT INTO person (id, name, name_key, role, contact, units, passphrase_hash, passphrase_given, made_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
            id, fields.name.clone(), name_key(&fields.name), role, fields.contact.clone(), fields.units,
            passphrase_hash, given, at
        )?;
        self.audit_log(EntityKind::Person, id, "added", json!({ "name": fields.name, "role": role.word() }))
            .await
    }

    /// Changes what is said of a person, if nobody else did since `revision`. Of those who left no contact is kept, and
    /// those who were erased stay so.
    pub async fn change_person(
        &mut self,
        id: PersonId,
        revision: i64,
        fields: &PersonFields,
    ) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE person SET name = $1, name_key = $2, contact = CASE WHEN left_at IS NULL THEN $3 ELSE '' END, units = $4,
                 revision = revision + 1
             WHERE id = $5 AND revision = $6 AND erased_at IS NULL",
            fields.name.clone(), name_key(&fields.name), fields.contact.clone(), fields.units, id, revision
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Person, id, "changed", json!({ "name": fields.name })).await
    }

    /// Notes something of a person, in place of what `was` noted. What it is stays out of the record.
    ///
    /// # Errors
    /// [`Error::Stale`] when somebody else noted something meanwhile, or they left.
    pub async fn note_person(&mut self, id: PersonId, was: &str, note: &str) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE person SET note = $3 WHERE id = $1 AND note = $2 AND left_at IS NULL",
            id, was.to_owned(), note.to_owned()
        )?;
        check_revision(rows)?;
        self.audit_log(EntityKind::Person, id, "noted", json!({})).await
    }

    /// Notes that a person left: their links and sessions stop working, how to reach them is forgotten, their record stays.
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
            "UPDATE person SET left_at = $1, contact = '', note = '', revision = revision + 1 WHERE id = $2 AND left_at IS NULL", at, id
        )?;
        check_revision(rows)?;
        sql!(exec self, "DELETE FROM waiting WHERE person_id = $1", id)?;
        // Mail that waits for them has nowhere to go any more.
        sql!(
            exec self,
            "UPDATE delivery SET state = 'given up', answer = 'They are no longer here.'
             WHERE person_id = $1 AND state = 'waiting'",
            id
        )?;
        sql!(exec self, "UPDATE entry_link SET replaced_at = $1 WHERE person_id = $2 AND replaced_at IS NULL", at, id)?;
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM tablet WHERE opened_by = $1", id)?;
        self.forget_devices(id).await?;
        self.forget_factors(id).await?;
        self.audit_log(EntityKind::Person, id, "left", json!({})).await
    }
}
