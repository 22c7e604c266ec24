//! Rugs and their bands of colour. What follows from them is computed, never stored.
mod audit_snapshot;
pub mod cloth;
mod fields;
pub mod list;
pub mod log;
pub mod noted;
pub mod results;

use serde_json::json;
use sqlx::FromRow;

pub use fields::{Colour, Making, RugBand, RugFields};

use self::audit_snapshot::audit_snapshot;
use self::cloth::MeasuredCloth;
use super::columns::{Day, Instant, string_enum};
use super::tx::{EntityKind, Read, Write, check_revision, sql};
use super::{Error, PersonId, RugId, TermId};
use crate::planning::chart::Chart;
use crate::planning::warp::nail_rows::NailRows;
use crate::units::Length;

string_enum! {
    /// How far a rug is.
    RugState {
        /// Thought out, not begun.
        Planned = "planned",
        /// On a frame.
        Weaving = "weaving",
        /// Off the frame and sewn.
        Finished = "finished",
        /// Will not be made.
        GivenUp = "given up",
    }
}

impl RugState {
    /// Whether something is still to be done: it is planned or being woven.
    pub const fn is_open(self) -> bool {
        matches!(self, Self::Planned | Self::Weaving)
    }
}

/// A rug with its bands, and whose it is.
#[derive(Clone, Debug)]
pub struct Rug {
    /// Its id.
    pub id: RugId,
    /// Whose.
    pub weaver_id: PersonId,
    /// The weaver's name.
    pub weaver: String,
    /// The term's name.
    pub term: Option<String>,
    /// How far it is.
    pub state: RugState,
    /// Rises with each change.
    pub revision: i64,
    /// When it was first planned.
    pub made_at: Instant,
    /// The tag of the frame it is on now.
    pub frame_tag: Option<String>,
    /// When that frame was handed out.
    pub on_frame_since: Option<Instant>,
    /// Until when.
    pub frame_due: Option<Day>,
    /// What was chosen.
    pub fields: RugFields,
    /// Whether weavers of the class may start from it.
    pub pattern: bool,
    /// What its weaver and those who run the class noted.
    pub note: String,
    /// From the start of the weaving.
    pub bands: Vec<RugBand>,
    /// The bundles that its cloth is measured from.
    pub measured: Vec<MeasuredCloth>,
}

impl Rug {
    /// The woven width: the frame's, or less.
    pub fn width(&self) -> Length {
        self.fields.making.woven_width_nm.unwrap_or(self.fields.width_nm)
    }

    /// The woven length: the bands together.
    pub fn length(&self) -> Length {
        self.bands.iter().map(|band| band.height).sum()
    }

    /// The colours in the order they come, each once.
    pub fn colours(&self) -> Vec<&Colour> {
        let mut seen = Vec::new();
        for colour in self.bands.iter().flat_map(|band| [&band.first, &band.other]) {
            if !seen.contains(&colour) {
                seen.push(colour);
            }
        }
        seen
    }
}

#[derive(FromRow)]
struct RugRow {
    id: RugId,
    weaver_id: PersonId,
    weaver: String,
    term: Option<String>,
    state: RugState,
    revision: i64,
    made_at: Instant,
    frame_tag: Option<String>,
    on_frame_since: Option<Instant>,
    frame_due: Option<Day>,
    pattern: bool,
    note: String,
    #[sqlx(flatten)]
    fields: RugFields,
}

/// One of a rug's bands.
#[derive(FromRow)]
struct BandRow {
    rug_id: RugId,
    height_nm: Length,
    first_name: String,
    first_hex: String,
    other_name: String,
    other_hex: String,
    strip_nm: Option<Length>,
    chart: Option<Chart>,
}

/// Gives each rug its bands, which stand together in the order of the rugs.
fn joined(rugs: Vec<RugRow>, bands: Vec<BandRow>) -> Vec<Rug> {
    let mut bands = bands.into_iter().peekable();
    let mut with_bands = Vec::with_capacity(rugs.len());
    for rug in rugs {
        let own = std::iter::from_fn(|| bands.next_if(|band| band.rug_id == rug.id));
        let own = own.map(|band| RugBand {
            height: band.height_nm,
            first: Colour { name: band.first_name, hex: band.first_hex },
            other: Colour { name: band.other_name, hex: band.other_hex },
            strip: band.strip_nm,
            chart: band.chart,
        });
        with_bands.push(Rug {
            bands: own.collect(),
            measured: Vec::new(),
            id: rug.id,
            weaver_id: rug.weaver_id,
            weaver: rug.weaver,
            term: rug.term,
            state: rug.state,
            revision: rug.revision,
            made_at: rug.made_at,
            frame_tag: rug.frame_tag,
            on_frame_since: rug.on_frame_since,
            frame_due: rug.frame_due,
            pattern: rug.pattern,
            note: rug.note,
            fields: rug.fields,
        });
    }
    with_bands
}

impl Read {
    /// Rugs, the newest first: all, one weaver's, or one term's.
    pub async fn rugs(&mut self, weaver: Option<PersonId>, term: Option<TermId>) -> Result<Vec<Rug>, Error> {
        self.rugs_where(None, weaver, term).await
    }

