//! Bundles of cloth. What lies on the shelf is in [`crate::store::cloth::shelf`]; what their weights did is in [`crate::store::cloth::ledger`].
use sqlx::FromRow;

use crate::planning::cloth::Kind;
use crate::planning::colour::{Family, Hex};
use crate::planning::usable::{Hems, SizeFrom, unfolded};
use crate::planning::weighed::Weighed;
use crate::store::cloth::yields::{Grown, Yield, size_from};
use crate::store::columns::{Instant, column, string_enum, text_column};
use crate::store::tx::{Read, Write, sql};
use crate::store::workroom::Workroom;
use crate::store::{BundleId, Error};
use crate::units::{Areal, Length, Mass};

string_enum! {
    /// How far a bundle is on its way to the shelf. Only ready cloth is pulled.
    BundleState {
        /// Came in unwashed.
        Arrived = "arrived",
        /// In the wash or on the line.
        Washing = "washing",
        /// Clean and dry, on the shelf.
        Ready = "ready",
    }
}

impl BundleState {
    /// What it is called where people read it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Arrived => "not washed",
            Self::Washing => "in the wash",
            Self::Ready => "washed, ready",
        }
    }
}

text_column!(Hex);
column!(Family, String, |value| value.key().to_owned(), |raw| raw.parse().map_err(Into::into));

/// A bundle as the shelf shows it.
#[derive(Clone, Debug, PartialEq, FromRow)]
pub struct Bundle {
    /// Its id.
    pub id: BundleId,
    /// The number on its tape.
    pub tag: i64,
    /// The cloth.
    pub kind: Kind,
    /// The colour in words.
    pub colour_name: String,
    /// The colour as it looks, about.
    pub colour_hex: Hex,
    /// The family of the colour.
    pub colour_family: Family,
    /// The other colour of a print or a stripe, in words.
    pub second_name: Option<String>,
    /// That colour as it looks, about.
    pub second_hex: Option<Hex>,
    /// How far it is on its way to the shelf.
    pub state: BundleState,
    /// How many sheets were weighed in, if they were counted.
    pub sheets: Option<i64>,
    /// Their length, if one was measured.
    pub sheet_length_nm: Option<Length>,
    /// Their width, if one was measured.
    pub sheet_width_nm: Option<Length>,
    /// Their narrower hem, if hems were measured.
    pub sheet_hem_nm: Option<Length>,
    /// Their hem at the top, if it is wider.
    pub sheet_top_hem_nm: Option<Length>,
    /// Whether their size is the label's, before hemming.
    pub sheet_size_labelled: bool,
    /// Anything else worth knowing.
    pub note: String,
    /// Where it came from in a word; may be empty.
    pub source: String,
    /// Where it lies on the shelf; may be empty.
    pub place: String,
    /// The bundle that it was cut from, if it is a lot of strips.
    pub made_from: Option<BundleId>,
    /// How wide its strips are, if it is one.
    pub strip_width_nm: Option<Length>,
    /// What is left of it.
    pub balance_mg: Mass,
    /// What it weighed when it came in or was cut.
    pub first_mg: Mass,
    /// How much of it becomes strip.
    #[sqlx(skip)]
    pub usable: Yield,
    /// How many entries its ledger has.
    pub entries: i64,
    /// When it came in.
    pub made_at: Instant,
}

impl Bundle {
    /// The other colour of a print or a stripe.
    pub fn second(&self) -> Option<(&str, Hex)> {
        self.second_name.as_deref().zip(self.second_hex)
    }

    /// Areal mass of the cloth, where sheets were counted and one was measured: the weight that came in over the area of their
    /// cloth, hems unfolded.
    pub fn areal(&self) -> Option<Areal> {
        let (sheets, length, width) = (self.sheets?, self.sheet_length_nm?, self.sheet_width_nm?);
        let (cloth, _) = unfolded(length, self.hems(), self.size_from());
        Areal::measured(self.first_mg, cloth.checked_mul(sheets)?, width)
    }

