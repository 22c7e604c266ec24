//! The cloth ledger: weigh-ins, washes, pulls, what is put back, scrapped or counted, and reversals. Entries are only
//! ever added. Each act locks its bundle's row first, so what it decides by stays true until it is kept.
use serde_json::json;
use sqlx::FromRow;

use super::bundles::{BundleFields, BundleState, search_words};
use super::columns::{Instant, words};
use super::tx::{Noun, Read, Write, sql};
use super::{BundleId, EntryId, Error, PersonId, RequestKey};
use crate::craft::cloth::Kind;
use crate::craft::colour::Hex;
use crate::craft::units::{Length, Mass};

words! {
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

    fn none() -> Self {
        Self { typed: String::new(), gross: Mass::ZERO, tare: Mass::ZERO }
    }
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
    /// Cloth was pulled as washed: the bundle can't go back to unwashed.
    #[error("cloth was pulled from the bundle")]
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
    /// The entry was reversed already, or is a reversal.
    #[error("the entry can't be reversed again")]
    Reversed,
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
}

impl Entry {
    /// Whether it may be undone, as far as the entry itself says; the balance may still forbid it.
    pub fn may_be_undone(&self) -> bool {
        self.reason != Reason::Reversal && self.reversed_by.is_none()
    }
}

/// A bundle's row while it is locked.
#[derive(Clone, Copy, Debug, FromRow)]
struct Locked {
    balance_mg: Mass,
    entries: i64,
    state: BundleState,
}

/// An entry about to be made.
struct NewEntry<'a> {
    bundle: BundleId,
    reason: Reason,
    change: Mass,
    weighing: &'a Weighing,
    note: &'a str,
    reverses: Option<EntryId>,
}

#[derive(Clone, Copy, FromRow)]
struct Target {
    change_mg: Mass,
    reason: Reason,
    seq: i64,
    reversed: bool,
}

impl Read {
    /// A bundle's ledger, first entry first.
    pub async fn ledger(&mut self, bundle: BundleId) -> Result<Vec<Entry>, Error> {
        sql!(
            all Entry, self,
            "SELECT e.*, p.name AS who, o.seq AS reverses_seq, r.seq AS reversed_by
             FROM cloth_entry e JOIN person p ON p.id = e.person_id
             LEFT JOIN cloth_entry o ON o.id = e.reverses LEFT JOIN cloth_entry r ON r.reverses = e.id
             WHERE e.bundle_id = $1 ORDER BY e.seq",
            bundle
        )
    }

    /// What a person weighed in since a moment, newest first.
    pub async fn weighed_in_by(&mut self, person: PersonId, since: Instant) -> Result<Vec<WeighIn>, Error> {
        sql!(
            all WeighIn, self,
            "SELECT e.id AS entry_id, e.bundle_id, e.change_mg, e.typed, e.tare_mg, e.at, b.tag, b.kind, b.colour_name,
                 b.colour_hex, b.state, b.sheets, b.sheet_length_nm, b.sheet_width_nm, b.note,
                 EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id) AS undone
             FROM cloth_entry e JOIN bundle b ON b.id = e.bundle_id
             WHERE e.person_id = $1 AND e.at >= $2 AND e.reason = 'weighed in' ORDER BY e.at DESC, b.tag DESC",
            person, since
        )
    }
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
    /// How far it is now.
    pub state: BundleState,
    /// How many sheets, if they were counted.
    pub sheets: Option<i64>,
    /// Their length, if one was measured.
    pub sheet_length_nm: Option<Length>,
    /// Their width, if one was measured.
    pub sheet_width_nm: Option<Length>,
    /// Anything else worth knowing.
    pub note: String,
    /// Whether it was undone.
    pub undone: bool,
}