    /// One rug.
    pub async fn rug(&mut self, id: RugId) -> Result<Option<Rug>, Error> {
        Ok(self.rugs_where(Some(id), None, None).await?.pop())
    }

    async fn rugs_where(
        &mut self,
        id: Option<RugId>,
        weaver: Option<PersonId>,
        term: Option<TermId>,
    ) -> Result<Vec<Rug>, Error> {
        // Each way to ask has a part of its own, so that each finds its rugs by an index.
        let rugs = sql!(
            all RugRow, self,
            "SELECT r.*, p.name AS weaver, t.name AS term, f.tag AS frame_tag, l.handed_out_at AS on_frame_since,
                 l.due_on AS frame_due
             FROM rug r JOIN person p ON p.id = r.weaver_id LEFT JOIN term t ON t.id = r.term_id
             LEFT JOIN loan l ON l.rug_id = r.id AND l.taken_back_at IS NULL LEFT JOIN frame f ON f.id = l.frame_id
             WHERE r.id IN (SELECT x.id FROM rug x WHERE x.id = $1 UNION ALL
                 SELECT x.id FROM rug x WHERE x.weaver_id = $2 AND (CAST($3 AS TEXT) IS NULL OR x.term_id = $3) UNION ALL
                 SELECT x.id FROM rug x WHERE x.term_id = $3 AND CAST($2 AS TEXT) IS NULL UNION ALL
                 SELECT x.id FROM rug x
                 WHERE CAST($1 AS TEXT) IS NULL AND CAST($2 AS TEXT) IS NULL AND CAST($3 AS TEXT) IS NULL)
             ORDER BY r.id DESC",
            id, weaver, term
        )?;
        let bands = sql!(
            all BandRow, self,
            "SELECT b.rug_id, b.height_nm, b.first_name, b.first_hex, b.other_name, b.other_hex, b.strip_nm, b.chart
             FROM rug_band b
             WHERE b.rug_id IN (SELECT x.id FROM rug x WHERE x.id = $1 UNION ALL
                 SELECT x.id FROM rug x WHERE x.weaver_id = $2 AND (CAST($3 AS TEXT) IS NULL OR x.term_id = $3) UNION ALL
                 SELECT x.id FROM rug x WHERE x.term_id = $3 AND CAST($2 AS TEXT) IS NULL UNION ALL
                 SELECT x.id FROM rug x
                 WHERE CAST($1 AS TEXT) IS NULL AND CAST($2 AS TEXT) IS NULL AND CAST($3 AS TEXT) IS NULL)
             ORDER BY b.rug_id DESC, b.position",
            id, weaver, term
        )?;
        let mut rugs = joined(rugs, bands);
        let cloths = self.measured_cloths(id, weaver, term).await?;
        for rug in &mut rugs {
            rug.measured = cloths.iter().filter(|cloth| cloth.rug_id == rug.id).cloned().collect();
        }
        Ok(rugs)
    }
}

/// A size of frame that the workroom has, to plan a rug for.
#[derive(Clone, Debug, PartialEq, Eq, FromRow)]
pub struct FrameSize {
    /// Between the nail rows.
    pub span_nm: Length,
    /// Between the rods.
    pub width_nm: Length,
    /// Nails per end.
    pub nails: i64,
    /// Pitch, where it was measured.
    pub pitch_nm: Option<Length>,
    /// How the nail rows stand to each other.
    pub nail_rows: NailRows,
    /// How many frames of this size there are.
    pub frames: i64,
}

impl FrameSize {
    /// The size that a rug is planned for.
    pub fn of(f: &RugFields) -> Self {
        Self {
            span_nm: f.span_nm,
            width_nm: f.width_nm,
            nails: f.nails,
            pitch_nm: f.pitch_nm,
            nail_rows: f.making.nail_rows.clone(),
            frames: 0,
        }
    }
}

impl Read {
    /// The sizes of frames there are, small ones first; broken and retired frames don't count.
    pub async fn frame_sizes(&mut self) -> Result<Vec<FrameSize>, Error> {
        sql!(
            all FrameSize, self,
            "SELECT span_nm, width_nm, nails, pitch_nm, nail_rows, COUNT(*) AS frames FROM frame
             WHERE NOT retired AND condition <> 'broken'
             GROUP BY span_nm, width_nm, nails, pitch_nm, nail_rows ORDER BY width_nm, span_nm, nails"
        )
    }
}

impl Read {
    /// How many rugs of a weaver are neither finished nor given up.
    pub async fn open_rugs(&mut self, weaver: PersonId) -> Result<i64, Error> {
        sql!(
            val i64, self,
            "SELECT COUNT(*) FROM rug WHERE weaver_id = $1 AND state IN ('planned', 'weaving')",
            weaver
        )
    }
}

