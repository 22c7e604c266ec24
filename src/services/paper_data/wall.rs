//! What the wall sheet says: the turns that hold, else what is out today; who has none.
use super::Reader;
use crate::drawing::wall::Turn;
use crate::services::Result;
use crate::services::timetable::{Options, TimetableData, number};
use crate::store::loans::Loan;
use crate::store::rugs::RugState;
use crate::store::terms::Meeting;
use crate::store::timetable::Place;
use crate::store::{Read, TermId};
use crate::units::dates;

/// The turns of a term that hold.
pub struct Wall {
    /// The term's name.
    pub term: String,
    /// The frames' tags.
    pub frames: Vec<String>,
    /// The meetings' days that aren't over, and whether each was called off.
    pub meetings: Vec<(String, bool)>,
    /// Frames and meetings are counted as in the lists above.
    pub turns: Vec<Turn>,
    /// Whose open rug has no turn and no frame.
    pub without: Vec<String>,
    /// Which timetable it is; nothing where none holds, and the turns are what is out today.
    pub revision: Option<i64>,
}

impl Wall {
    /// Of a term.
    pub async fn load(read: &mut Read, reader: &Reader, id: TermId) -> Result<Self> {
        let local = (reader.wall.zone.clone(), reader.units);
        let data = TimetableData::load(read, local, (id, reader.now), Options::USUAL).await?;
        let loans = read.loans_out().await?;
        let mut meetings = read.meetings(id).await?;
        meetings.retain(|meeting| meeting.end(&reader.wall.zone).is_some_and(|end| end > reader.now));
        let revision = data.kept.as_ref().map(|kept| kept.revision);
        let ahead = data.places.iter().filter(|place| place.rug_state != RugState::Finished);
        let planned: Vec<(&Place, Turn)> =
            ahead.filter_map(|place| Some((place, among(&meetings, &data, turn(&data, place)?)?))).collect();
        let planned_rug = |loan: &&Loan| planned.iter().all(|(place, _)| place.rug_id != loan.rug_id);
        let today: Vec<Turn> =
            loans.iter().filter(planned_rug).filter_map(|loan| out_today(&data, &meetings, loan)).collect();
        let mut turns: Vec<Turn> = planned.iter().map(|(_, turn)| turn.clone()).collect();
        for loan in today {
            // What is out and not planned stands where the timetable leaves room for it.
            let taken =
                |turn: &Turn| turn.frame == loan.frame && turn.from <= loan.to && loan.from <= turn.to;
            if !turns.iter().any(taken) {
                turns.push(loan);
            }
        }
        let has = |rug| planned.iter().any(|(place, _)| place.rug_id == rug);
        let without = data
            .rows
            .iter()
            .filter(|row| row.out.is_none() && !has(row.rug.id))
            .map(|row| row.rug.weaver.clone());
        let without = without.collect();
        let (frames, _) = data.names();
        let meetings =
            meetings.iter().map(|meeting| (dates::short_day(meeting.on_day.0), meeting.called_off)).collect();
        Ok(Self { term: data.term.name, frames, meetings, turns, without, revision })
    }
}

/// A turn by all meetings ahead, those that were called off among them.
fn among(meetings: &[Meeting], data: &TimetableData, turn: Turn) -> Option<Turn> {
    let at = |n: usize| meetings.iter().position(|meeting| meeting.id == data.meetings[n].id);
    Some(Turn { from: at(turn.from)?, to: at(turn.to)?, ..turn })
}

/// A loan as a turn from now to the last meeting before it is due; nothing of a frame that isn't on the sheet.
fn out_today(data: &TimetableData, meetings: &[Meeting], loan: &Loan) -> Option<Turn> {
    let frame = data.frames.iter().position(|frame| frame.id == loan.frame_id)?;
    let last = meetings.len().checked_sub(1)?;
    let to = meetings.iter().rposition(|meeting| meeting.on_day <= loan.due_on).unwrap_or(0).min(last);
    Some(Turn { frame, from: 0, to, label: loan.weaver.clone(), out: true, changed: false })
}

/// A place that holds, as far as it lies ahead.
pub fn turn(data: &TimetableData, place: &Place) -> Option<Turn> {
    let frame = data.frames.iter().position(|frame| frame.id == place.frame_id)?;
    let to = number(&data.meetings, place.to_meeting)?;
    let from = number(&data.meetings, place.from_meeting).unwrap_or(1);
    let row = data.rows.iter().find(|row| row.rug.id == place.rug_id)?;
    Some(Turn {
        frame,
        from: from.min(to) as usize - 1,
        to: to as usize - 1,
        label: place.weaver.clone(),
        out: row.out == Some(frame),
        changed: !place.told && row.out != Some(frame),
    })
}
