//! The shelf: what is searched for on it, its lines and its sums.
use std::sync::{Arc, LazyLock};

use moka::policy::EvictionPolicy;
use moka::sync::Cache;
use sqlx::FromRow;

use crate::planning::cloth::Kind;
use crate::planning::colour::{Family, Hex};
use crate::store::cloth::bundles::{Bundle, BundleState};
use crate::store::cloth::yields::{Grown, Yield};
use crate::store::revision::Revision;
use crate::store::tx::{Read, sql};
use crate::store::{BundleId, Error};
use crate::units::{Length, Mass};

/// A bundle in one line of the shelf.
#[derive(Clone, Debug, PartialEq, FromRow)]
pub struct ShelfLine {
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
    /// Anything else worth knowing.
    pub note: String,
    /// Where it lies on the shelf; may be empty.
    pub place: String,
    /// How wide its strips are, if it is a lot of strips.
    pub strip_width_nm: Option<Length>,
    /// What is left of it.
    pub balance_mg: Mass,
    /// What decides how much of it becomes strip.
    #[sqlx(flatten)]
    pub grown: Grown,
    /// How much of it becomes strip.
    #[sqlx(skip)]
    pub usable: Yield,
}

impl ShelfLine {
    /// The strip that what is left of it is counted on for.
    pub fn strip(&self) -> Mass {
        self.usable.0.net(self.balance_mg)
    }

