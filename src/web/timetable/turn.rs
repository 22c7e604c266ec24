//! What a timetable says of one rug or one frame, for the pages that follow it: a rug's own, and handing out.
use crate::store::timetable::Place;
use crate::store::{FrameId, Read, RugId};
use crate::web::{Result, show};

/// A place with its days.
pub(in crate::web) struct Dated {
    pub place: Place,
    /// Its first and last day.
    pub days: (jiff::civil::Date, jiff::civil::Date),
}

impl Dated {
    /// `frame S3, Wed 2 Dec to Wed 16 Dec`.
    pub(in crate::web) fn words(&self) -> String {
        let (from, to) = (show::short_day(self.days.0), show::short_day(self.days.1));
        format!("frame {}, {from} to {to}", self.place.frame_tag)
    }
}

/// The places of all timetables that hold, in the order of their first days.
pub(in crate::web) async fn waiting(read: &mut Read) -> Result<Vec<Dated>> {
    let places = read.places(None).await?;
    let terms = read.running_terms().await?;
    let meeting = |id| terms.iter().flat_map(|term| &term.meetings).find(|meeting| meeting.id == id);
    let dated = places.into_iter().filter_map(|place| {
        let (from, to) = (meeting(place.from_meeting)?, meeting(place.to_meeting)?);
        Some(Dated { days: (from.on_day.0, to.on_day.0), place })
    });
    let mut dated: Vec<Dated> = dated.collect();
    dated.sort_by_key(|one| (one.days, one.place.rug_id));
    Ok(dated)
}

/// A rug's own place.
pub(in crate::web) fn of_rug(all: &[Dated], rug: RugId) -> Option<&Dated> {
    all.iter().find(|one| one.place.rug_id == rug)
}

/// Whose turns on a frame a loan to another rug until that day would break, in the order of their days.
pub(in crate::web) fn broken_by(
    all: &[Dated],
    frame: FrameId,
    rug: RugId,
    until: jiff::civil::Date,
) -> Vec<&Dated> {
    all.iter()
        .filter(|one| {
            one.place.frame_id == frame
                && one.place.rug_id != rug
                && one.place.rug_state == crate::store::rugs::RugState::Planned
                && one.days.0 < until
        })
        .collect()
}