    /// The hems of its sheets, where they were measured.
    pub fn hems(&self) -> Option<Hems> {
        Some(Hems { hem: self.sheet_hem_nm?, top: self.sheet_top_hem_nm })
    }

    pub(super) fn grown(&self) -> Grown {
        Grown {
            made_from: self.made_from,
            sheet_length_nm: self.sheet_length_nm,
            sheet_width_nm: self.sheet_width_nm,
            sheet_hem_nm: self.sheet_hem_nm,
            sheet_top_hem_nm: self.sheet_top_hem_nm,
            sheet_size_labelled: self.sheet_size_labelled,
        }
    }

    /// The strip that what is left of it is counted on for.
    pub fn strip(&self) -> Mass {
        self.usable.0.net(self.balance_mg)
    }

    /// What the size of its sheets was read from.
    pub fn size_from(&self) -> SizeFrom {
        size_from(self.sheet_size_labelled)
    }

    /// The sheets as they were weighed in, where they were counted and one was measured.
    pub fn weighed(&self, workroom: &Workroom) -> Option<Weighed> {
        let (sheets, length, width) = (self.sheets?, self.sheet_length_nm?, self.sheet_width_nm?);
        let (scale, tape) = (workroom.scale_mg, workroom.tape_nm);
        let (sheets, hems) = (u32::try_from(sheets).ok()?, self.hems());
        Some(Weighed {
            mass: self.first_mg,
            sheets,
            length,
            width,
            scale,
            tape,
            hems,
            size: self.size_from(),
        })
    }

    /// How many of its sheets are left, by what is left of its weight.
    pub fn sheets_left(&self) -> Option<u32> {
        let left = self.sheets? as f64 * self.balance_mg.ratio(self.first_mg);
        // Lint and the scale's step must not cost a sheet.
        Some((left + 0.2).floor() as u32)
    }
}

/// Sheets that were counted, and perhaps one of them measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sheets {
    /// How many.
    pub count: i64,
    /// Length and width of one.
    pub size: Option<(Length, Length)>,
    /// The hems of that one.
    pub hems: Option<Hems>,
    /// What the size was read from.
    pub from: SizeFrom,
}

impl Sheets {
    /// So many, of which nothing more is known, or one was measured.
    pub fn plain(count: i64, size: Option<(Length, Length)>) -> Self {
        Self { count, size, hems: None, from: SizeFrom::Measured }
    }
}

/// What is said of a bundle when it is weighed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BundleFields {
    /// The cloth.
    pub kind: Kind,
    /// The colour in words.
    pub colour_name: String,
    /// The colour as it looks, about.
    pub colour_hex: Hex,
    /// The other colour of a print or a stripe: in words, and as it looks.
    pub second: Option<(String, Hex)>,
    /// Whether it came in washed and goes straight to the shelf.
    pub washed: bool,
    /// Its sheets, if they were counted.
    pub sheets: Option<Sheets>,
    /// Anything else worth knowing.
    pub note: String,
    /// Where it came from in a word; may be empty.
    pub source: String,
    /// Where it lies on the shelf, in up to [`PLACE`] characters; may be empty.
    pub place: String,
}

/// The longest place on the shelf, in characters: it has to stand on a tag.
pub const PLACE: usize = 24;

impl BundleFields {
    /// Cloth of which nothing more is said.
    pub fn plain(kind: Kind, colour_name: &str, colour_hex: Hex, washed: bool) -> Self {
        Self {
            kind,
            colour_name: colour_name.to_owned(),
            colour_hex,
            second: None,
            washed,
            sheets: None,
            note: String::new(),
            source: String::new(),
            place: String::new(),
        }
    }

    /// The other colour of a print or a stripe.
    pub fn second(&self) -> Option<(&str, Hex)> {
        self.second.as_ref().map(|(name, hex)| (name.as_str(), *hex))
    }
}