impl Write {
    /// Adds a rug, planned.
    pub async fn add_rug(
        &mut self,
        id: RugId,
        weaver: PersonId,
        f: &RugFields,
        bands: &[RugBand],
    ) -> Result<(), Error> {
        let (at, making) = (self.now(), &f.making);
        sql!(
            exec self,
            "INSERT INTO rug (id, weaver_id, name, term_id, span_nm, width_nm, nails, pitch_nm, strip_width_nm,
                 warp_kind, weft_kind, fringe_nm, backing, strands_trade, unit_size, rugs_before, home_minutes,
                 sample_length_nm, sample_rows, sample_mass_mg, state, made_at, nail_rows, woven_width_nm, winding,
                 woven_from, warp_strip_nm, warp_yarn)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22,
                 $23, $24, $25, $26, $27, $28)",
            id, weaver, f.name.clone(), f.term_id, f.span_nm, f.width_nm, f.nails, f.pitch_nm, f.strip_width_nm,
            f.warp_kind, f.weft_kind, f.fringe_nm, f.backing, f.strands_trade, f.unit_size, f.rugs_before,
            f.home_minutes, f.sample_length_nm, f.sample_rows, f.sample_mass_mg, RugState::Planned, at,
            making.nail_rows.clone(), making.woven_width_nm, making.winding.clone(), making.woven_from,
            f.warp_strip_nm, f.warp_yarn
        )?;
        self.set_bands(id, bands).await?;
        self.audit_log(EntityKind::Rug, id, "planned", audit_snapshot(f, bands)).await
    }

    /// Changes what was chosen, if nobody else did since `revision`.
    pub async fn change_rug(
        &mut self,
        id: RugId,
        revision: i64,
        f: &RugFields,
        bands: &[RugBand],
    ) -> Result<(), Error> {
        let making = &f.making;
        let rows = sql!(
            exec self,
            "UPDATE rug SET name = $3, term_id = $4, span_nm = $5, width_nm = $6, nails = $7, pitch_nm = $8,
                 strip_width_nm = $9, warp_kind = $10, weft_kind = $11, fringe_nm = $12, backing = $13,
                 strands_trade = $14, unit_size = $15, rugs_before = $16, home_minutes = $17,
                 sample_length_nm = $18, sample_rows = $19, sample_mass_mg = $20, nail_rows = $21,
                 woven_width_nm = $22, winding = $23, woven_from = $24, warp_strip_nm = $25, warp_yarn = $26, revision = revision + 1
             WHERE id = $1 AND revision = $2",
            id, revision, f.name.clone(), f.term_id, f.span_nm, f.width_nm, f.nails, f.pitch_nm, f.strip_width_nm,
            f.warp_kind, f.weft_kind, f.fringe_nm, f.backing, f.strands_trade, f.unit_size, f.rugs_before,
            f.home_minutes, f.sample_length_nm, f.sample_rows, f.sample_mass_mg,
            making.nail_rows.clone(), making.woven_width_nm, making.winding.clone(), making.woven_from,
            f.warp_strip_nm, f.warp_yarn
        )?;
        check_revision(rows)?;
        sql!(exec self, "DELETE FROM rug_band WHERE rug_id = $1", id)?;
        self.set_bands(id, bands).await?;
        self.audit_log(EntityKind::Rug, id, "changed", audit_snapshot(f, bands)).await
    }

    async fn set_bands(&mut self, id: RugId, bands: &[RugBand]) -> Result<(), Error> {
        for (position, band) in bands.iter().enumerate() {
            sql!(
                exec self,
                "INSERT INTO rug_band (rug_id, position, height_nm, first_name, first_hex, other_name, other_hex,
                     strip_nm, chart)
                 VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
                id, position as i64, band.height, band.first.name.clone(), band.first.hex.clone(),
                band.other.name.clone(), band.other.hex.clone(), band.strip, band.chart.clone()
            )?;
        }
        Ok(())
    }

    /// Puts a rug that isn't done into another term; nothing for one that is finished, given up, or in it already.
    pub async fn go_on_in(&mut self, id: RugId, term: TermId, name: &str) -> Result<bool, Error> {
        let rows = sql!(
            exec self,
            "UPDATE rug SET term_id = $2, revision = revision + 1 WHERE id = $1 AND state IN ('planned', 'weaving')
                 AND (term_id IS NULL OR term_id <> $2)",
            id, term
        )?;
        if rows == 1 {
            // Its turn in the term before is over.
            sql!(exec self, "DELETE FROM place WHERE rug_id = $1 AND term_id <> $2", id, term)?;
            sql!(exec self, "UPDATE turn_wish SET not_before = NULL WHERE rug_id = $1", id)?;
            self.audit_log(EntityKind::Rug, id, "goes on in", json!({ "term": name })).await?;
        }
        Ok(rows == 1)
    }

    /// Sets how far a rug is.
    pub async fn set_rug_state(&mut self, id: RugId, state: RugState) -> Result<(), Error> {
        let rows = sql!(exec self, "UPDATE rug SET state = $1 WHERE id = $2 AND state <> $1", state, id)?;
        if rows == 1 {
            self.audit_log(EntityKind::Rug, id, state.word(), json!({})).await?;
        }
        Ok(())
    }
}
