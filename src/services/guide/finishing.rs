//! What the guide says of the steps off the frame.
use super::step::{GuideStep, title};
use super::told::Told;
use crate::planning::steps::StepKind;
use crate::units::Length;

impl Told<'_> {
    pub(super) fn finish(&self) -> Vec<GuideStep> {
        let (plan, finish, of_yarn) = (self.plan, &self.plan.finish, self.plan.warp.yarn.is_some());
        vec![
            GuideStep {
                key: "off",
                title: title("off"),
                does: "Untie the rods and draw them out. Lift the loops off one by one, from the middle towards both sides, and look at each: a crossing goes through it.".into(),
                right: "Every loop sits close at the edge and doesn’t move when you pull at it.",
                wrong: "A loop slides out: put it back on its nail and weave a short strip through it and its neighbours before you go on.",
                caution: Some("Lift loops with a hook or a spoon’s handle, not with your fingers against the nails."),
                numbers: vec![("Loops", format!("{} near, {} far", plan.warp.locking.near.loops.len(), plan.warp.locking.far.loops.len())), ("Time", self.minutes(|kind| kind == StepKind::TakeOff))],
                figure: self.drawn.off_the_nails(),
                row: None,
                words: &["off the nails", "take it off", "come off", "comes off", "how does it come off", "take off", "lift", "slides off the loops"],
            },
            GuideStep {
                key: "ends",
                title: title("ends"),
                does: if finish.fringe_strips > 0 {
                    format!("Knot a fringe {} into each loop, {} in all, and draw the weft’s tails in along the edge with a hook.", if of_yarn { "strand" } else { "strip" }, finish.fringe_strips)
                } else {
                    "Draw each tail in along the edge with a hook, about a hand’s width, and cut what is left.".into()
                },
                right: "No tail shows, and the corners lie flat.",
                wrong: "A tail works loose: draw it in again the other way round a unit.",
                caution: None,
                numbers: if finish.fringe_strips > 0 { vec![(if of_yarn { "Fringe strands" } else { "Fringe strips" }, finish.fringe_strips.to_string()), (if of_yarn { "Yarn for them" } else { "Strip for them" }, finish.fringe.p90.show_long(self.units))] } else { Vec::new() },
                figure: self.drawn.ends(finish.fringe_strips),
                row: None,
                words: &["end", "ends", "tail", "fringe", "hide"],
            },
            GuideStep {
                key: "sew",
                title: title("sew"),
                does: "Lay rugs that make one edge to edge, face down, and whip stitch a strip over both edges, through each row’s turn.".into(),
                right: "The seam lies flat and the rows of both panels run on across it.",
                wrong: "It gathers: the strip is too tight. Draw it out and sew with the panels lying flat.",
                caution: None,
                numbers: vec![("Finished size", plan.finished.show(self.units))],
                figure: self.drawn.panels(),
                row: None,
                words: &["sew", "panel", "seam", "two rugs", "whip stitch"],
            },
            GuideStep {
                key: "backing",
                title: title("backing"),
                does: "Cut the backing so that it stays inside the rug’s edge, pin it flat, and slip stitch it on all round. A rug without one slides on a smooth floor.".into(),
                right: "No stitch shows on the face, and the rug lies flat.",
                wrong: "It curls: the backing is too small or sewn too tight. Undo a side and let it lie.",
                caution: Some("Some backings hold natural latex, which some people can’t bear: read what the maker says. Never lay a rug at the head of a stair."),
                numbers: if finish.backing_edge > Length::ZERO { vec![("Edge to stitch", finish.backing_edge.show_long(self.units)), ("Thread", finish.thread.p90.show_long(self.units))] } else { Vec::new() },
                figure: self.drawn.backing(),
                row: None,
                words: &["backing", "slides on the floor", "floor", "slippery", "non slip", "latex"],
            },
            GuideStep {
                key: "wash",
                title: title("wash"),
                does: "Wash it cool and delicate, by itself or in a bag. Reshape it flat and dry it on a line or flat, in the shade.".into(),
                right: "It is dry all through and as flat as before.",
                wrong: "It is out of shape: wet it again, pull it square, and dry it flat.",
                caution: Some("Not in a dryer, and away from heaters. Where the cloth’s own label asks for more care, follow the label."),
                numbers: vec![("Finished size", plan.finished.show(self.units))],
                figure: self.drawn.washing(),
                row: None,
                words: &["wash", "dry", "dirty", "clean", "iron", "shrink"],
            },
        ]
    }
}
