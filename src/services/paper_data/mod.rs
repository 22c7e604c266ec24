//! What papers say, for all who ask: a page, a command, the screen that shows the same. How they look is in `pdf`.
mod at_the_frame;
mod cutting;
pub mod document;
mod evening;
mod guide;
mod labels;
mod of_rug;
mod printed;
mod said;
mod sewing;
mod shelf;
mod wall;

use std::net::IpAddr;

use jiff::Timestamp;

pub use at_the_frame::{exhibition, tally};
pub use cutting::{Cuttings, SheetCut, cutting};
pub use document::Document;
pub use evening::{at_hand, attendance, log_sheet, tonight};
pub use guide::{booklet, first_row_page};
pub use labels::{Label, bundle_labels, care_labels, frame_labels};
pub use of_rug::{RugPaper, Standing, rugs_of_term};
pub use printed::Printed;
pub use said::{said_of_loan, said_of_promises};
pub use sewing::sewing;
pub use shelf::{blank_weigh_in, colour_card, stocktake_list};
pub use wall::{Wall, turn};

use crate::services::Result;
use crate::store::Read;
use crate::store::cloth::promises::Promise;
use crate::units::Units;
use crate::units::dates::WallClock;
use crate::units::{dates, isolated};

/// For whom a paper is made, and when: the units and days it is written in, and where its codes lead.
#[derive(Clone, Debug)]
pub struct Reader {
    /// The workroom's name.
    pub workroom: String,
    /// What lengths and weights are written in.
    pub units: Units,
    /// The workroom's clock.
    pub wall: WallClock,
    /// Where the live pages are: `https://host`.
    pub origin: String,
    /// When it is made.
    pub now: Timestamp,
}

impl Reader {
    /// The day it is made, written out.
    pub fn printed(&self) -> String {
        dates::day(self.now.to_zoned_datetime(self.wall.zone.clone()).date())
    }

    /// A paper that says nothing yet but what it is and when it was printed; `path` is that of its live page.
    fn document(&self, title: &str, under: String, path: &str, word: &str) -> Document {
        Document {
            workroom: isolated(&self.workroom),
            title: title.to_owned(),
            under,
            link: Some((format!("{}{path}", self.origin), word.to_owned())),
            foot: format!("{}, printed {}.", isolated(&self.workroom), self.printed()),
            ..Document::default()
        }
    }
}

/// Whether nobody but this machine can open an address: a code with it on a paper, or for a phone, leads nowhere.
pub fn only_here(url: &str) -> bool {
    let rest = url.split_once("://").map_or(url, |(_, rest)| rest);
    let authority = rest.split(['/', '?', '#']).next().unwrap_or_default();
    let host = match authority.strip_prefix('[') {
        Some(rest) => rest.split(']').next().unwrap_or_default(),
        None => authority.split(':').next().unwrap_or_default(),
    };
    let host = host.to_ascii_lowercase();
    let named = host == "localhost" || host.ends_with(".localhost");
    named || host.parse::<IpAddr>().is_ok_and(|ip| ip.is_loopback() || ip.is_unspecified())
}

/// What the pull sheet says: the cloth that is promised and not pulled yet.
pub async fn to_pull(read: &mut Read) -> Result<Vec<Promise>> {
    let mut promises = read.promises().await?;
    promises.retain(Promise::is_open);
    Ok(promises)
}

#[cfg(test)]
mod tests {
    use super::only_here;

    #[test]
    fn what_only_this_machine_can_open_is_told_from_the_rest() {
        for here in [
            "http://127.0.0.1:8080",
            "http://localhost",
            "http://LOCALHOST:1/x",
            "http://rugs.localhost:8080",
            "http://[::1]:1",
            "http://0.0.0.0:1",
        ] {
            assert!(only_here(here), "{here}");
        }
        for there in [
            "https://rugs.example",
            "http://192.168.1.2:8080",
            "http://localhost.example",
            "http://[2001:db8::1]",
        ] {
            assert!(!only_here(there), "{there}");
        }
    }
}
