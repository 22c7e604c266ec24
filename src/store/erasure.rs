//! Erasing a person: what tells who they were goes, what they did stays, so that the ledger, the rugs and the counts still
//! add up.
use serde_json::json;
use sqlx::FromRow;

use super::people::Person;
use super::tx::{EntityKind, Write, sql};
use super::{Error, PersonId};

/// What somebody who was erased is called from then on.
pub const NOBODY: &str = "Somebody who left";

/// Why somebody can't be erased.
#[derive(Debug, thiserror::Error)]
pub enum NotErased {
    /// A frame would be out with nobody.
    #[error("frame {0} is still out with them: take it back first")]
    FrameOut(String),
    /// They were erased before, or there is no such person.
    #[error("they are erased already")]
    Already,
    /// The database.
    #[error(transparent)]
    Store(#[from] Error),
}

/// A text in which somebody may be named: which kind of thing it is said of, and the thing.
#[derive(FromRow)]
struct Said {
    what: String,
    id: String,
    text: String,
}

impl Write {
    /// Erases a person, and takes them off the list if they are still on it. The record says that somebody was erased, by
    /// whom and when, and not who it was.
    ///
    /// # Errors
    /// [`NotErased`]; nothing is kept then.
    pub async fn erase_person(&mut self, id: PersonId) -> Result<(), NotErased> {
        let person =
            self.person(id).await?.filter(|one| one.erased_at.is_none()).ok_or(NotErased::Already)?;
        // A frame that goes out waits for this rug's row, or is seen here.
        sql!(exec self, "UPDATE rug SET revision = revision WHERE weaver_id = $1", id)?;
        let out = sql!(
            opt(String,),
            self,
            "SELECT f.tag FROM loan l JOIN frame f ON f.id = l.frame_id JOIN rug r ON r.id = l.rug_id
             WHERE r.weaver_id = $1 AND l.taken_back_at IS NULL ORDER BY f.tag LIMIT 1",
            id
        )?;
        if let Some((tag,)) = out {
            return Err(NotErased::FrameOut(tag));
        }
        if person.left_at.is_none() {
            self.person_leaves(id).await?;
        }
        for name in self.names_of(&person).await? {
            self.unname(&name).await?;
        }
        let at = self.now();
        sql!(
            exec self,
            "UPDATE person SET name = $2, name_key = $3, contact = '', note = '', units = NULL, passphrase_hash = NULL, erased_at = $4,
                 revision = revision + 1
             WHERE id = $1",
            id, NOBODY, format!("erased {id}"), at
        )?;
        self.forget_traces(id).await?;
        Ok(self.audit_log(EntityKind::Person, id, "erased", json!({})).await?)
    }

    /// What leads to a person without naming them: their ways in, what their calendar was told, when they said they won't
    /// come, and what the record says of them besides that it happened.
    async fn forget_traces(&mut self, id: PersonId) -> Result<(), Error> {
        sql!(exec self, "DELETE FROM session WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM tablet WHERE opened_by = $1", id)?;
        sql!(exec self, "DELETE FROM entry_link WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM calendar_link WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM calendar_told WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM known_device WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM passkey WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM one_time_code WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM recovery_code WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM half_way WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM let_in_link WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM absence WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM attendance WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM waiting WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM notice_person WHERE person_id = $1", id)?;
        sql!(exec self, "DELETE FROM delivery WHERE person_id = $1", id)?;
        sql!(exec self, "UPDATE done_request SET person_id = NULL WHERE person_id = $1", id)?;
        sql!(exec self, "UPDATE change SET detail = '{}' WHERE noun = 'person' AND noun_id = $1", id.to_string())?;
        Ok(())
    }

    /// What they are called, and what the record says they were called before.
    async fn names_of(&mut self, person: &Person) -> Result<Vec<String>, Error> {
        let told = sql!(
            all(String,),
            self,
            "SELECT DISTINCT c.detail FROM change c WHERE c.noun = 'person' AND c.noun_id = $1",
            person.id.to_string()
        )?;
        let before = told.iter().filter_map(|(detail,)| {
            let detail: serde_json::Value = serde_json::from_str(detail).ok()?;
            detail["name"].as_str().map(str::to_owned)
        });
        let mut names: Vec<String> = before.chain([person.name.clone()]).collect();
        // Within JSON some signs are written otherwise.
        let escaped = names.iter().map(|name| json!(name).to_string().trim_matches('"').to_owned());
        let escaped: Vec<String> = escaped.collect();
        names.extend(escaped);
        names.sort_unstable();
        names.dedup();
        // The longer first: one may be part of another.
        names.sort_by_key(|name| std::cmp::Reverse(name.len()));
        Ok(names)
    }

