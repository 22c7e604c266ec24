//! What time brought about and nobody was told of yet: frames overdue, turns that come.
use sqlx::FromRow;

use super::{Event, PendingEvent};
use crate::store::columns::{Day, TimeOfDay};
use crate::store::tx::{Read, sql};
use crate::store::{Error, PersonId};

#[derive(FromRow)]
struct OverdueRow {
    about: String,
    person_id: PersonId,
    frame: String,
    rug: String,
    weaver: String,
    due_on: Day,
}

#[derive(FromRow)]
struct TurnRow {
    about: String,
    person_id: PersonId,
    frame: String,
    rug: String,
    weaver: String,
    on_day: Day,
    starts_at: TimeOfDay,
    until_day: Day,
}

impl Read {
    /// What time has brought about by `today` and nobody was told of: frames overdue, and turns that come within the days
    /// up to `soon`.
    pub async fn pending_events(&mut self, today: Day, soon: Day) -> Result<Vec<PendingEvent>, Error> {
        let overdue = sql!(
            all OverdueRow, self,
            "SELECT 'overdue:' || l.id || ':' || l.due_on AS about, r.weaver_id AS person_id, f.tag AS frame, r.name AS rug,
                 p.name AS weaver, l.due_on
             FROM loan l JOIN frame f ON f.id = l.frame_id JOIN rug r ON r.id = l.rug_id JOIN person p ON p.id = r.weaver_id
             WHERE l.taken_back_at IS NULL AND l.due_on < $1
                 AND NOT EXISTS (SELECT 1 FROM notice n WHERE n.about = 'overdue:' || l.id || ':' || l.due_on)
             ORDER BY l.due_on, l.id",
            today
        )?;
        let turns = sql!(
            all TurnRow, self,
            "SELECT 'turn:' || c.rug_id || ':' || c.frame_id || ':' || c.from_meeting AS about, r.weaver_id AS person_id,
                 f.tag AS frame, r.name AS rug, p.name AS weaver, m.on_day, m.starts_at, n.on_day AS until_day
             FROM place c JOIN rug r ON r.id = c.rug_id JOIN person p ON p.id = r.weaver_id JOIN frame f ON f.id = c.frame_id
             JOIN meeting m ON m.id = c.from_meeting JOIN meeting n ON n.id = c.to_meeting JOIN term t ON t.id = c.term_id
             WHERE t.closed_at IS NULL AND m.on_day >= $1 AND m.on_day <= $2 AND NOT m.called_off
                 AND r.state = 'planned' AND p.left_at IS NULL
                 AND NOT EXISTS (SELECT 1 FROM notice n
                     WHERE n.about = 'turn:' || c.rug_id || ':' || c.frame_id || ':' || c.from_meeting)
             ORDER BY m.on_day, c.rug_id",
            today, soon
        )?;
        let late = overdue.into_iter().map(|row| {
            let due = row.due_on.0;
            let what = Event::Overdue { frame: row.frame, rug: row.rug, weaver: row.weaver, due };
            (row.about, what, vec![row.person_id])
        });
        let next = turns.into_iter().map(|row| {
            let (day, starts, until) = (row.on_day.0, row.starts_at.0, row.until_day.0);
            let TurnRow { about, person_id, frame, rug, weaver, .. } = row;
            (about, Event::YourTurn { frame, rug, weaver, day, starts, until }, vec![person_id])
        });
        Ok(late.chain(next).collect())
    }
}
