//! Edge rods: sizes, each with its counts. A rod has no tag; how many are out with whom is in [`super::loans`].
use serde_json::json;
use sqlx::FromRow;

use super::columns::string_enum;
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, RodId};
use crate::units::{Length, Units};

/// One size of rod, and how many there are.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct Rod {
    /// Its id.
    pub id: RodId,
    /// How long.
    pub length_nm: Length,
    /// How thick.
    pub diameter_nm: Length,
    /// All that belong to the workroom.
    pub owned: i64,
    /// With weavers.
    pub out_now: i64,
    /// Here, but bent.
    pub bent: i64,
    /// Rises when the size is corrected; counting leaves it alone.
    pub revision: i64,
}

impl Rod {
    /// How many are here and straight.
    pub fn inside(&self) -> i64 {
        self.owned - self.out_now - self.bent
    }

    /// The size as people say it: `36 in × 1/8 in`.
    pub fn size(&self, units: Units) -> String {
        rod_size(self.length_nm, self.diameter_nm, units)
    }
}

/// A rod's size as people say it, its length first.
pub fn rod_size(length: Length, diameter: Length, units: Units) -> String {
    format!("{} × {}", length.show(units), diameter.show(units))
}

string_enum! {
    /// What can happen to rods that are here.
    RodAct {
        /// New ones came.
        Bought = "bought",
        /// Straight ones were found to be bent.
        FoundBent = "found bent",
        /// Bent ones are straight again.
        Straightened = "straightened",
        /// Bent ones are given away as scrap.
        Scrapped = "scrapped",
        /// Straight ones are gone.
        Lost = "lost",
    }
}

impl RodAct {
    /// What one rod of it adds to those owned, and to those bent.
    const fn counts(self) -> (i64, i64) {
        match self {
            Self::Bought => (1, 0),
            Self::FoundBent => (0, 1),
            Self::Straightened => (0, -1),
            Self::Scrapped => (-1, -1),
            Self::Lost => (-1, 0),
        }
    }

    /// Of which rods it takes: the straight ones in, the bent ones, or none.
    pub fn most(self, rod: &Rod) -> Option<i64> {
        match self {
            Self::Bought => None,
            Self::FoundBent | Self::Lost => Some(rod.inside()),
            Self::Straightened | Self::Scrapped => Some(rod.bent),
        }
    }
}

impl Read {
    /// Every size, the shortest first.
    pub async fn rods(&mut self) -> Result<Vec<Rod>, Error> {
        sql!(
            all Rod, self,
            "SELECT id, length_nm, diameter_nm, owned, out_now, bent, revision FROM rod ORDER BY length_nm, diameter_nm"
        )
    }

    /// One size.
    pub async fn rod(&mut self, id: RodId) -> Result<Option<Rod>, Error> {
        sql!(
            opt Rod, self,
            "SELECT id, length_nm, diameter_nm, owned, out_now, bent, revision FROM rod WHERE id = $1", id
        )
    }
}

impl Write {
    /// Adds a size. A second row for the same size breaks `u_rod__length_nm__diameter_nm`.
    pub async fn add_rod(
        &mut self,
        id: RodId,
        length: Length,
        diameter: Length,
        owned: i64,
    ) -> Result<(), Error> {
        let at = self.now();
        sql!(
            exec self,
            "INSERT INTO rod (id, length_nm, diameter_nm, owned, made_at) VALUES ($1, $2, $3, $4, $5)",
            id, length, diameter, owned, at
        )?;
        let size = rod_size(length, diameter, Units::Inches);
        self.audit_log(EntityKind::Rod, id, "added", json!({ "size": size, "rods": owned })).await
    }

    /// Corrects a size that was written down wrongly, if nobody else did since `revision`.
    pub async fn change_rod(
        &mut self,
        id: RodId,
        revision: i64,
        length: Length,
        diameter: Length,
    ) -> Result<(), Error> {
        let rows = sql!(
            exec self,
            "UPDATE rod SET length_nm = $3, diameter_nm = $4, revision = revision + 1 WHERE id = $1 AND revision = $2",
            id, revision, length, diameter
        )?;
        check_revision(rows)?;
        self.audit_log(
            EntityKind::Rod,
            id,
            "changed",
            json!({ "size": rod_size(length, diameter, Units::Inches) }),
        )
        .await
    }

    /// Counts what happened to some rods. More than there are breaks `ck_rod__counts`.
    pub async fn count_rods(&mut self, id: RodId, act: RodAct, rods: i64) -> Result<(), Error> {
        let (owned, bent) = act.counts();
        let touched = sql!(
            exec self,
            "UPDATE rod SET owned = owned + $2, bent = bent + $3 WHERE id = $1",
            id, owned * rods, bent * rods
        )?;
        check_revision(touched)?;
        self.audit_log(EntityKind::Rod, id, act.word(), json!({ "rods": rods })).await
    }
}
