//! What the guide says of each step, with the numbers of the rug: what all its parts share. The steps are in the files beside, by when they
//! are done; which of them is at hand is `guide`'s to say.
use crate::drawing::guide::Drawings;
use crate::planning::locking::EndLocking;
use crate::planning::locking::stepping::{BeginAt, RowSteps, row};
use crate::planning::plan::Plan;
use crate::planning::steps::StepKind;
use crate::services::rug_plan::RugPlan;
use crate::units::{Length, Minutes, Units};

pub(super) struct Told<'a> {
    pub(super) known: &'a RugPlan,
    pub(super) plan: &'a Plan,
    pub(super) units: Units,
    pub(super) drawn: Drawings<'a>,
}

impl Told<'_> {
    pub(super) fn show(&self, length: Length) -> String {
        length.show(self.units)
    }

    pub(super) fn minutes(&self, wanted: fn(StepKind) -> bool) -> String {
        let of = self.plan.steps.iter().filter(|step| wanted(step.kind));
        of.map(|step| step.minutes).fold(Minutes::ZERO, |sum, one| sum + one).show()
    }

    /// A row, counted from 0 as it is woven.
    pub(super) fn row(&self, woven: u32) -> Option<RowSteps> {
        row(&self.plan.pattern, &self.plan.warp.locking, woven, self.begin())
    }

    pub(super) const fn begin(&self) -> BeginAt {
        self.drawn.begin
    }

    /// The crossings of a row that locks an end, with those more where units are split.
    pub(super) fn crossings(end: &EndLocking) -> String {
        let (row, more) = (end.row().units(), end.open().len());
        if more == 0 { row.to_string() } else { format!("{row}, and {more} more where units are split") }
    }

    /// What is said of a row that locks an end: from which rod, which strands together, what if loops stay open.
    pub(super) fn locks(&self, end: &EndLocking, woven: u32) -> String {
        let held = end.remedy(4).unwrap_or_else(|| "So the row goes through the loop of each nail.".into());
        let (to_right, turned) = self.row(woven).map_or((true, false), |row| (row.to_right, row.turned));
        let rod = if to_right { "left" } else { "right" };
        // Turned half round, the warp's first strand is at the weaver's right.
        let strands = end.row().text(to_right == turned);
        format!("Begin at the {rod} rod and take the strands so: {strands}. {held}")
    }
}
