//! What a printed plan is called in its code's address, and what the live page says when it is scanned: whether the paper is
//! still right, and if not, what changed.
use std::fmt;
use std::str::FromStr;

use jiff::tz::TimeZone;

use crate::planning::Plan;
use crate::store::audit_log::Change;
use crate::store::rugs::Rug;
use crate::store::{EntityKind, Read};
use crate::units::{Length, Mass, Units};
use crate::web::pages::audit_log::{Told, history};
use crate::web::{CurrentUser, QueryData, Result};

/// A plan on paper, by its revision and the figures that matter: in millimetres, grams and rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::web) struct Printed {
    revision: i64,
    warp_mm: i64,
    weft_g: i64,
    rows: i64,
}

impl Printed {
    pub(in crate::web) fn of(rug: &Rug, plan: &Plan) -> Self {
        Self {
            revision: rug.revision,
            warp_mm: plan.warp.length.p90.mm().round() as i64,
            weft_g: plan.cloth.weft.p90.grams().round() as i64,
            rows: i64::from(plan.weft.rows),
        }
    }

    /// The address of the rug's live page that knows this paper.
    pub(in crate::web) fn link(self, origin: &str, rug: &Rug) -> String {
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

/// What is to be said of a paper.
pub(in crate::web) struct Verdict {
    /// The paper's revision, and the plan's now.
    pub revisions: (i64, i64),
    /// Figures that differ: which, on the paper, now.
    pub figures: Vec<(&'static str, String, String)>,
    /// Changes since it was printed, newest first.
    pub changes: Vec<Told>,
}

impl Verdict {
    /// Whether the paper can still be worked by.
    pub(in crate::web) fn holds(&self) -> bool {
        self.figures.is_empty() && self.revisions.0 >= self.revisions.1
    }

    /// The verdict on the paper that an address names; `None` where it names none.
    pub(in crate::web) async fn on(
        read: &mut Read,
        me: &CurrentUser,
        asked: QueryData,
        rug: &Rug,
        plan: &Plan,
    ) -> Result<Option<Self>> {
        let form = asked.form_of(me);
        let Some(paper) = form.and_then(|form| form.value("paper").parse::<Printed>().ok()) else {
            return Ok(None);
        };
        let lines = read.audit_log_of(EntityKind::Rug, &rug.id.to_string()).await?;
        Ok(Some(Self::of(paper, rug, plan, &lines, &me.zone(), me.units())))
    }

    fn of(paper: Printed, rug: &Rug, plan: &Plan, lines: &[Change], zone: &TimeZone, units: Units) -> Self {
        let now = Printed::of(rug, plan);
        let mut figures = Vec::new();
        if paper.warp_mm != now.warp_mm {
            let said = |mm: i64| Length::millimetres(mm as f64).show_long(units);
            figures.push(("Warp, joined in one ball", said(paper.warp_mm), said(now.warp_mm)));
        }
        if paper.weft_g != now.weft_g {
            let said = |grams: i64| Mass::from_grams(grams as f64).show(units);
            figures.push(("Weft, all colours", said(paper.weft_g), said(now.weft_g)));
        }
        if paper.rows != now.rows {
            figures.push(("Rows", paper.rows.to_string(), now.rows.to_string()));
        }
        // Each change of the plan is one line and one revision: the lines of the revisions that the paper doesn't know.
        let unknown = usize::try_from(rug.revision - paper.revision).unwrap_or(0);
        let of_plan = history(lines, zone).into_iter().filter(|line| line.act == "changed");
        let changes = of_plan.take(unknown).collect();
        Self { revisions: (paper.revision, rug.revision), figures, changes }
    }
}
