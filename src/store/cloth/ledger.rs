//! The cloth ledger as it is read: its entries, and the words for why one isn't taken. Adding to it is in
//! `ledger_acts`.
use sqlx::FromRow;

use super::bundles::{BundleFields, BundleState};
use crate::planning::cloth::Kind;
use crate::planning::colour::Hex;
use crate::store::columns::{Instant, string_enum};
use crate::store::tx::{Read, sql};
use crate::store::{BundleId, EntryId, Error, PersonId};
use crate::units::{Length, Mass};

string_enum! {
    /// Why a bundle's weight changed.
    Reason {
        /// It came in.
        WeighedIn = "weighed in",
        /// An earlier entry was a mistake.
        Reversal = "reversal",
        /// Lint and shrinkage.
        Wash = "wash",
        /// Taken for a rug.
        Pulled = "pulled",
        /// Some of it came back.
        PutBack = "put back",
        /// Cut into strips: out of a bundle, and into a lot of its own.
        Cut = "cut",
        /// Thrown away.
        Scrap = "scrap",
        /// The scale said otherwise.
        Count = "count",
    }
}

/// A weight read off the scale, and the basket that was on it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weighing {
    /// As typed.
    pub typed: String,
    /// Cloth and basket.
    pub gross: Mass,
    /// The basket; zero for none.
    pub tare: Mass,
}

impl Weighing {
    /// The cloth alone.
    pub fn net(&self) -> Mass {
        self.gross - self.tare
    }

    /// Nothing was weighed: a reversal needs no scale.
    pub(in crate::store) fn none() -> Self {
        Self { typed: String::new(), gross: Mass::ZERO, tare: Mass::ZERO }
    }
}

/// A bundle of a list that is taken in whole: what it is, and what it weighs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lot {
    /// What is said of it.
    pub fields: BundleFields,
    /// What it weighs.
    pub weighing: Weighing,
}

/// Why the ledger doesn't take an entry. Nothing was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// There is no such bundle.
    #[error("there is no such bundle")]
    NoBundle,
    /// The bundle has no such entry.
    #[error("the bundle has no such entry")]
    NoEntry,
    /// Only ready cloth may be pulled or put back.
    #[error("the bundle is {0}, not ready")]
    NotReady(BundleState),
    /// The bundle isn't in the state that the act began from.
    #[error("the bundle is {0} by now")]
    StateIs(BundleState),
    /// Cloth was pulled or cut as washed: the bundle can't go back to unwashed.
    #[error("cloth was pulled or cut from the bundle")]
    WasPulled,
    /// More than there is.
    #[error("the bundle holds less")]
    TooMuch {
        /// What it holds.
        there: Mass,
    },
    /// More comes back than was taken.
    #[error("less of the bundle is out")]
    TooMuchBack {
        /// What was pulled and not yet put back.
        out: Mass,
    },
    /// It is cut already.
    #[error("the bundle is strips already")]
    Strips,
    /// A cut can't be undone once its strips are used.
    #[error("of the strips in bundle {tag} some are gone")]
    StripsUsed {
        /// The lot's tag.
        tag: i64,
        /// What is left of it.
        there: Mass,
    },
    /// The entry was reversed already, or is a reversal.
    #[error("the entry can't be reversed again")]
    Reversed,
    /// Somebody put it elsewhere meanwhile.
    #[error("it lies elsewhere by now")]
    Elsewhere,
    /// Nothing would change.
    #[error("the weight stays the same")]
    Unchanged,
}

/// What came of an act on the ledger: the value, or why it is refused; or the database failed.
pub type Acted<T> = Result<Result<T, Refusal>, Error>;

/// One entry as the ledger table shows it.
#[derive(Clone, Debug, FromRow)]
pub struct Entry {
    /// Its id.
    pub id: EntryId,
    /// Whose ledger.
    pub bundle_id: BundleId,
    /// Its number within that ledger.
    pub seq: i64,
    /// By how much the weight changed.
    pub change_mg: Mass,
    /// The weight after it.
    pub after_mg: Mass,
    /// Why.
    pub reason: Reason,
    /// What was typed, where something was weighed.
    pub typed: String,
    /// The basket.
    pub tare_mg: Mass,
    /// Anything else worth knowing.
    pub note: String,
    /// When.
    pub at: Instant,
    /// Who.
    pub who: String,
    /// The number of the entry that this one reverses.
    pub reverses_seq: Option<i64>,
    /// The number of the entry that reverses this one.
    pub reversed_by: Option<i64>,
    /// The bundle at the other end of a cut.
    pub other_id: Option<BundleId>,
    /// Its tag.
    pub other_tag: Option<i64>,
}

