//! Cloth cut into strips: what leaves a bundle begins a lot of its own that names where it came from. Both entries are
//! made together and undone together.
use sqlx::FromRow;

use super::bundles::{BundleFields, BundleState, search_words};
use super::ledger::{Acted, Reason, Refusal, Weighing};
use super::ledger_acts::{Locked, NewEntry};
use crate::planning::cloth::Kind;
use crate::planning::colour::Hex;
use crate::store::tx::{Write, sql};
use crate::store::{BundleId, EntryId, Error, RequestKey};
use crate::units::{Length, Mass};

/// What is said when a bundle is cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutFields {
    /// The strips, or the balls wound of them.
    pub weighing: Weighing,
    /// How wide the strips are.
    pub width: Length,
    /// Anything else worth knowing; goes with the strips.
    pub note: String,
    /// Whether what is left of the bundle is hems and scraps.
    pub scrap_rest: bool,
}

/// What strips take over from their bundle.
#[derive(Clone, Debug, FromRow)]
struct Origin {
    kind: Kind,
    colour_name: String,
    colour_hex: Hex,
    second_name: Option<String>,
    second_hex: Option<Hex>,
    source: String,
    made_from: Option<BundleId>,
}

/// The two entries of a cut.
#[derive(Clone, Copy, Debug, FromRow)]
pub(in crate::store) struct CutPair {
    from_id: BundleId,
    from_entry: EntryId,
    from_seq: i64,
    lot_id: BundleId,
    lot_entry: EntryId,
    lot_tag: i64,
    change_mg: Mass,
}

impl Write {
    /// Cuts some of a ready bundle into strips, which become the bundle `lot`, and answers the number for its tape.
    pub async fn cut(
        &mut self,
        bundle: BundleId,
        lot: BundleId,
        key: RequestKey,
        cut: &CutFields,
    ) -> Acted<i64> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Err(Refusal::NoBundle)) };
        let origin = sql!(
            opt Origin, self,
            "SELECT kind, colour_name, colour_hex, second_name, second_hex, source, made_from FROM bundle WHERE id = $1", bundle
        )?;
        let Some(origin) = origin else { return Ok(Err(Refusal::NoBundle)) };
        if origin.made_from.is_some() {
            return Ok(Err(Refusal::Strips));
        }
        if locked.state != BundleState::Ready {
            return Ok(Err(Refusal::NotReady(locked.state)));
        }
        let (taken, there) = (cut.weighing.net(), locked.balance_mg);
        if taken > there || taken == Mass::ZERO {
            return Ok(Err(Refusal::TooMuch { there }));
        }
        let left = EntryId::new();
        let entry = NewEntry {
            bundle,
            reason: Reason::Cut,
            change: -taken,
            weighing: &cut.weighing,
            note: &cut.note,
            reverses: None,
        };
        let rest = self.enter_as((left, None), key, locked, entry).await?;
        let tag = self.add_lot(bundle, lot, origin, cut).await?;
        let entry = NewEntry {
            bundle: lot,
            reason: Reason::Cut,
            change: taken,
            weighing: &cut.weighing,
            note: "",
            reverses: None,
        };
        let empty = Locked { balance_mg: Mass::ZERO, entries: 0, state: BundleState::Ready };
        self.enter_as((EntryId::new(), Some(left)), RequestKey::new(), empty, entry).await?;
        if cut.scrap_rest && rest > Mass::ZERO {
            let note = format!("left when bundle {tag} was cut");
            if let Err(refusal) = self.scrap(bundle, RequestKey::new(), None, &note).await? {
                return Ok(Err(refusal));
            }
        }
        Ok(Ok(tag))
    }

    async fn add_lot(
        &mut self,
        from: BundleId,
        lot: BundleId,
        origin: Origin,
        cut: &CutFields,
    ) -> Result<i64, Error> {
        let tag = self.last_tag_of(1).await?;
        let at = self.now();
        let fields = BundleFields {
            second: origin.second_name.zip(origin.second_hex),
            note: cut.note.clone(),
            source: origin.source,
            ..BundleFields::plain(origin.kind, &origin.colour_name, origin.colour_hex, true)
        };
        // A bundle's note may be about its sheets, or about people: it stays with the bundle.
        sql!(
            exec self,
            "INSERT INTO bundle (id, tag, kind, colour_name, colour_hex, colour_family, second_name, second_hex,
                 state, note, source, made_from, strip_width_nm, words, note_words, balance_mg, entries, made_at)
             SELECT $1, $2, kind, colour_name, colour_hex, colour_family, second_name, second_hex,
                 state, $3, source, id, $4, $5, $6, 0, 0, $7
             FROM bundle WHERE id = $8",
            lot, tag, fields.note.clone(), cut.width, format!("{}strips ", search_words(tag, &fields)),
            fields.note.to_lowercase(), at, from
        )?;
        Ok(tag)
    }

    /// Both entries of the cut that an entry of a bundle belongs to.
    pub(in crate::store) async fn cut_pair(
        &mut self,
        bundle: BundleId,
        entry: EntryId,
    ) -> Result<Option<CutPair>, Error> {
        sql!(
            opt CutPair, self,
            "SELECT f.bundle_id AS from_id, f.id AS from_entry, f.seq AS from_seq, l.bundle_id AS lot_id,
                 l.id AS lot_entry, b.tag AS lot_tag, l.change_mg
             FROM cloth_entry l JOIN cloth_entry f ON f.id = l.cut_entry JOIN bundle b ON b.id = l.bundle_id
             WHERE (l.id = $1 OR l.cut_entry = $1)
                 AND $2 = CASE WHEN l.id = $1 THEN l.bundle_id ELSE f.bundle_id END",
            entry, bundle
        )
    }

    /// Reverses a cut on both sides, and answers what the bundle that was asked about weighs then. The bundle is always
    /// locked before its strips, so two who undo from both sides don't wait for each other.
    pub(in crate::store) async fn undo_cut(
        &mut self,
        pair: CutPair,
        asked: BundleId,
        key: RequestKey,
    ) -> Acted<Mass> {
        let Some(from) = self.lock_bundle(pair.from_id).await? else { return Ok(Err(Refusal::NoBundle)) };
        let Some(lot) = self.lock_bundle(pair.lot_id).await? else { return Ok(Err(Refusal::NoBundle)) };
        let reversed = sql!(
            val i64, self,
            "SELECT COUNT(*) FROM cloth_entry WHERE reverses = $1 OR reverses = $2",
            pair.from_entry, pair.lot_entry
        )?;
        if reversed > 0 {
            return Ok(Err(Refusal::Reversed));
        }
        if lot.balance_mg < pair.change_mg {
            return Ok(Err(Refusal::StripsUsed { tag: pair.lot_tag, there: lot.balance_mg }));
        }
        let mut after = Mass::ZERO;
        let sides = [
            (pair.from_id, from, pair.change_mg, pair.from_entry, pair.from_seq),
            (pair.lot_id, lot, -pair.change_mg, pair.lot_entry, 1),
        ];
        for (bundle, locked, change, reverses, seq) in sides {
            let entry = NewEntry {
                bundle,
                reason: Reason::Reversal,
                change,
                weighing: &Weighing::none(),
                note: &format!("reverses entry {seq}"),
                reverses: Some(reverses),
            };
            let this = bundle == asked;
            let key = if this { key } else { RequestKey::new() };
            let weighs = self.enter(key, locked, entry).await?;
            if this {
                after = weighs;
            }
        }
        Ok(Ok(after))
    }
}
