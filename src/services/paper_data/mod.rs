//! What papers say, for all who ask: a page, a command, the screen that shows the same. How they look is in `pdf`.
mod labels;
mod of_rug;
mod printed;
mod wall;

use jiff::Timestamp;
use jiff::tz::TimeZone;

pub use labels::{Label, bundle_labels, care_labels, frame_labels};
pub use of_rug::{RugPaper, rugs_of_term};
pub use printed::Printed;
pub use wall::{Wall, turn};

use crate::services::Result;
use crate::store::Read;
use crate::store::cloth::promises::Promise;
use crate::units::Units;
use crate::units::dates;

/// For whom a paper is made, and when: the units and days it is written in, and where its codes lead.
#[derive(Clone, Debug)]
pub struct Reader {
    /// The workroom's name.
    pub workroom: String,
    /// What lengths and weights are written in.
    pub units: Units,
    pub zone: TimeZone,
    /// Where the live pages are: `https://host`.
    pub origin: String,
    /// When it is made.
    pub now: Timestamp,
}

impl Reader {
    /// The day it is made, written out.
    pub fn printed(&self) -> String {
        dates::day(self.now.to_zoned_datetime(self.zone.clone()).date())
    }
}

/// What the pull sheet says: the cloth that is promised and not pulled yet.
pub async fn to_pull(read: &mut Read) -> Result<Vec<Promise>> {
    let mut promises = read.promises().await?;
    promises.retain(Promise::is_open);
    Ok(promises)
}
