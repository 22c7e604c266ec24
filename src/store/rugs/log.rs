//! What weavers log of their rugs under way. Entries are only ever added; a mistake is undone by an entry that names it.
use serde_json::json;
use sqlx::FromRow;

use super::{Colour, RugState};
use crate::store::columns::Instant;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{Error, LogId, PersonId, RugId, TermId};
use crate::units::{Length, Mass};

/// What an entry says; one figure at least.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct LogFields {
    /// Rows woven so far.
    pub rows: Option<i64>,
    /// Length woven so far.
    pub woven: Option<Length>,
    /// Minutes worked since the entry before.
    pub minutes: Option<i64>,
    /// What the rest of each colour weighs.
    pub left: Vec<(Colour, Mass)>,
}

/// One entry of a rug's log.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct LogEntry {
    /// Its id.
    pub id: LogId,
    /// Of which rug.
    pub rug_id: RugId,
    /// When.
    pub at: Instant,
    /// Who wrote it.
    pub person: PersonId,
    /// Their name.
    pub who: String,
    /// What it says; nothing for an entry that undoes another.
    pub fields: LogFields,
    /// The entry that this one undoes.
    pub undoes: Option<LogId>,
    /// When it was undone.
    pub undone_at: Option<Instant>,
    /// Whether its rows were counted one by one, and not written down.
    pub counted: bool,
}

impl LogEntry {
    /// Whether it still says something.
    pub fn counts(&self) -> bool {
        self.undoes.is_none() && self.undone_at.is_none()
    }

    /// Whether it says how far the rug is.
    pub fn placed(&self) -> bool {
        self.counts() && (self.fields.rows.is_some() || self.fields.woven.is_some())
    }
}

#[derive(FromRow)]
struct LogRow {
    id: LogId,
    rug_id: RugId,
    at: Instant,
    person_id: PersonId,
    who: String,
    rows_woven: Option<i64>,
    woven_nm: Option<Length>,
    minutes: Option<i64>,
    undoes: Option<LogId>,
    undone_at: Option<Instant>,
    counted: bool,
    colour_name: Option<String>,
    colour_hex: Option<String>,
    left_mg: Option<Mass>,
}

impl Read {
    /// A rug's log, the oldest entry first.
    pub async fn rug_log(&mut self, rug: RugId) -> Result<Vec<LogEntry>, Error> {
        self.log_where(Some(rug), None).await
    }

    /// The logs of all rugs that are under way, the oldest entry first.
    pub async fn logs(&mut self) -> Result<Vec<LogEntry>, Error> {
        self.log_where(None, None).await
    }

    /// The logs of all rugs of a term that are under way, the oldest entry first.
    pub async fn term_log(&mut self, term: TermId) -> Result<Vec<LogEntry>, Error> {
        self.log_where(None, Some(term)).await
    }

    async fn log_where(&mut self, rug: Option<RugId>, term: Option<TermId>) -> Result<Vec<LogEntry>, Error> {
        let lines = sql!(
            all LogRow, self,
            "SELECT l.id, l.rug_id, l.at, l.person_id, p.name AS who, l.rows_woven, l.woven_nm, l.minutes, l.undoes,
                 u.at AS undone_at, l.counted, w.colour_name, w.colour_hex, w.left_mg
             FROM rug_log l JOIN person p ON p.id = l.person_id
             LEFT JOIN rug_log u ON u.undoes = l.id LEFT JOIN rug_log_left w ON w.log_id = l.id
             WHERE l.rug_id IN (SELECT x.id FROM rug x WHERE x.id = $1 UNION ALL
                 SELECT x.id FROM rug x WHERE x.term_id = $2 AND x.state IN ('planned', 'weaving') UNION ALL
                 SELECT x.id FROM rug x WHERE x.state IN ('planned', 'weaving')
                     AND CAST($1 AS TEXT) IS NULL AND CAST($2 AS TEXT) IS NULL)
             ORDER BY l.at, l.id, w.colour_hex, w.colour_name",
            rug, term
        )?;
        let mut entries: Vec<LogEntry> = Vec::new();
        for line in lines {
            if entries.last().is_none_or(|last| last.id != line.id) {
                let LogRow {
                    id,
                    rug_id,
                    at,
                    person_id: person,
                    ref who,
                    rows_woven,
                    woven_nm,
                    minutes,
                    undoes,
                    undone_at,
                    counted,
                    ..
                } = line;
                let fields = LogFields { rows: rows_woven, woven: woven_nm, minutes, left: Vec::new() };
                entries.push(LogEntry {
                    id,
                    rug_id,
                    at,
                    person,
                    who: who.clone(),
                    fields,
                    undoes,
                    undone_at,
                    counted,
                });
            }
            if let (Some(entry), Some(name), Some(hex), Some(left)) =
                (entries.last_mut(), line.colour_name, line.colour_hex, line.left_mg)
            {
                entry.fields.left.push((Colour { name, hex }, left));
            }
        }
        Ok(entries)
    }
}

