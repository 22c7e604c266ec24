//! What the tables' lines say, as the store takes it.
use anyhow::Context as _;

use super::cloth::{DonatedBundle, Lot};
use super::rugs::{Fate, Took};
use crate::planning::colour::{Hex, named};
use crate::planning::cost::{Money, Price, Prices};
use crate::store::cloth::bundles::{BundleFields, Sheets};
use crate::store::cloth::ledger::Weighing;
use crate::store::frames::Condition;
use crate::store::loans::TakeBack;
use crate::store::people::PersonFields;
use crate::store::rugs::results::ResultFields;
use crate::store::rugs::{Colour, RugState};
use crate::units::{Length, Mass, Units};

/// A year of the past has four terms, each of so many days.
pub(super) const DAYS_A_TERM: i64 = 91;

/// How many days earlier everything begins.
pub(super) fn before(years: u32) -> i64 {
    i64::from(years) * 4 * DAYS_A_TERM
}

/// What the class pays; invented.
pub(super) fn prices() -> Prices {
    let (rod, piece) = (Length::inches(72.0), (Length::inches(24.0), Length::inches(60.0)));
    Prices {
        currency: "$".to_owned(),
        rod: Some(Price { price: Money(520), per: rod }),
        liner: Some(Price { price: Money(940), per: piece }),
        thread: Some(Price { price: Money(310), per: Length::inches(3600.0) }),
        yarn: Some(Price { price: Money(1150), per: Mass::from_pounds(1.0) }),
    }
}

pub(super) fn about(name: &str, contact: &str, units: Option<Units>) -> PersonFields {
    PersonFields { name: name.to_owned(), contact: contact.to_owned(), units }
}

pub(super) fn colour(key: &str) -> anyhow::Result<Colour> {
    let known = named(key).with_context(|| format!("no colour is called {key}"))?;
    Ok(Colour { name: known.name.to_owned(), hex: known.hex.to_string() })
}

/// How a rug's frame came back on an evening, if it did.
pub(super) fn came_back(fate: Fate, evening: usize) -> Option<TakeBack> {
    let (rug, rods_bent, note) = match fate {
        Fate::Finished { back, .. } if back == evening => (RugState::Finished, 0, ""),
        Fate::GivenUp { back, .. } if back == evening => {
            (RugState::GivenUp, 1, "warp cut off; no time this term")
        }
        _ => return None,
    };
    Some(TakeBack { condition: Condition::Sound, rug, rods_bent, rods_missing: 0, note: note.to_owned() })
}

pub(super) fn fields(lot: &Lot, cloth: &DonatedBundle) -> BundleFields {
    // Flat twin sheets, 66 × 96 in: common retail size, from memory.
    let size = Some((Length::inches(96.0), Length::inches(66.0)));
    BundleFields {
        second: cloth.second.map(|(name, hex)| (name.to_owned(), Hex::rgb(hex))),
        sheets: (cloth.sheets > 0).then_some(Sheets::plain(cloth.sheets, size)),
        note: lot.from.to_owned(),
        source: lot.source().to_owned(),
        ..BundleFields::plain(cloth.kind, cloth.colour, Hex::rgb(cloth.hex), lot.washed)
    }
}

pub(super) fn weighing(typed: &str) -> anyhow::Result<Weighing> {
    Ok(Weighing { typed: typed.to_owned(), gross: Mass::parse(typed, Units::Inches)?, tare: Mass::ZERO })
}

/// The scale after the wash: half an ounce less for every three pounds or so.
pub(super) fn washed(cloth: &DonatedBundle) -> anyhow::Result<Weighing> {
    let half_ounces = (Mass::parse(cloth.weight, Units::Inches)?.grams() / 14.174_761_562_5 * 0.99).floor();
    weighing(&format!("{} oz", half_ounces / 2.0))
}

impl Took {
    pub(super) fn fields(&self) -> anyhow::Result<ResultFields> {
        Ok(ResultFields {
            rows_woven: Some(self.rows),
            woven_nm: Some(Length::inches(self.inches)),
            weft_mg: Some(Mass::parse(self.weft, Units::Inches)?),
            weave_minutes: Some(self.weaving),
            prepare_minutes: Some(self.preparing),
            warp_nm: self.warp_yards.map(|yards| Length::inches(yards * 36.0)),
            ..ResultFields::default()
        })
    }
}
