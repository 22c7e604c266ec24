//! The class's rugs as a list shows them: few columns, and one statement for a page of it.
use sqlx::FromRow;

use super::{Colour, RugState};
use crate::store::people::pattern;
use crate::store::tx::{Read, sql};
use crate::store::{Error, PersonId, RugId};
use crate::units::Length;

/// A rug in one line.
#[derive(Clone, Debug, PartialEq, FromRow)]
pub struct RugLine {
    /// Its id.
    pub id: RugId,
    /// What its weaver calls it.
    pub name: String,
    /// Whose it is.
    pub weaver: String,
    /// How far it is.
    pub state: RugState,
    /// The tag of the frame it is on now.
    pub frame_tag: Option<String>,
    /// The woven width.
    pub width_nm: Length,
    /// The woven length.
    pub length_nm: Length,
    /// Its bands.
    #[sqlx(flatten)]
    pub bands: BandLines,
}

/// A rug's bands in order, as one statement brings them for many rugs: of each three lines, the hex and the name of one colour, of
/// the other, and the height in nanometres. Names are of one line.
#[derive(Clone, Debug, Default, PartialEq, Eq, FromRow)]
pub struct BandLines {
    bands: String,
}

impl BandLines {
    fn colour(line: &str) -> Option<Colour> {
        let (hex, name) = line.split_at_checked("#rrggbb".len())?;
        Some(Colour { name: name.to_owned(), hex: hex.to_owned() })
    }

    /// The bands: the height and the two colours of each.
    pub fn iter(&self) -> impl Iterator<Item = (Length, Colour, Colour)> {
        let lines: Vec<&str> = self.bands.lines().collect();
        let band = |band: &[&str]| {
            let [first, other, height] = band else { return None };
            Some((Length::from_nm(height.parse().ok()?), Self::colour(first)?, Self::colour(other)?))
        };
        lines.chunks(3).filter_map(band).collect::<Vec<_>>().into_iter()
    }

    /// The colours in the order they come, each once.
    pub fn colours(&self) -> Vec<Colour> {
        let mut seen: Vec<Colour> = Vec::new();
        for colour in self.iter().flat_map(|(_, first, other)| [first, other]) {
            if !seen.contains(&colour) {
                seen.push(colour);
            }
        }
        seen
    }
}

impl Read {
    /// Some of a weaver's own rugs, the newest first: those whose name or state holds a text.
    pub async fn own_rugs_found(
        &mut self,
        weaver: PersonId,
        text: &str,
        limit: i64,
    ) -> Result<Vec<RugLine>, Error> {
        sql!(
            all RugLine, self,
            "SELECT r.id, r.name, p.name AS weaver, r.state, f.tag AS frame_tag,
                 COALESCE(r.woven_width_nm, r.width_nm) AS width_nm,
                 (SELECT CAST(SUM(b.height_nm) AS BIGINT) FROM rug_band b WHERE b.rug_id = r.id) AS length_nm, '' AS bands
             FROM rug r JOIN person p ON p.id = r.weaver_id
             LEFT JOIN loan l ON l.rug_id = r.id AND l.taken_back_at IS NULL LEFT JOIN frame f ON f.id = l.frame_id
             WHERE r.weaver_id = $1 AND lower(r.name || ' ' || r.state) LIKE lower($2) ESCAPE '!'
             ORDER BY r.id DESC LIMIT $3",
            weaver, pattern(text), limit
        )
    }

    /// Some of all rugs, the newest first: those whose name, weaver or state holds a text, where one is given.
    pub async fn rugs_found(&mut self, text: &str, limit: i64, offset: i64) -> Result<Vec<RugLine>, Error> {
        sql!(
            all RugLine, self,
            "SELECT r.id, r.name, p.name AS weaver, r.state, f.tag AS frame_tag,
                 COALESCE(r.woven_width_nm, r.width_nm) AS width_nm,
                 (SELECT CAST(SUM(b.height_nm) AS BIGINT) FROM rug_band b WHERE b.rug_id = r.id) AS length_nm,
                 (SELECT string_agg(b.first_hex || b.first_name || '\n' || b.other_hex || b.other_name || '\n' || b.height_nm, '\n'
                     ORDER BY b.position) FROM rug_band b WHERE b.rug_id = r.id) AS bands
             FROM rug r JOIN person p ON p.id = r.weaver_id
             LEFT JOIN loan l ON l.rug_id = r.id AND l.taken_back_at IS NULL LEFT JOIN frame f ON f.id = l.frame_id
             WHERE r.id IN (SELECT x.id FROM rug x JOIN person w ON w.id = x.weaver_id
                 WHERE CAST($1 AS TEXT) = '%%' OR lower(x.name || ' ' || w.name || ' ' || x.state) LIKE lower($1) ESCAPE '!'
                 ORDER BY x.id DESC LIMIT $2 OFFSET $3)
             ORDER BY r.id DESC",
            pattern(text), limit, offset
        )
    }
}
