//! What the live page says when a paper's code was scanned: whether the paper is still right, and if not, what changed.

use crate::planning::Plan;
pub(in crate::web) use crate::services::paper_data::Printed;
use crate::store::audit_log::Change;
use crate::store::rugs::Rug;
use crate::store::{EntityKind, Read};
use crate::units::dates::WallClock;
use crate::units::{Length, Mass, Units};
use crate::web::pages::audit_log::{Told, history};
use crate::web::{CurrentUser, QueryData, Result};

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
        Ok(Some(Self::of(paper, rug, plan, &lines, &me.wall(), me.units())))
    }

    fn of(paper: Printed, rug: &Rug, plan: &Plan, lines: &[Change], wall: &WallClock, units: Units) -> Self {
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
        let of_plan = history(lines, wall).into_iter().filter(|line| line.act == "changed");
        let changes = of_plan.take(unknown).collect();
        Self { revisions: (paper.revision, rug.revision), figures, changes }
    }
}
