//! Bundles of the past whose whole ledger is known, put in many at once. The table's own constraints hold for them as for
//! others: an entry that doesn't follow from the one before it is refused.
use jiff::Timestamp;
use serde_json::json;

use super::bundles::{BundleFields, BundleState, search_words, staff_words};
use super::ledger::Reason;
use crate::store::tx::{EntityKind, Write};
use crate::store::whole::{Table, Value};
use crate::store::{BundleId, ChangeId, EntryId, Error, PersonId, RequestKey};
use crate::units::Mass;

/// A bundle with all that became of it. It is washed by now.
pub(crate) struct PastBundle {
    /// What was said of it when it was weighed in.
    pub fields: BundleFields,
    /// What its weight did, weighed in first.
    pub entries: Vec<PastEntry>,
}

/// A line of its ledger.
pub(crate) struct PastEntry {
    /// Why.
    pub reason: Reason,
    /// By how much.
    pub change: Mass,
    /// What was read off the scale.
    pub typed: String,
    /// Anything else worth knowing.
    pub note: String,
    /// When.
    pub at: Timestamp,
    /// Who.
    pub person: PersonId,
}

#[allow(clippy::needless_pass_by_value, reason = "ids, words and texts are put in as they come")]
fn text(text: impl ToString) -> Value {
    Value::Text(Some(text.to_string()))
}

fn number(number: i64) -> Value {
    Value::Bigint(Some(number))
}

/// A row in the order of the table's columns; what isn't named is left empty.
fn row(table: &Table, mut named: Vec<(&str, Value)>) -> Vec<Value> {
    use crate::store::whole::ColumnType::{Bigint, Boolean, Text};
    let value = |column: &crate::store::whole::Column| match named
        .iter()
        .position(|(name, _)| *name == column.name)
    {
        Some(at) => named.swap_remove(at).1,
        None => match column.kind {
            Text => Value::Text(None),
            Bigint => Value::Bigint(None),
            Boolean => Value::Boolean(None),
        },
    };
    table.columns.iter().map(value).collect()
}

impl Write {
    /// Puts bundles of the past in, each with its ledger and a line of the record for each entry. They take the next tags, in
    /// their order.
    pub(crate) async fn past_bundles(&mut self, bundles: &[PastBundle]) -> Result<(), Error> {
        let tables = self.tables().await?;
        let [bundle_table, entry_table, record] =
            ["bundle", "cloth_entry", "change"].map(|name| tables.iter().find(|table| table.name == name));
        let (Some(bundle_table), Some(entry_table), Some(record)) = (bundle_table, entry_table, record)
        else {
            return Err(Error::Fault(sqlx::Error::RowNotFound));
        };
        let count = i64::try_from(bundles.len()).unwrap_or(i64::MAX);
        let first = self.last_tag_of(count).await? - count + 1;
        let (mut new, mut entries, mut lines) = (Vec::new(), Vec::new(), Vec::new());
        for (tag, bundle) in (first..).zip(bundles) {
            let (id, mut before) = (BundleId::new(), Mass::ZERO);
            for (seq, entry) in (1..).zip(&bundle.entries) {
                let after = before + entry.change;
                let at = entry.at.as_microsecond();
                entries.push(row(
                    entry_table,
                    vec![
                        ("id", text(EntryId::new())),
                        ("bundle_id", text(id)),
                        ("seq", number(seq)),
                        ("prev_seq", Value::Bigint((seq > 1).then_some(seq - 1))),
                        ("before_mg", number(before.mg())),
                        ("change_mg", number(entry.change.mg())),
                        ("after_mg", number(after.mg())),
                        ("reason", text(entry.reason)),
                        ("typed", text(&entry.typed)),
                        ("tare_mg", number(0)),
                        ("note", text(&entry.note)),
                        ("at", number(at)),
                        ("person_id", text(entry.person)),
                        ("request_key", text(RequestKey::new())),
                    ],
                ));
                let detail =
                    json!({ "entry": seq, "change_g": entry.change.grams(), "after_g": after.grams() });
                lines.push(row(
                    record,
                    vec![
                        ("id", text(ChangeId::new())),
                        ("at", number(at)),
                        ("person_id", text(entry.person)),
                        ("noun", text(EntityKind::Bundle)),
                        ("noun_id", text(id)),
                        ("act", text(entry.reason)),
                        ("detail", text(detail)),
                    ],
                ));
                before = after;
            }
            let f = &bundle.fields;
            let size = f.sheets.and_then(|sheets| sheets.size);
            let made_at = bundle.entries.first().map_or(0, |entry| entry.at.as_microsecond());
            new.push(row(
                bundle_table,
                vec![
                    ("id", text(id)),
                    ("tag", number(tag)),
                    ("kind", text(f.kind.key())),
                    ("colour_name", text(&f.colour_name)),
                    ("colour_hex", text(f.colour_hex)),
                    ("colour_family", text(f.colour_hex.family().key())),
                    ("second_name", Value::Text(f.second.as_ref().map(|second| second.0.clone()))),
                    ("second_hex", Value::Text(f.second.as_ref().map(|second| second.1.to_string()))),
                    ("state", text(BundleState::Ready)),
                    ("sheets", Value::Bigint(f.sheets.map(|sheets| sheets.count))),
                    ("sheet_length_nm", Value::Bigint(size.map(|size| size.0.nm()))),
                    ("sheet_width_nm", Value::Bigint(size.map(|size| size.1.nm()))),
                    ("sheet_size_labelled", Value::Boolean(Some(false))),
                    ("note", text(&f.note)),
                    ("source", text(&f.source)),
                    ("place", text(&f.place)),
                    ("words", text(search_words(tag, f))),
                    ("note_words", text(staff_words(f))),
                    ("balance_mg", number(before.mg())),
                    ("entries", number(i64::try_from(bundle.entries.len()).unwrap_or(i64::MAX))),
                    ("revision", number(1)),
                    ("made_at", number(made_at)),
                ],
            ));
        }
        self.fill(bundle_table, &new).await?;
        self.fill(entry_table, &entries).await?;
        self.fill(record, &lines).await?;
        self.skip_audit();
        Ok(())
    }
}