impl Write {
    /// Weighs a new bundle in, and answers the number for its tape.
    pub async fn weigh_in(
        &mut self,
        id: BundleId,
        key: RequestKey,
        fields: &BundleFields,
        weighing: &Weighing,
    ) -> Result<i64, Error> {
        let tag =
            sql!(val i64, self, "UPDATE counter SET last = last + 1 WHERE name = 'bundle' RETURNING last")?;
        let at = self.now();
        let state = if fields.washed { BundleState::Ready } else { BundleState::Arrived };
        let size = fields.sheets.and_then(|sheets| sheets.size);
        sql!(
            exec self,
            "INSERT INTO bundle (id, tag, kind, colour_name, colour_hex, colour_family, state, sheets,
                 sheet_length_nm, sheet_width_nm, note, words, note_words, balance_mg, entries, made_at)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, 0, 0, $14)",
            id, tag, fields.kind, fields.colour_name.clone(), fields.colour_hex, fields.colour_hex.family(), state,
            fields.sheets.map(|sheets| sheets.count), size.map(|size| size.0), size.map(|size| size.1),
            fields.note.clone(), search_words(tag, fields), fields.note.to_lowercase(), at
        )?;
        let entry = NewEntry {
            bundle: id,
            reason: Reason::WeighedIn,
            change: weighing.net(),
            weighing,
            note: "",
            reverses: None,
        };
        let empty = Locked { balance_mg: Mass::ZERO, entries: 0, state };
        self.enter(key, empty, entry).await?;
        Ok(tag)
    }

    /// Reverses an entry, and answers what the bundle weighs then. A reversal itself stays.
    pub async fn undo_entry(&mut self, bundle: BundleId, entry: EntryId, key: RequestKey) -> Acted<Mass> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        let target = sql!(
            opt Target, self,
            "SELECT e.change_mg, e.reason, e.seq,
                 EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id) AS reversed
             FROM cloth_entry e WHERE e.id = $1 AND e.bundle_id = $2",
            entry, bundle
        )?;
        let Some(target) = target else { return Ok(Err(Refusal::NoEntry)) };
        if target.reversed || target.reason == Reason::Reversal {
            return Ok(Err(Refusal::Reversed));
        }
        if target.reason == Reason::Pulled {
            let out = self.out_of(bundle).await?;
            if out + target.change_mg < Mass::ZERO {
                return Ok(Err(Refusal::TooMuchBack { out }));
            }
        }
        // What was put back goes out again, which unwashed cloth may not.
        if target.reason == Reason::PutBack && locked.state != BundleState::Ready {
            return Ok(Err(Refusal::NotReady(locked.state)));
        }
        if locked.balance_mg < target.change_mg {
            return Ok(Err(Refusal::TooMuch { there: locked.balance_mg }));
        }
        let entry = NewEntry {
            bundle,
            reason: Reason::Reversal,
            change: -target.change_mg,
            weighing: &Weighing::none(),
            note: &format!("reverses entry {}", target.seq),
            reverses: Some(entry),
        };
        Ok(Ok(self.enter(key, locked, entry).await?))
    }

    /// Takes cloth from a ready bundle for a rug, and answers what is left.
    pub async fn pull(&mut self, bundle: BundleId, key: RequestKey, w: &Weighing, note: &str) -> Acted<Mass> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        if locked.state != BundleState::Ready {
            return Ok(Err(Refusal::NotReady(locked.state)));
        }
        self.take_out(locked, key, Reason::Pulled, bundle, w, note).await
    }

    /// Throws cloth away, and answers what is left. `None` is all there is.
    pub async fn scrap(
        &mut self,
        bundle: BundleId,
        key: RequestKey,
        weighing: Option<&Weighing>,
        note: &str,
    ) -> Acted<Mass> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        let all = Weighing { typed: "all that was left".into(), gross: locked.balance_mg, tare: Mass::ZERO };
        self.take_out(locked, key, Reason::Scrap, bundle, weighing.unwrap_or(&all), note).await
    }

    /// Puts back what was pulled and not used, and answers what the bundle weighs then.
    pub async fn put_back(
        &mut self,
        bundle: BundleId,
        key: RequestKey,
        weighing: &Weighing,
        note: &str,
    ) -> Acted<Mass> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        if locked.state != BundleState::Ready {
            return Ok(Err(Refusal::NotReady(locked.state)));
        }
        let out = self.out_of(bundle).await?;
        if weighing.net() > out {
            return Ok(Err(Refusal::TooMuchBack { out }));
        }
        let reason = Reason::PutBack;
        let entry = NewEntry { bundle, reason, change: weighing.net(), weighing, note, reverses: None };
        Ok(Ok(self.enter(key, locked, entry).await?))
    }

    /// Sets the balance to what the scale says, and answers the change.
    pub async fn count_bundle(
        &mut self,
        bundle: BundleId,
        key: RequestKey,
        weighing: &Weighing,
        note: &str,
    ) -> Acted<Mass> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        let change = weighing.net() - locked.balance_mg;
        if change == Mass::ZERO {
            return Ok(Err(Refusal::Unchanged));
        }
        let reason = Reason::Count;
        let entry = NewEntry { bundle, reason, change, weighing, note, reverses: None };
        self.enter(key, locked, entry).await?;
        Ok(Ok(change))
    }

    /// Moves a bundle from one state to another. Ready cloth may have been weighed anew after the wash. Back to unwashed
    /// goes only what nothing was pulled from.
    pub async fn move_bundle(
        &mut self,
        bundle: BundleId,
        key: RequestKey,
        (from, to): (BundleState, BundleState),
        weighing: Option<&Weighing>,
    ) -> Acted<()> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        if locked.state != from || from == to {
            return Ok(Err(Refusal::StateIs(locked.state)));
        }
        if from == BundleState::Ready && self.was_pulled(bundle).await? {
            return Ok(Err(Refusal::WasPulled));
        }
        sql!(exec self, "UPDATE bundle SET state = $1 WHERE id = $2", to, bundle)?;
        if let Some(weighing) = weighing.filter(|w| w.net() != locked.balance_mg) {
            let change = weighing.net() - locked.balance_mg;
            let entry = NewEntry { bundle, reason: Reason::Wash, change, weighing, note: "", reverses: None };
            self.enter(key, locked, entry).await?;
        }
        self.record(Noun::Bundle, bundle, "state", json!({ "from": from.word(), "to": to.word() })).await?;
        Ok(Ok(()))
    }

    async fn take_out(
        &mut self,
        locked: Locked,
        key: RequestKey,
        reason: Reason,
        bundle: BundleId,
        weighing: &Weighing,
        note: &str,
    ) -> Acted<Mass> {
        let taken = weighing.net();
        if taken > locked.balance_mg || taken == Mass::ZERO {
            return Ok(Err(Refusal::TooMuch { there: locked.balance_mg }));
        }
        let entry = NewEntry { bundle, reason, change: -taken, weighing, note, reverses: None };
        Ok(Ok(self.enter(key, locked, entry).await?))
    }

    /// Locks a bundle until the end of the change, and reads what acts decide by. An UPDATE that changes nothing locks
    /// the row on PostgreSQL; a SELECT alone let eighteen pulls through where sixteen were covered.
    async fn lock_bundle(&mut self, id: BundleId) -> Result<Option<Locked>, Error> {
        sql!(
            opt Locked, self,
            "UPDATE bundle SET entries = entries WHERE id = $1 RETURNING balance_mg, entries, state", id
        )
    }

    /// What was pulled of a bundle and not put back; reversed entries count for nothing.
    async fn out_of(&mut self, bundle: BundleId) -> Result<Mass, Error> {
        sql!(
            val Mass, self,
            "SELECT CAST(COALESCE(SUM(-e.change_mg), 0) AS BIGINT) FROM cloth_entry e
             WHERE e.bundle_id = $1 AND e.reason IN ('pulled', 'put back')
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id)",
            bundle
        )
    }

    async fn was_pulled(&mut self, bundle: BundleId) -> Result<bool, Error> {
        let pulls = sql!(
            val i64, self,
            "SELECT COUNT(*) FROM cloth_entry e WHERE e.bundle_id = $1 AND e.reason = 'pulled'
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id)",
            bundle
        )?;
        Ok(pulls > 0)
    }

    /// Adds the entry and answers the balance after it. The table's own constraints refuse one that doesn't follow from
    /// the one before it, or leaves less than nothing.
    async fn enter(&mut self, key: RequestKey, locked: Locked, entry: NewEntry<'_>) -> Result<Mass, Error> {
        let (at, id, seq) = (self.now(), EntryId::fresh(), locked.entries + 1);
        let after = locked.balance_mg + entry.change;
        sql!(
            exec self,
            "UPDATE bundle SET balance_mg = balance_mg + $1, entries = entries + 1 WHERE id = $2",
            entry.change, entry.bundle
        )?;
        sql!(
            exec self,
            "INSERT INTO cloth_entry (id, bundle_id, seq, prev_seq, before_mg, change_mg, after_mg, reason, typed,
                 tare_mg, note, at, person_id, request_key, reverses)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)",
            id, entry.bundle, seq, (seq > 1).then_some(seq - 1), locked.balance_mg, entry.change, after,
            entry.reason, entry.weighing.typed.clone(), entry.weighing.tare, entry.note.to_owned(), at,
            self.actor.person, key, entry.reverses
        )?;
        let detail = json!({ "entry": seq, "change_g": entry.change.grams(), "after_g": after.grams() });
        self.record(Noun::Bundle, entry.bundle, entry.reason.word(), detail).await?;
        Ok(after)
    }
}
