//! What the timetables that hold say of one rug or one frame, for the pages that follow them: a rug's own, and handing out.
use crate::services::Result;
use crate::store::timetable::Place;
use crate::store::{FrameId, Read, RugId};
use crate::units::dates;

/// A place in words: `frame S3, Wed 2 Dec to Wed 16 Dec`.
pub fn words(place: &Place) -> String {
    let (from, to) = (dates::short_day(place.from_day.0), dates::short_day(place.to_day.0));
    format!("frame {}, {from} to {to}", place.frame_tag)
}

/// The places in the timetables of all terms that run, in the order of their days.
pub async fn turns(read: &mut Read) -> Result<Vec<Place>> {
    let mut places = read.places(None).await?;
    places.retain(|place| place.runs);
    places.sort_by_key(|place| (place.from_day, place.to_day, place.rug_id));
    Ok(places)
}

/// A rug's own place.
pub fn of_rug(all: &[Place], rug: RugId) -> Option<&Place> {
    all.iter().find(|place| place.rug_id == rug)
}

/// Where in the order of turns a rug's on a frame comes; last of all without one.
pub fn order_on(all: &[Place], frame: FrameId, rug: RugId) -> usize {
    all.iter().position(|place| place.rug_id == rug && place.frame_id == frame).unwrap_or(usize::MAX)
}