/// The text that anybody may find a bundle by; it ends in a blank, since the note may follow.
pub(in crate::store) fn search_words(tag: i64, fields: &BundleFields) -> String {
    let facts = fields.kind.facts();
    let family = fields.colour_hex.family().title();
    let second = fields
        .second
        .as_ref()
        .map_or_else(String::new, |(name, hex)| format!("{name} {} ", hex.family().title()));
    let BundleFields { colour_name: colour, place, .. } = fields;
    let (key, title) = (facts.key, facts.title);
    format!("{tag} {key} {title} {family} {colour} {second}{place} ").to_lowercase()
}

/// What staff may find a bundle by besides: the note, and where it came from, which may both name people.
pub(in crate::store) fn staff_words(fields: &BundleFields) -> String {
    format!("{} {}", fields.note, fields.source).to_lowercase()
}

impl Read {
    /// One bundle.
    pub async fn bundle(&mut self, id: BundleId) -> Result<Option<Bundle>, Error> {
        let mut bundle = sql!(
            opt Bundle, self,
            "SELECT b.*, e.change_mg AS first_mg FROM bundle b JOIN cloth_entry e ON e.bundle_id = b.id AND e.seq = 1
             WHERE b.id = $1",
            id
        )?;
        if let Some(bundle) = &mut bundle {
            bundle.usable = self.yields().await?.of(bundle.kind, &bundle.grown());
        }
        Ok(bundle)
    }

    /// The bundle with this number on its tape.
    pub async fn bundle_tagged(&mut self, tag: i64) -> Result<Option<BundleId>, Error> {
        let found = sql!(all(BundleId,), self, "SELECT b.id FROM bundle b WHERE b.tag = $1", tag)?;
        Ok(found.into_iter().next().map(|(id,)| id))
    }

    /// Where cloth came from so far, in words, each once.
    pub async fn sources(&mut self) -> Result<Vec<String>, Error> {
        let sources = sql!(
            all(String,),
            self,
            "SELECT DISTINCT b.source FROM bundle b WHERE b.source <> '' ORDER BY b.source LIMIT 60"
        )?;
        Ok(sources.into_iter().map(|(source,)| source).collect())
    }
}

impl Write {
    /// Adds a bundle's row, with what it weighs and how many entries say so.
    pub(in crate::store) async fn insert_bundle(
        &mut self,
        id: BundleId,
        tag: i64,
        fields: &BundleFields,
        (balance, entries): (Mass, i64),
    ) -> Result<BundleState, Error> {
        let at = self.now();
        let state = if fields.washed { BundleState::Ready } else { BundleState::Arrived };
        let size = fields.sheets.and_then(|sheets| sheets.size);
        let hems = fields.sheets.and_then(|sheets| sheets.hems);
        sql!(
            exec self,
            "INSERT INTO bundle (id, tag, kind, colour_name, colour_hex, colour_family, state, sheets,
                 sheet_length_nm, sheet_width_nm, note, words, note_words, balance_mg, entries, made_at, second_name,
                 second_hex, source, place, sheet_hem_nm, sheet_top_hem_nm, sheet_size_labelled)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, $22, $23)",
            id, tag, fields.kind, fields.colour_name.clone(), fields.colour_hex, fields.colour_hex.family(), state,
            fields.sheets.map(|sheets| sheets.count), size.map(|size| size.0), size.map(|size| size.1),
            fields.note.clone(), search_words(tag, fields), staff_words(fields), balance,
            entries, at, fields.second.as_ref().map(|second| second.0.clone()),
            fields.second.as_ref().map(|second| second.1), fields.source.clone(), fields.place.clone(),
            hems.map(|hems| hems.hem), hems.and_then(|hems| hems.top),
            fields.sheets.is_some_and(|sheets| sheets.from == SizeFrom::Label)
        )?;
        Ok(state)
    }
}
