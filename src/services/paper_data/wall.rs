//! What the wall sheet says: the turns that hold.
use super::Reader;
use crate::drawing::wall::Turn;
use crate::services::Result;
use crate::services::timetable::{Options, TimetableData, number};
use crate::store::rugs::RugState;
use crate::store::timetable::Place;
use crate::store::{Read, TermId};

/// The turns of a term that hold.
pub struct Wall {
    /// The term's name.
    pub term: String,
    /// The frames' tags.
    pub frames: Vec<String>,
    /// The meetings' days.
    pub meetings: Vec<String>,
    pub turns: Vec<Turn>,
    /// Which timetable it is.
    pub revision: Option<i64>,
}

impl Wall {
    /// Of a term.
    pub async fn load(read: &mut Read, reader: &Reader, id: TermId) -> Result<Self> {
        let local = (reader.zone.clone(), reader.units);
        let data = TimetableData::load(read, local, (id, reader.now), Options::USUAL).await?;
        let ahead = data.places.iter().filter(|place| place.rug_state != RugState::Finished);
        let turns = ahead.filter_map(|place| turn(&data, place)).collect();
        let (frames, meetings) = data.names();
        let revision = data.kept.as_ref().map(|kept| kept.revision);
        Ok(Self { term: data.term.name, frames, meetings, turns, revision })
    }
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
