//! Bundles of cloth and the shelf they lie on. What their weights did is in [`crate::store::cloth::ledger`].
use sqlx::FromRow;

use crate::planning::cloth::Kind;
use crate::planning::colour::{Family, Hex};
use crate::planning::weighed::Weighed;
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

    /// Areal mass of the cloth, where sheets were counted and one was measured: the weight that came in over their area.
    pub fn areal(&self) -> Option<Areal> {
        let (sheets, length, width) = (self.sheets?, self.sheet_length_nm?, self.sheet_width_nm?);
        Areal::measured(self.first_mg, length.checked_mul(sheets)?, width)
    }

    /// The sheets as they were weighed in, where they were counted and one was measured.
    pub fn weighed(&self, workroom: &Workroom) -> Option<Weighed> {
        let (sheets, length, width) = (self.sheets?, self.sheet_length_nm?, self.sheet_width_nm?);
        let (scale, tape) = (workroom.scale_mg, workroom.tape_nm);
        Some(Weighed { mass: self.first_mg, sheets: u32::try_from(sheets).ok()?, length, width, scale, tape })
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

/// What the shelf is searched for; `None` and empty look for everything.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ShelfFilter {
    /// Words that all stand in the tag, kind, colour or note.
    pub text: String,
    /// One kind of cloth.
    pub kind: Option<Kind>,
    /// One family of colours.
    pub family: Option<Family>,
    /// One state.
    pub state: Option<BundleState>,
    /// Used-up bundles too.
    pub empty: bool,
    /// Look into the notes too; they may name people, so not for everybody.
    pub notes: bool,
}

/// What lies on the shelf of one kind in one state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, FromRow)]
pub struct ShelfTotal {
    /// The kind.
    pub kind: Kind,
    /// The state.
    pub state: BundleState,
    /// How many bundles.
    pub bundles: i64,
    /// What they weigh.
    pub balance_mg: Mass,
}

/// The text that anybody may find a bundle by; it ends in a blank, since the note may follow.
pub(in crate::store) fn search_words(tag: i64, fields: &BundleFields) -> String {
    let facts = fields.kind.facts();
    let family = fields.colour_hex.family().title();
    let second = fields
        .second
        .as_ref()
        .map_or_else(String::new, |(name, hex)| format!("{name} {} ", hex.family().title()));
    let BundleFields { colour_name: colour, source, place, .. } = fields;
    let (key, title) = (facts.key, facts.title);
    format!("{tag} {key} {title} {family} {colour} {second}{source} {place} ").to_lowercase()
}

/// Three patterns for LIKE, one for each word looked for; words beyond the second stay together.
fn patterns(text: &str) -> [String; 3] {
    let text = text.to_lowercase().replace('!', "!!").replace('%', "!%").replace('_', "!_");
    let words: Vec<&str> = text.split_whitespace().collect();
    let (first, rest) = words.split_at(words.len().min(2));
    let word = |n: usize| first.get(n).copied().unwrap_or("");
    [word(0), word(1), &rest.join(" ")].map(|word| format!("%{word}%"))
}

impl Read {
    /// One bundle.
    pub async fn bundle(&mut self, id: BundleId) -> Result<Option<Bundle>, Error> {
        sql!(
            opt Bundle, self,
            "SELECT b.*, e.change_mg AS first_mg FROM bundle b JOIN cloth_entry e ON e.bundle_id = b.id AND e.seq = 1
             WHERE b.id = $1",
            id
        )
    }

    /// The bundles that a filter finds, newest first, but one whose tag is the very text before all others.
    pub async fn bundles(
        &mut self,
        filter: &ShelfFilter,
        limit: i64,
        offset: i64,
    ) -> Result<Vec<Bundle>, Error> {
        let [first, second, third] = patterns(&filter.text);
        sql!(
            all Bundle, self,
            "SELECT b.*, e.change_mg AS first_mg FROM bundle b JOIN cloth_entry e ON e.bundle_id = b.id AND e.seq = 1
             WHERE (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $1 ESCAPE '!'
                 AND (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $2 ESCAPE '!'
                 AND (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $3 ESCAPE '!'
                 AND (CAST($4 AS TEXT) IS NULL OR b.kind = $4)
                 AND (CAST($5 AS TEXT) IS NULL OR b.colour_family = $5)
                 AND (CAST($6 AS TEXT) IS NULL OR b.state = $6)
                 AND ($7 OR b.balance_mg > 0)
             ORDER BY CASE WHEN CAST(b.tag AS TEXT) = $9 THEN 0 ELSE 1 END, b.tag DESC
             LIMIT $10 OFFSET $11",
            first, second, third, filter.kind, filter.family, filter.state, filter.empty, filter.notes,
            filter.text.trim().to_owned(), limit, offset
        )
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

    /// What a filter finds in all, by kind and state.
    pub async fn shelf_totals(&mut self, filter: &ShelfFilter) -> Result<Vec<ShelfTotal>, Error> {
        let [first, second, third] = patterns(&filter.text);
        sql!(
            all ShelfTotal, self,
            "SELECT b.kind, b.state, COUNT(*) AS bundles, CAST(SUM(b.balance_mg) AS BIGINT) AS balance_mg
             FROM bundle b
             WHERE (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $1 ESCAPE '!'
                 AND (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $2 ESCAPE '!'
                 AND (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $3 ESCAPE '!'
                 AND (CAST($4 AS TEXT) IS NULL OR b.kind = $4)
                 AND (CAST($5 AS TEXT) IS NULL OR b.colour_family = $5)
                 AND (CAST($6 AS TEXT) IS NULL OR b.state = $6)
                 AND ($7 OR b.balance_mg > 0)
             GROUP BY b.kind, b.state ORDER BY b.kind, b.state",
            first, second, third, filter.kind, filter.family, filter.state, filter.empty, filter.notes
        )
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
        sql!(
            exec self,
            "INSERT INTO bundle (id, tag, kind, colour_name, colour_hex, colour_family, state, sheets,
                 sheet_length_nm, sheet_width_nm, note, words, note_words, balance_mg, entries, made_at, second_name,
                 second_hex, source, place)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20)",
            id, tag, fields.kind, fields.colour_name.clone(), fields.colour_hex, fields.colour_hex.family(), state,
            fields.sheets.map(|sheets| sheets.count), size.map(|size| size.0), size.map(|size| size.1),
            fields.note.clone(), search_words(tag, fields), fields.note.to_lowercase(), balance,
            entries, at, fields.second.as_ref().map(|second| second.0.clone()),
            fields.second.as_ref().map(|second| second.1), fields.source.clone(), fields.place.clone()
        )?;
        Ok(state)
    }
}

#[cfg(test)]
mod tests {
    use super::patterns;

    #[test]
    fn what_is_typed_is_looked_for_as_it_stands() {
        assert_eq!(patterns("  Navy  50%_! soft "), ["%navy%", "%50!%!_!!%", "%soft%"]);
        assert_eq!(patterns(""), ["%%", "%%", "%%"]);
        assert_eq!(patterns("a b c d"), ["%a%", "%b%", "%c d%"]);
    }
}
