//! What a bundle is, corrected: its kind, its colours and where it came from. Its number and its ledger stay, the record keeps what
//! stood there before, and the strips that were cut from it are corrected with it.
use serde_json::{Map, json};
use sqlx::FromRow;

use super::bundles::{Bundle, BundleFields, search_words, staff_words};
use crate::planning::cloth::Kind;
use crate::planning::colour::Hex;
use crate::store::tx::{EntityKind, Write, sql};
use crate::store::{BundleId, Error};

/// What can be mistaken of a bundle when it is weighed in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    /// The cloth.
    pub kind: Kind,
    /// The main colour: in words, and as it looks.
    pub colour: (String, Hex),
    /// The other colour of a print or a stripe.
    pub second: Option<(String, Hex)>,
    /// Where it came from; may be empty.
    pub source: String,
}

impl Identity {
    /// What a bundle is said to be now.
    pub fn of(bundle: &Bundle) -> Self {
        Self {
            kind: bundle.kind,
            colour: (bundle.colour_name.clone(), bundle.colour_hex),
            second: bundle.second().map(|(name, hex)| (name.to_owned(), hex)),
            source: bundle.source.clone(),
        }
    }

    /// All of it in one line, for a form to carry: who corrects what somebody else corrected meanwhile is told.
    pub fn mark(&self) -> String {
        let second = self.second.as_ref().map_or_else(String::new, |(name, hex)| format!("{name} {hex}"));
        let (name, hex) = &self.colour;
        format!("{}; {name} {hex}; {second}; {}", self.kind.key(), self.source)
    }

    fn words(&self) -> [(&'static str, String); 3] {
        let colour = match &self.second {
            Some((second, hex)) => format!("{} {} and {second} {hex}", self.colour.0, self.colour.1),
            None => format!("{} {}", self.colour.0, self.colour.1),
        };
        [("kind", self.kind.key().to_owned()), ("colour", colour), ("source", self.source.clone())]
    }
}

/// What became of a correction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Corrected {
    /// It stands.
    Done,
    /// It was so already.
    Unchanged,
    /// Somebody corrected it meanwhile.
    Meanwhile,
}

/// A bundle or strips of it, as far as they are found by words.
#[derive(FromRow)]
struct Found {
    id: BundleId,
    tag: i64,
    place: String,
    note: String,
    made_from: Option<BundleId>,
}

impl Write {
    /// Corrects what a bundle is, if it still is what `was` says, and the strips that were cut from it.
    pub async fn correct_bundle(
        &mut self,
        bundle: &Bundle,
        was: &str,
        now: &Identity,
    ) -> Result<Corrected, Error> {
        self.lock_bundle(bundle.id).await?;
        let before = Identity::of(bundle);
        if before.mark() != was {
            return Ok(Corrected::Meanwhile);
        }
        if before == *now {
            return Ok(Corrected::Unchanged);
        }
        let found = sql!(
            all Found, self,
            "SELECT b.id, b.tag, b.place, b.note, b.made_from FROM bundle b WHERE b.id = $1
             UNION ALL SELECT c.id, c.tag, c.place, c.note, c.made_from FROM bundle c WHERE c.made_from = $1",
            bundle.id
        )?;
        let strips = found.len() - 1;
        for one in found {
            let fields = BundleFields {
                second: now.second.clone(),
                source: now.source.clone(),
                place: one.place,
                note: one.note,
                ..BundleFields::plain(now.kind, &now.colour.0, now.colour.1, true)
            };
            let mut words = search_words(one.tag, &fields);
            if one.made_from.is_some() {
                words.push_str("strips ");
            }
            sql!(
                exec self,
                "UPDATE bundle SET kind = $2, colour_name = $3, colour_hex = $4, colour_family = $5, second_name = $6,
                     second_hex = $7, source = $8, words = $9, note_words = $10
                 WHERE id = $1",
                one.id, now.kind, now.colour.0.clone(), now.colour.1, now.colour.1.family(),
                now.second.as_ref().map(|second| second.0.clone()), now.second.as_ref().map(|second| second.1),
                now.source.clone(), words, staff_words(&fields)
            )?;
        }
        let mut detail = Map::new();
        for ((name, was), (_, is)) in before.words().into_iter().zip(now.words()) {
            if was != is {
                detail.insert(name.to_owned(), json!(is));
                detail.insert(format!("{name}_before"), json!(was));
            }
        }
        if strips > 0 {
            detail.insert("strips".to_owned(), json!(strips));
        }
        self.audit_log(EntityKind::Bundle, bundle.id, "corrected", detail.into()).await?;
        Ok(Corrected::Done)
    }
}