    /// Takes a name out of everything that people typed, and out of what was told of it.
    async fn unname(&mut self, name: &str) -> Result<(), Error> {
        // SQLite folds ASCII letters alone: any letter may stand for another, and it is looked at closely below.
        let wanted = name.chars().fold(String::new(), |mut wanted, letter| {
            match letter {
                '!' | '%' | '_' => wanted.extend(['!', letter]),
                letter => wanted.push(if letter.is_ascii() { letter } else { '_' }),
            }
            wanted
        });
        let found = sql!(
            all Said, self,
            "SELECT 'change' AS what, id, detail AS text FROM change WHERE lower(detail) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'notice', id, happening FROM notice WHERE lower(happening) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'rug', id, name FROM rug WHERE lower(name) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'rug note', id, note FROM rug WHERE lower(note) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'person note', id, note FROM person WHERE lower(note) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'loan', id, note FROM loan WHERE lower(note) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'bundle', id, note FROM bundle WHERE lower(note) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'source', id, source FROM bundle WHERE lower(source) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'entry', id, note FROM cloth_entry WHERE lower(note) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'frame', id, note FROM frame WHERE lower(note) LIKE lower($1) ESCAPE '!'
             UNION ALL SELECT 'term', id, note FROM term WHERE lower(note) LIKE lower($1) ESCAPE '!'",
            format!("%{wanted}%")
        )?;
        for Said { what, id, text } in found {
            let to = without(&text, name);
            if to == text {
                continue;
            }
            match what.as_str() {
                "change" => sql!(exec self, "UPDATE change SET detail = $2 WHERE id = $1", id, to)?,
                "notice" => sql!(exec self, "UPDATE notice SET happening = $2 WHERE id = $1", id, to)?,
                "rug" => {
                    sql!(exec self, "UPDATE rug SET name = $2, revision = revision + 1 WHERE id = $1", id, to)?
                }
                "rug note" => sql!(exec self, "UPDATE rug SET note = $2 WHERE id = $1", id, to)?,
                "person note" => sql!(exec self, "UPDATE person SET note = $2 WHERE id = $1", id, to)?,
                "loan" => sql!(exec self, "UPDATE loan SET note = $2 WHERE id = $1", id, to)?,
                "source" => {
                    sql!(exec self, "UPDATE bundle SET source = $2, note_words = '' WHERE id = $1", id, to)?
                }
                "bundle" => {
                    sql!(exec self, "UPDATE bundle SET note = $2, note_words = '' WHERE id = $1", id, to)?
                }
                "entry" => sql!(exec self, "UPDATE cloth_entry SET note = $2 WHERE id = $1", id, to)?,
                "frame" => sql!(exec self, "UPDATE frame SET note = $2 WHERE id = $1", id, to)?,
                _ => {
                    sql!(exec self, "UPDATE term SET note = $2, revision = revision + 1 WHERE id = $1", id, to)?
                }
            };
        }
        // What staff search for is made afresh of what is left.
        let bare = sql!(
            all(String, String),
            self,
            "SELECT b.id, b.note || ' ' || b.source FROM bundle b WHERE b.note_words = '' AND b.note || b.source <> ''"
        )?;
        for (id, words) in bare {
            sql!(exec self, "UPDATE bundle SET note_words = $2 WHERE id = $1", id, words.to_lowercase())?;
        }
        Ok(())
    }
}

/// A text in which a name, standing as words of their own, gives way to [`NOBODY`], however it is written in capitals.
fn without(text: &str, name: &str) -> String {
    let letters: Vec<(usize, char)> = text.char_indices().collect();
    let wanted: Vec<char> = name.chars().collect();
    let same = |a: char, b: char| a.to_lowercase().eq(b.to_lowercase());
    let word = |at: Option<usize>| {
        at.and_then(|at| letters.get(at)).is_some_and(|(_, letter)| letter.is_alphanumeric())
    };
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < letters.len() {
        let here = letters[at..].iter().zip(&wanted).take_while(|((_, a), b)| same(*a, **b)).count();
        if here == wanted.len() && here > 0 && !word(at.checked_sub(1)) && !word(Some(at + here)) {
            out.push_str(NOBODY);
            at += here;
        } else {
            out.push(letters[at].1);
            at += 1;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::without;

    #[test]
    fn a_name_goes_where_it_stands_as_a_word_of_its_own() {
        assert_eq!(without("for Ana: soft", "Ana"), "for Somebody who left: soft");
        assert_eq!(without("ANA ölund’s and Banana", "Ana Ölund"), "Somebody who left’s and Banana");
        assert_eq!(
            without(r#"{"name":"Ana","as":"Anatole"}"#, "Ana"),
            r#"{"name":"Somebody who left","as":"Anatole"}"#
        );
        assert_eq!(without("", "Ana"), "");
    }
}
