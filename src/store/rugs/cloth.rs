//! The bundles that a rug's cloth is measured from: at most one for its warp and one for its weft.
use serde_json::json;
use sqlx::FromRow;

use crate::planning::cloth::Kind;
use crate::planning::usable::Hems;
use crate::planning::weighed::Weighed;
use crate::store::cloth::yields::size_from;
use crate::store::columns::string_enum;
use crate::store::tx::{EntityKind, Read, Write, sql};
use crate::store::{BundleId, Error, PersonId, RugId, TermId};
use crate::units::{Length, Mass};

string_enum! {
    /// Which cloth of a rug.
    Part {
        /// The warp.
        Warp = "warp",
        /// The weft, all colours.
        Weft = "weft",
    }
}

/// One of a rug's cloths, and how the bundle it is measured from was weighed.
#[derive(Clone, Debug, PartialEq, Eq, FromRow, Hash)]
pub struct MeasuredCloth {
    /// Whose.
    pub rug_id: RugId,
    /// Which cloth.
    pub part: Part,
    /// The bundle.
    pub bundle_id: BundleId,
    /// The number on its tape.
    pub tag: i64,
    /// Its cloth.
    pub kind: Kind,
    sheets: i64,
    sheet_length_nm: Length,
    sheet_width_nm: Length,
    sheet_hem_nm: Option<Length>,
    sheet_top_hem_nm: Option<Length>,
    sheet_size_labelled: bool,
    first_mg: Mass,
    scale_mg: Mass,
    tape_nm: Length,
}

impl MeasuredCloth {
    /// The sheets as they were weighed in, with what the workroom's scale and tape may be off by.
    pub fn weighed(&self) -> Weighed {
        Weighed {
            mass: self.first_mg,
            sheets: u32::try_from(self.sheets).unwrap_or(0),
            length: self.sheet_length_nm,
            width: self.sheet_width_nm,
            scale: self.scale_mg,
            tape: self.tape_nm,
            hems: self.sheet_hem_nm.map(|hem| Hems { hem, top: self.sheet_top_hem_nm }),
            size: size_from(self.sheet_size_labelled),
        }
    }
}

impl Read {
    /// The measured cloths of all rugs, of one, of one weaver's or of one term's.
    pub(in crate::store) async fn measured_cloths(
        &mut self,
        rug: Option<RugId>,
        weaver: Option<PersonId>,
        term: Option<TermId>,
    ) -> Result<Vec<MeasuredCloth>, Error> {
        sql!(
            all MeasuredCloth, self,
            "SELECT c.rug_id, c.part, c.bundle_id, b.tag, b.kind, b.sheets, b.sheet_length_nm, b.sheet_width_nm,
                 b.sheet_hem_nm, b.sheet_top_hem_nm, b.sheet_size_labelled, e.change_mg AS first_mg, w.scale_mg, w.tape_nm
             FROM rug_cloth c JOIN bundle b ON b.id = c.bundle_id
                 JOIN cloth_entry e ON e.bundle_id = b.id AND e.seq = 1 CROSS JOIN workroom w
             WHERE b.sheet_length_nm IS NOT NULL AND c.rug_id IN (
                 SELECT x.id FROM rug x WHERE x.id = $1 UNION ALL
                 SELECT x.id FROM rug x WHERE x.weaver_id = $2 AND (CAST($3 AS TEXT) IS NULL OR x.term_id = $3) UNION ALL
                 SELECT x.id FROM rug x WHERE x.term_id = $3 AND CAST($2 AS TEXT) IS NULL UNION ALL
                 SELECT x.id FROM rug x
                 WHERE CAST($1 AS TEXT) IS NULL AND CAST($2 AS TEXT) IS NULL AND CAST($3 AS TEXT) IS NULL)
             ORDER BY c.rug_id, c.part",
            rug, weaver, term
        )
    }
}

impl Write {
    /// Says which bundle a rug's warp, and which its weft, is measured from; `None` for the kind's usual weight.
    pub async fn set_rug_cloth(
        &mut self,
        id: RugId,
        warp: Option<BundleId>,
        weft: Option<BundleId>,
    ) -> Result<(), Error> {
        sql!(exec self, "DELETE FROM rug_cloth WHERE rug_id = $1", id)?;
        for (part, bundle) in [(Part::Warp, warp), (Part::Weft, weft)] {
            if let Some(bundle) = bundle {
                sql!(
                    exec self,
                    "INSERT INTO rug_cloth (rug_id, part, bundle_id) VALUES ($1, $2, $3)",
                    id, part, bundle
                )?;
            }
        }
        let said = |bundle: Option<BundleId>| bundle.map_or("not measured".to_owned(), |id| id.to_string());
        self.audit_log(EntityKind::Rug, id, "cloth chosen", json!({ "warp": said(warp), "weft": said(weft) }))
            .await
    }
}
