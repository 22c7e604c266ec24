//! What a printed plan is called in its code's address.
use std::fmt;
use std::str::FromStr;

use crate::planning::Plan;
use crate::store::rugs::Rug;

/// A plan on paper, by its revision and the figures that matter: in millimetres, grams and rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Printed {
    pub revision: i64,
    pub warp_mm: i64,
    pub weft_g: i64,
    pub rows: i64,
}

impl Printed {
    pub fn of(rug: &Rug, plan: &Plan) -> Self {
        Self {
            revision: rug.revision,
            warp_mm: plan.warp.length.p90.mm().round() as i64,
            weft_g: plan.cloth.weft.p90.grams().round() as i64,
            rows: i64::from(plan.weft.rows),
        }
    }

    /// The address of the rug's live page that knows this paper.
    pub fn link(self, origin: &str, rug: &Rug) -> String {
        format!("{origin}/rugs/{}?paper={self}", rug.id)
    }
}

impl fmt::Display for Printed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}.{}.{}", self.revision, self.warp_mm, self.weft_g, self.rows)
    }
}

impl FromStr for Printed {
    type Err = ();

    fn from_str(text: &str) -> std::result::Result<Self, ()> {
        let parts: Vec<i64> =
            text.split('.').map(str::parse).collect::<std::result::Result<_, _>>().map_err(|_| ())?;
        let [revision, warp_mm, weft_g, rows] = parts.try_into().map_err(|_| ())?;
        let sane = [revision, warp_mm, weft_g, rows].iter().all(|n| (0..1_000_000_000).contains(n));
        if sane { Ok(Self { revision, warp_mm, weft_g, rows }) } else { Err(()) }
    }
}