    /// The other colour of a print or a stripe.
    pub fn second(&self) -> Option<(&str, Hex)> {
        self.second_name.as_deref().zip(self.second_hex)
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
    /// Those alone of which a sheet was measured.
    pub measured: bool,
    /// Look into the notes and where cloth came from, too; they may name people, so not for everybody.
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

/// What the plain searches came to, by what the database was at and by kind, family and state: the sums go over all that lies there,
/// which after many years is most of the page's time.
static TOTALS: LazyLock<Cache<Asked, Arc<Vec<ShelfTotal>>>> = LazyLock::new(|| {
    // The oldest goes first: what was asked for often before a change is of no use after it.
    Cache::builder().max_capacity(256).eviction_policy(EvictionPolicy::lru()).build()
});

type Asked = (Revision, Option<Kind>, Option<Family>, Option<BundleState>);

/// Three patterns for LIKE, one for each word looked for; words beyond the second stay together.
fn patterns(text: &str) -> [String; 3] {
    let text = text.to_lowercase().replace('!', "!!").replace('%', "!%").replace('_', "!_");
    let words: Vec<&str> = text.split_whitespace().collect();
    let (first, rest) = words.split_at(words.len().min(2));
    let word = |n: usize| first.get(n).copied().unwrap_or("");
    [word(0), word(1), &rest.join(" ")].map(|word| format!("%{word}%"))
}

impl ShelfFilter {
    /// Whether it looks for no words and passes over what is used up: then an index leads to what it finds.
    fn is_plain(&self) -> bool {
        !self.empty && !self.measured && self.text.trim().is_empty()
    }
}

impl Read {
    /// The lines of the shelf that a filter finds, in the order of [`Read::bundles`].
    pub async fn shelf(
        &mut self,
        filter: &ShelfFilter,
        limit: i64,
        offset: i64,
    ) -> Result<Vec<ShelfLine>, Error> {
        let mut found = if filter.is_plain() {
            sql!(
                all ShelfLine, self,
                "SELECT b.id, b.tag, b.kind, b.colour_name, b.colour_hex, b.colour_family, b.second_name, b.second_hex, b.state,
                     b.note, b.place, b.strip_width_nm, b.balance_mg, b.made_from, b.sheet_length_nm, b.sheet_width_nm,
                     b.sheet_hem_nm, b.sheet_top_hem_nm, b.sheet_size_labelled
                 FROM bundle b
                 WHERE b.balance_mg > 0 AND (CAST($1 AS TEXT) IS NULL OR b.kind = $1)
                     AND (CAST($2 AS TEXT) IS NULL OR b.colour_family = $2)
                     AND (CAST($3 AS TEXT) IS NULL OR b.state = $3)
                 ORDER BY b.tag DESC LIMIT $4 OFFSET $5",
                filter.kind, filter.family, filter.state, limit, offset
            )?
        } else {
            let [first, second, third] = patterns(&filter.text);
            sql!(
                all ShelfLine, self,
                "SELECT b.id, b.tag, b.kind, b.colour_name, b.colour_hex, b.colour_family, b.second_name, b.second_hex, b.state,
                 b.note, b.place, b.strip_width_nm, b.balance_mg, b.made_from, b.sheet_length_nm, b.sheet_width_nm,
                 b.sheet_hem_nm, b.sheet_top_hem_nm, b.sheet_size_labelled
             FROM bundle b
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
            )?
        };
        let yields = self.yields().await?;
        for line in &mut found {
            line.usable = yields.of(line.kind, &line.grown);
        }
        Ok(found)
    }

    /// The bundles that a filter finds, newest first, but one whose tag is the very text before all others.
    pub async fn bundles(
        &mut self,
        filter: &ShelfFilter,
        limit: i64,
        offset: i64,
    ) -> Result<Vec<Bundle>, Error> {
        let [first, second, third] = patterns(&filter.text);
        let mut found = sql!(
            all Bundle, self,
            "SELECT b.*, e.change_mg AS first_mg FROM bundle b JOIN cloth_entry e ON e.bundle_id = b.id AND e.seq = 1
             WHERE (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $1 ESCAPE '!'
                 AND (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $2 ESCAPE '!'
                 AND (b.words || CASE WHEN $8 THEN b.note_words ELSE '' END) LIKE $3 ESCAPE '!'
                 AND (CAST($4 AS TEXT) IS NULL OR b.kind = $4)
                 AND (CAST($5 AS TEXT) IS NULL OR b.colour_family = $5)
                 AND (CAST($6 AS TEXT) IS NULL OR b.state = $6)
                 AND ($7 OR b.balance_mg > 0) AND (b.sheet_length_nm IS NOT NULL OR NOT $12)
             ORDER BY CASE WHEN CAST(b.tag AS TEXT) = $9 THEN 0 ELSE 1 END, b.tag DESC
             LIMIT $10 OFFSET $11",
            first, second, third, filter.kind, filter.family, filter.state, filter.empty, filter.notes,
            filter.text.trim().to_owned(), limit, offset, filter.measured
        )?;
        let yields = self.yields().await?;
        for bundle in &mut found {
            bundle.usable = yields.of(bundle.kind, &bundle.grown());
        }
        Ok(found)
    }

    /// What a filter finds in all, by kind and state.
    pub async fn shelf_totals(&mut self, filter: &ShelfFilter) -> Result<Arc<Vec<ShelfTotal>>, Error> {
        if !filter.is_plain() {
            return Ok(Arc::new(self.found_totals(filter).await?));
        }
        let Some(revision) = self.revision().await? else {
            return Ok(Arc::new(self.plain_totals(filter).await?));
        };
        let asked = (revision, filter.kind, filter.family, filter.state);
        if let Some(kept) = TOTALS.get(&asked) {
            return Ok(kept);
        }
        let totals = Arc::new(self.plain_totals(filter).await?);
        TOTALS.insert(asked, Arc::clone(&totals));
        Ok(totals)
    }

    async fn plain_totals(&mut self, filter: &ShelfFilter) -> Result<Vec<ShelfTotal>, Error> {
        sql!(
            all ShelfTotal, self,
            "SELECT b.kind, b.state, COUNT(*) AS bundles, CAST(SUM(b.balance_mg) AS BIGINT) AS balance_mg
             FROM bundle b
             WHERE b.balance_mg > 0 AND (CAST($1 AS TEXT) IS NULL OR b.kind = $1)
                 AND (CAST($2 AS TEXT) IS NULL OR b.colour_family = $2)
                 AND (CAST($3 AS TEXT) IS NULL OR b.state = $3)
             GROUP BY b.kind, b.state ORDER BY b.kind, b.state",
            filter.kind, filter.family, filter.state
        )
    }

    async fn found_totals(&mut self, filter: &ShelfFilter) -> Result<Vec<ShelfTotal>, Error> {
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
