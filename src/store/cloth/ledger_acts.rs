//! Adding to the cloth ledger: weigh-ins, washes, pulls, what is put back, scrapped or counted, and reversals. Entries are
//! only ever added. Each act locks its bundle's row first, so what it decides by stays true until it is kept.
use serde_json::json;
use sqlx::FromRow;

use super::bundles::{BundleFields, BundleState};
use super::ledger::{Acted, FROM_A_LIST, Lot, Reason, Refusal, Weighing};
use crate::store::tx::{EntityKind, Write, sql};
use crate::store::{BundleId, EntryId, Error, RequestKey};
use crate::units::Mass;

/// A bundle's row while it is locked.
#[derive(Clone, Copy, Debug, FromRow)]
pub(in crate::store) struct Locked {
    pub(in crate::store) balance_mg: Mass,
    pub(in crate::store) entries: i64,
    pub(in crate::store) state: BundleState,
}

/// An entry about to be made.
pub(in crate::store) struct NewEntry<'a> {
    pub(in crate::store) bundle: BundleId,
    pub(in crate::store) reason: Reason,
    pub(in crate::store) change: Mass,
    pub(in crate::store) weighing: &'a Weighing,
    pub(in crate::store) note: &'a str,
    pub(in crate::store) reverses: Option<EntryId>,
}

#[derive(Clone, Copy, FromRow)]
struct Target {
    change_mg: Mass,
    reason: Reason,
    seq: i64,
    reversed: bool,
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
        let tag = self.last_tag_of(1).await?;
        let state = self.insert_bundle(id, tag, fields, (Mass::ZERO, 0)).await?;
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

    /// Weighs in all the bundles of a list, and answers the numbers for their tapes, first and last. The record gets one
    /// line for the list; the ledger says of each bundle who and when.
    ///
    /// # Errors
    /// As the database fails; a broken `u_cloth_entry__request_key` when this key's list was taken in before.
    pub async fn weigh_in_list(&mut self, key: RequestKey, lots: &[Lot]) -> Result<(i64, i64), Error> {
        let number = i64::try_from(lots.len()).unwrap_or(i64::MAX);
        let last = self.last_tag_of(number).await?;
        let first = last - number + 1;
        for (at, (tag, lot)) in (0..).zip((first..).zip(lots)) {
            let (bundle, weighed) = (BundleId::new(), lot.weighing.net());
            let state = self.insert_bundle(bundle, tag, &lot.fields, (weighed, 1)).await?;
            let (reason, weighing) = (Reason::WeighedIn, &lot.weighing);
            let entry =
                NewEntry { bundle, reason, change: weighed, weighing, note: FROM_A_LIST, reverses: None };
            let empty = Locked { balance_mg: Mass::ZERO, entries: 0, state };
            self.insert_entry((EntryId::new(), None), key.part(at), empty, &entry).await?;
        }
        let all = lots.iter().map(|lot| lot.weighing.net()).sum::<Mass>();
        let detail =
            json!({ "bundles": number, "first_tag": first, "last_tag": last, "weighed_g": all.grams() });
        self.audit_log(EntityKind::Bundle, key, "list taken in", detail).await?;
        Ok((first, last))
    }

    /// Takes the next tags, so many of them, and answers the last.
    pub(in crate::store) async fn last_tag_of(&mut self, number: i64) -> Result<i64, Error> {
        sql!(
            val i64, self,
            "UPDATE counter SET last = last + $1 WHERE name = 'bundle' RETURNING last", number
        )
    }

    /// Reverses an entry, and answers what the bundle weighs then. A reversal itself stays.
    pub async fn undo_entry(&mut self, bundle: BundleId, entry: EntryId, key: RequestKey) -> Acted<Mass> {
        if let Some(pair) = self.cut_pair(bundle, entry).await? {
            return self.undo_cut(pair, bundle, key).await;
        }
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

    /// Moves the balance by a difference that a stocktake found, never under nothing, and answers by how much.
    pub(in crate::store) async fn count_off(
        &mut self,
        bundle: BundleId,
        key: RequestKey,
        change: Mass,
        weighing: &Weighing,
        note: &str,
    ) -> Result<Mass, Error> {
        let Some(locked) = self.lock_bundle(bundle).await? else { return Ok(Mass::ZERO) };
        let change = change.max(-locked.balance_mg);
        if change != Mass::ZERO {
            let entry = NewEntry { bundle, reason: Reason::Count, change, weighing, note, reverses: None };
            self.enter(key, locked, entry).await?;
        }
        Ok(change)
    }

    /// Moves a bundle from one state to another. Ready cloth may have been weighed again after the wash. Back to unwashed
    /// goes only what nothing was pulled or cut from.
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
        self.audit_log(EntityKind::Bundle, bundle, "state", json!({ "from": from.word(), "to": to.word() }))
            .await?;
        Ok(Ok(()))
    }

