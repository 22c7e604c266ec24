//! The workroom's own settings: its name, time zone and units. There is one workroom to a database.
use jiff::tz::TimeZone;
use serde_json::json;
use sqlx::FromRow;

use super::Error;
use super::columns::units_word;
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use crate::planning::cost::Prices;
use crate::units::dates::{Hours, WallClock};
use crate::units::{Length, Mass, Units};

/// The workroom.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct Workroom {
    /// What people call it.
    pub name: String,
    /// An IANA time zone name; all dates are written out in it.
    pub time_zone: String,
    /// What lengths and weights are shown in, unless a person chose otherwise.
    pub units: Units,
    /// By how much the scale's reading may be off at most.
    pub scale_mg: Mass,
    /// By how much a length read off the tape may be off at most.
    pub tape_nm: Length,
    /// What rods, liner, thread and yarn cost, where somebody said.
    pub prices: Option<Prices>,
    /// Whether instructors and volunteers must have a second factor.
    pub second_factor_required: bool,
    /// Whether times of day are written as 6:30 pm.
    pub twelve_hours: bool,
    /// Rises with each change.
    pub revision: i64,
}

impl Workroom {
    /// Its time zone; UTC when this machine no longer knows it.
    pub fn zone(&self) -> TimeZone {
        zone(&self.time_zone)
    }

    /// Its clock.
    pub fn wall(&self) -> WallClock {
        WallClock { zone: self.zone(), hours: hours(self.twelve_hours) }
    }
}

/// How times of day are written.
pub(super) fn hours(twelve: bool) -> Hours {
    if twelve { Hours::Twelve } else { Hours::TwentyFour }
}

/// The time zone of a name; UTC when this machine no longer knows it.
pub(super) fn zone(name: &str) -> TimeZone {
    TimeZone::get(name).unwrap_or(TimeZone::UTC)
}

impl Read {
    /// The workroom; `None` before it was set up.
    pub async fn workroom(&mut self) -> Result<Option<Workroom>, Error> {
        sql!(
            opt Workroom, self,
            "SELECT name, time_zone, units, scale_mg, tape_nm, prices, second_factor_required, twelve_hours,
                 revision FROM workroom"
        )
    }
}

impl Write {
    /// Names the workroom for the first time; a second time breaks the primary key.
    pub async fn found_workroom(&mut self, name: &str, time_zone: &str, units: Units) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO workroom (id, name, time_zone, units, made_at) VALUES ('workroom', $1, $2, $3, $4)",
            name.to_owned(), time_zone.to_owned(), units, at
        )?;
        self.audit_log(EntityKind::Workroom, "workroom", "set up", json!({ "name": name })).await
    }

    /// Changes the settings, if nobody else did since `revision`.
    pub async fn change_workroom(&mut self, to: &Workroom) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE workroom SET name = $1, time_zone = $2, units = $3, scale_mg = $5, tape_nm = $6,
                 second_factor_required = $7, prices = $8, twelve_hours = $9, revision = revision + 1
             WHERE id = 'workroom' AND revision = $4",
            to.name.clone(), to.time_zone.clone(), to.units, to.revision, to.scale_mg, to.tape_nm,
            to.second_factor_required, to.prices.clone(), to.twelve_hours
        )?;
        check_revision(rows)?;
        self.audit_log(
            EntityKind::Workroom,
            "workroom",
            "changed",
            json!({
                "name": to.name,
                "time_zone": to.time_zone,
                "units": units_word(to.units),
                "scale": to.scale_mg.exact(to.units),
                "tape": to.tape_nm.exact(to.units),
                "prices": to.prices,
                "second_factor_required": to.second_factor_required,
                "twelve_hours": to.twelve_hours,
            }),
        )
        .await
    }
}
