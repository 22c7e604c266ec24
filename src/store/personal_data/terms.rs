//! The terms that somebody is or was in, those they wait for, and the meetings they came to or said they wouldn't.
use serde_json::{Value, json};

use super::when;
use crate::store::columns::{Day, Instant};
use crate::store::tx::{Read, sql};
use crate::store::{Error, PersonId};

impl Read {
    pub(super) async fn terms_of(&mut self, id: PersonId) -> Result<Value, Error> {
        let terms = sql!(
            all(String, Instant),
            self,
            "SELECT t.name, e.made_at FROM enrolment e JOIN term t ON t.id = e.term_id
             WHERE e.person_id = $1 ORDER BY e.made_at, t.id",
            id
        )?;
        let days = sql!(
            all (bool, String, Day), self,
            "SELECT d.came, t.name, m.on_day FROM (SELECT meeting_id, FALSE AS came FROM absence WHERE person_id = $1
                 UNION ALL SELECT meeting_id, TRUE FROM attendance WHERE person_id = $1) d
             JOIN meeting m ON m.id = d.meeting_id JOIN term t ON t.id = m.term_id ORDER BY m.on_day, m.starts_at, m.id",
            id
        )?;
        let waits = sql!(
            all(String, Instant),
            self,
            "SELECT t.name, w.made_at FROM waiting w JOIN term t ON t.id = w.term_id
             WHERE w.person_id = $1 ORDER BY w.made_at, t.id",
            id
        )?;
        let wait = |(name, at): (String, _)| json!({ "term": name, "since": when(at) });
        let (came, away): (Vec<_>, Vec<_>) = days.into_iter().partition(|(came, ..)| *came);
        let term = |(name, at): (String, _)| json!({ "term": name, "enrolled": when(at) });
        let day = |(_, name, day): (bool, String, Day)| json!({ "term": name, "day": day.0.to_string() });
        Ok(json!({
            "enrolled": terms.into_iter().map(term).collect::<Vec<_>>(),
            "waiting_for": waits.into_iter().map(wait).collect::<Vec<_>>(),
            "absences": away.into_iter().map(day).collect::<Vec<_>>(),
            "came": came.into_iter().map(day).collect::<Vec<_>>(),
        }))
    }
}