impl Write {
    /// Adds an entry to a rug's log. A planned rug of which a row is woven is being woven.
    pub async fn log_rug(&mut self, id: LogId, rug: RugId, f: &LogFields) -> Result<(), Error> {
        let (at, person) = (self.now(), self.actor.person);
        sql!(
            exec self,
            "INSERT INTO rug_log (id, rug_id, at, person_id, rows_woven, woven_nm, minutes)
             VALUES ($1, $2, $3, $4, $5, $6, $7)",
            id, rug, at, person, f.rows, f.woven, f.minutes
        )?;
        for (colour, left) in &f.left {
            sql!(
                exec self,
                "INSERT INTO rug_log_left (log_id, colour_name, colour_hex, left_mg) VALUES ($1, $2, $3, $4)",
                id, colour.name.clone(), colour.hex.clone(), *left
            )?;
        }
        if f.rows.is_some_and(|rows| rows > 0) || f.woven.is_some_and(|woven| woven > Length::ZERO) {
            let begun = sql!(
                exec self,
                "UPDATE rug SET state = $1 WHERE id = $2 AND state = 'planned'",
                RugState::Weaving, rug
            )?;
            if begun == 1 {
                self.audit_log(EntityKind::Rug, rug, RugState::Weaving.word(), json!({})).await?;
            }
        }
        let weights: Vec<_> =
            f.left.iter().map(|(colour, left)| json!([colour.name, left.grams()])).collect();
        let said = json!({
            "rows": f.rows,
            "woven_mm": f.woven.map(Length::mm),
            "minutes": f.minutes,
            "left_g": weights,
        });
        self.audit_log(EntityKind::Rug, rug, "logged", said).await
    }

    /// Has the counts of a rug's rows wait for one another, so that each goes on from the one before.
    pub async fn lock_rug_log(&mut self, rug: RugId) -> Result<(), Error> {
        sql!(exec self, "UPDATE rug SET revision = revision WHERE id = $1", rug)?;
        Ok(())
    }

    /// Begins an entry that goes on with each row counted.
    pub async fn begin_count(&mut self, id: LogId, rug: RugId, rows: i64) -> Result<(), Error> {
        self.log_rug(id, rug, &LogFields { rows: Some(rows), ..LogFields::default() }).await?;
        sql!(exec self, "UPDATE rug_log SET counted = TRUE WHERE id = $1", id)?;
        Ok(())
    }

    /// Goes on with an entry that counts rows. The record has the line with which it began.
    pub async fn go_on_counting(&mut self, entry: LogId, rows: i64) -> Result<(), Error> {
        let at = self.now();
        sql!(exec self, "UPDATE rug_log SET rows_woven = $2, at = $3 WHERE id = $1 AND counted", entry, rows, at)?;
        self.skip_audit();
        Ok(())
    }

    /// Undoes an entry by a later one. False when there is no such entry of this rug, or it was undone already.
    pub async fn undo_log(&mut self, id: LogId, rug: RugId, entry: LogId) -> Result<bool, Error> {
        let (at, person) = (self.now(), self.actor.person);
        let undone = sql!(
            exec self,
            "INSERT INTO rug_log (id, rug_id, at, person_id, undoes)
             SELECT $1, l.rug_id, $3, $4, l.id FROM rug_log l
             WHERE l.id = $5 AND l.rug_id = $2 AND l.undoes IS NULL
                 AND NOT EXISTS (SELECT 1 FROM rug_log u WHERE u.undoes = l.id)",
            id, rug, at, person, entry
        );
        match undone {
            Ok(0) => Ok(false),
            Ok(_) => {
                self.audit_log(EntityKind::Rug, rug, "log undone", json!({ "entry": entry.to_string() }))
                    .await?;
                Ok(true)
            }
            // A twin was quicker.
            Err(error) if error.violates("u_rug_log__undoes") => Ok(false),
            Err(error) => Err(error),
        }
    }
}