impl Entry {
    /// Whether it may be undone, as far as the entry itself says; the balance may still forbid it.
    pub fn may_be_undone(&self) -> bool {
        self.reason != Reason::Reversal && self.reversed_by.is_none()
    }
}

/// The note of the first entry of a bundle that came in with a list and not over the scale.
pub(in crate::store) const FROM_A_LIST: &str = "from a list";

impl Read {
    /// A bundle's ledger, first entry first.
    pub async fn ledger(&mut self, bundle: BundleId) -> Result<Vec<Entry>, Error> {
        sql!(
            all Entry, self,
            "SELECT e.*, p.name AS who, o.seq AS reverses_seq, r.seq AS reversed_by,
                 b.id AS other_id, b.tag AS other_tag
             FROM cloth_entry e JOIN person p ON p.id = e.person_id
             LEFT JOIN cloth_entry o ON o.id = e.reverses LEFT JOIN cloth_entry r ON r.reverses = e.id
             LEFT JOIN cloth_entry c ON c.cut_entry = e.id OR c.id = e.cut_entry LEFT JOIN bundle b ON b.id = c.bundle_id
             WHERE e.bundle_id = $1 ORDER BY e.seq",
            bundle
        )
    }

    /// Kind and colour of the bundles that came last, so many at most: what is brought most often is offered first.
    pub async fn cloth_of_late(&mut self, most: i64) -> Result<Vec<ClothOfLate>, Error> {
        sql!(
            all ClothOfLate, self,
            "SELECT b.kind, b.colour_name, b.colour_hex FROM bundle b ORDER BY b.id DESC LIMIT $1",
            most
        )
    }

    /// What a person weighed in at the scale since a moment, newest first.
    pub async fn weighed_in_by(&mut self, person: PersonId, since: Instant) -> Result<Vec<WeighIn>, Error> {
        sql!(
            all WeighIn, self,
            "SELECT e.id AS entry_id, e.bundle_id, e.change_mg, e.typed, e.tare_mg, e.at, b.tag, b.kind, b.colour_name,
                 b.colour_hex, b.second_name, b.second_hex, b.state, b.sheets, b.sheet_length_nm, b.sheet_width_nm, b.note, b.source,
                 b.sheet_hem_nm, b.sheet_top_hem_nm, b.sheet_size_labelled,
                 EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id) AS undone
             FROM cloth_entry e JOIN bundle b ON b.id = e.bundle_id
             WHERE e.person_id = $1 AND e.at >= $2 AND e.reason = 'weighed in' AND e.note <> $3
             ORDER BY e.at DESC, b.tag DESC",
            person, since, FROM_A_LIST.to_owned()
        )
    }
}

/// What a bundle is made of.
#[derive(Clone, Debug, FromRow)]
pub struct ClothOfLate {
    /// The cloth.
    pub kind: Kind,
    /// The colour in words.
    pub colour_name: String,
    /// The colour as it looks, about.
    pub colour_hex: Hex,
}

/// One weigh-in, in short.
#[derive(Clone, Debug, FromRow)]
pub struct WeighIn {
    /// The entry in the ledger.
    pub entry_id: EntryId,
    /// The bundle.
    pub bundle_id: BundleId,
    /// What it weighed.
    pub change_mg: Mass,
    /// What was typed.
    pub typed: String,
    /// The basket.
    pub tare_mg: Mass,
    /// When.
    pub at: Instant,
    /// The number on its tape.
    pub tag: i64,
    /// The cloth.
    pub kind: Kind,
    /// The colour in words.
    pub colour_name: String,
    /// The colour as it looks, about.
    pub colour_hex: Hex,
    /// The other colour of a print or a stripe, in words.
    pub second_name: Option<String>,
    /// That colour as it looks, about.
    pub second_hex: Option<Hex>,
    /// How far it is now.
    pub state: BundleState,
    /// How many sheets, if they were counted.
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
    /// Whether it was undone.
    pub undone: bool,
}

impl WeighIn {
    /// The other colour of a print or a stripe.
    pub fn second(&self) -> Option<(&str, Hex)> {
        self.second_name.as_deref().zip(self.second_hex)
    }
}