    /// Says where a bundle lies from now on, where it was thought to lie at `was`.
    pub async fn put_at(&mut self, bundle: BundleId, was: &str, place: &str) -> Acted<()> {
        if self.lock_bundle(bundle).await?.is_none() {
            return Ok(Err(Refusal::NoBundle));
        }
        let (words, lies): (String, String) =
            sql!(one(String, String), self, "SELECT words, place FROM bundle WHERE id = $1", bundle)?;
        if lies != was {
            return Ok(Err(Refusal::Elsewhere));
        }
        if lies == place {
            return Ok(Err(Refusal::Unchanged));
        }
        // Found by where it lies now; the words before its place stay.
        let last =
            |place: &str| if place.is_empty() { String::new() } else { format!("{} ", place.to_lowercase()) };
        let known = words.strip_suffix(&last(&lies)).unwrap_or(&words);
        let words = format!("{known}{}", last(place));
        sql!(
            exec self,
            "UPDATE bundle SET place = $1, words = $2 WHERE id = $3", place.to_owned(), words, bundle
        )?;
        self.audit_log(EntityKind::Bundle, bundle, "put at", json!({ "from": lies, "to": place })).await?;
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
    /// the row; where a SELECT doesn't, it let eighteen pulls through where sixteen were covered.
    pub(in crate::store) async fn lock_bundle(&mut self, id: BundleId) -> Result<Option<Locked>, Error> {
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
            "SELECT COUNT(*) FROM cloth_entry e WHERE e.bundle_id = $1 AND e.reason IN ('pulled', 'cut')
                 AND NOT EXISTS (SELECT 1 FROM cloth_entry r WHERE r.reverses = e.id)",
            bundle
        )?;
        Ok(pulls > 0)
    }

    /// Adds the entry and answers the balance after it.
    pub(in crate::store) async fn enter(
        &mut self,
        key: RequestKey,
        locked: Locked,
        entry: NewEntry<'_>,
    ) -> Result<Mass, Error> {
        self.enter_as((EntryId::new(), None), key, locked, entry).await
    }

    /// The same for an entry whose id is known before, or that names the entry by which strips left their bundle.
    pub(in crate::store) async fn enter_as(
        &mut self,
        named: (EntryId, Option<EntryId>),
        key: RequestKey,
        locked: Locked,
        entry: NewEntry<'_>,
    ) -> Result<Mass, Error> {
        sql!(
            exec self,
            "UPDATE bundle SET balance_mg = balance_mg + $1, entries = entries + 1 WHERE id = $2",
            entry.change, entry.bundle
        )?;
        let after = self.insert_entry(named, key, locked, &entry).await?;
        let seq = locked.entries + 1;
        let detail = json!({ "entry": seq, "change_g": entry.change.grams(), "after_g": after.grams() });
        self.audit_log(EntityKind::Bundle, entry.bundle, entry.reason.word(), detail).await?;
        Ok(after)
    }

    /// Adds the entry's own row and answers the balance after it. The table's own constraints refuse one that doesn't
    /// follow from the one before it, or leaves less than nothing.
    async fn insert_entry(
        &mut self,
        (id, cut): (EntryId, Option<EntryId>),
        key: RequestKey,
        locked: Locked,
        entry: &NewEntry<'_>,
    ) -> Result<Mass, Error> {
        let (at, person, seq) = (self.now(), self.actor.person, locked.entries + 1);
        let after = locked.balance_mg + entry.change;
        sql!(
            exec self,
            "INSERT INTO cloth_entry (id, bundle_id, seq, prev_seq, before_mg, change_mg, after_mg, reason, typed,
                 tare_mg, note, at, person_id, request_key, reverses, cut_entry)
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)",
            id, entry.bundle, seq, (seq > 1).then_some(seq - 1), locked.balance_mg, entry.change, after,
            entry.reason, entry.weighing.typed.clone(), entry.weighing.tare, entry.note.to_owned(), at,
            person, key, entry.reverses, cut
        )?;
        Ok(after)
    }
}
