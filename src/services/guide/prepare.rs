//! What the guide says of the steps up to the first row: strips, joins, ball, winding on, rods, and the row that locks the near end.
use super::step::{GuideStep, title};
use super::told::Told;
use crate::planning::steps::StepKind;

impl Told<'_> {
    pub(super) fn prepare(&self) -> Vec<GuideStep> {
        let (warp, weft) = (&self.plan.warp, &self.plan.weft);
        let wide = [self.show(weft.strip), self.show(warp.strip)];
        vec![
            GuideStep {
                key: "strips",
                title: title("strips"),
                does: format!(
                    "Cut off hems and seams, snip the edge every {}, and tear or cut along the thread. Leave out thin and stained places.",
                    wide[0]
                ),
                right: "All strips are as wide as the first, and their edges run along one thread.",
                wrong: "A strip that narrows will break when it is pulled: cut the narrow part out and join the rest.",
                caution: Some("Cut away from the hand that holds the cloth, and close a rotary cutter whenever you lay it down."),
                numbers: vec![
                    ("Weft strips", format!("{} wide", wide[0])),
                    ("Warp strips", format!("{} wide, {} of {}", self.show(warp.strip_width), warp.strips, wide[1])),
                    ("Time", self.minutes(|kind| kind == StepKind::CutStrips)),
                ],
                figure: self.drawn.strips(weft.strip, warp.strip, &wide),
                row: None,
                words: &["cut", "tear", "torn", "strip", "how wide", "sheet", "hem", "scissors"],
            },
            GuideStep {
                key: "join",
                title: title("join"),
                does: "Lay two ends over each other by an inch, fold them, and make a small snip through both. Draw the new strip’s other end through both slits and pull until the join lies flat.".into(),
                right: "The join is no thicker than a knot of one strip, and holds a firm pull.",
                wrong: "It slips: the snip is too near the end. Cut the ends off and make it ¾ to 1 in from the fold.",
                caution: None,
                numbers: vec![
                    ("A join takes", format!("{} of both ends together", self.show(warp.join))),
                    ("Joins", format!("{} in the warp, about {} in the weft", warp.joins, weft.joins)),
                ],
                figure: self.drawn.join(self.units),
                row: None,
                words: &["join", "slit", "knot", "tie two", "snip", "came apart", "comes apart"],
            },
            GuideStep {
                key: "ball",
                title: title("ball"),
                does: "Join all strips of the warp before you wind on, and wind them to a ball. The weft is joined as you go.".into(),
                right: "The ball has all strips that the list names, and runs off without twisting.",
                wrong: "Too few strips: it ends before the last nail. Join more on now; on the frame it is hard.",
                caution: None,
                numbers: vec![
                    ("Ball", format!("{}, expected {}", warp.length.p90.show_long(self.units), warp.length.expected.show_long(self.units))),
                    ("Strips", warp.strips.to_string()),
                    ("Time", self.minutes(|kind| kind == StepKind::JoinWarp)),
                ],
                figure: self.drawn.ball(&warp.length.p90.show_long(self.units)),
                row: None,
                words: &["ball", "how much warp", "warp long", "enough warp"],
            },
        ]
    }

    pub(super) fn on_the_frame(&self) -> Vec<GuideStep> {
        let (warp, rods) = (&self.plan.warp, &self.plan.rods);
        let ends = |turn: Option<&crate::planning::warp::winding::Turn>| {
            turn.map_or_else(String::new, |turn| turn.nail.to_string())
        };
        let tied = [warp.way.turns.first(), warp.way.turns.last()].map(ends);
        let every = self.show(rods.tie_every);
        vec![
            GuideStep {
                key: "wind-on",
                title: title("wind-on"),
                does: format!(
                    "Tie the strip at {}, lead it to the other row, round the nail and back, nail by nail, and tie it at {}. Keep one tension: taut, but so that a finger can still lift a strand.",
                    tied[0], tied[1]
                ),
                right: "Every strand gives alike when you run your hand across them, and the count is right.",
                wrong: "A slack strand, or one too tight: take up from there to the end of the strip, nail by nail. A nail missed: unwind back to it.",
                caution: Some(
                    "Nail ends scratch and catch sleeves: wind on with an open hand, your face away from the row.",
                ),
                numbers: vec![
                    ("Strands", warp.strands.to_string()),
                    ("Nails", format!("{} an end", warp.nails)),
                    ("Time", self.minutes(|kind| kind == StepKind::WindOn)),
                ],
                figure: self.drawn.winding(),
                row: None,
                words: &[
                    "wind",
                    "tension",
                    "loose warp",
                    "too loose",
                    "slack",
                    "sags",
                    "nail by nail",
                    "too tight warp",
                ],
            },
            GuideStep {
                key: "rods",
                title: title("rods"),
                does: format!(
                    "Lay a rod along each side and tie it to the frame at both ends and every {every}. The weft goes round it at the end of each row."
                ),
                right: "Both rods are straight, and as far apart at the middle as at the ends.",
                wrong: "The sides bow in: the weft pulls. Tie the rods closer, and leave the turns at the rod looser from here on.",
                caution: Some("A rod reaches past the frame at eye height: cork or tape its ends."),
                numbers: vec![
                    ("Rods", format!("{} of at least {}", rods.count, self.show(rods.least))),
                    ("Ties between the ends", format!("{} on each", rods.ties)),
                ],
                figure: self.drawn.rods(rods.ties, &every),
                row: None,
                words: &[
                    "rod",
                    "bow",
                    "bowed in",
                    "bows in",
                    "waist",
                    "edges pull",
                    "narrower",
                    "narrow in the middle",
                    "hourglass",
                ],
            },
            GuideStep {
                key: "first-row",
                title: title("first-row"),
                does: self.locks(&warp.locking.near, 0),
                right: "Each nail of the near row has a crossing between the two legs of its loop.",
                wrong: "Both legs of a loop lie in one unit: off the nails the row slides away. Undo it back to the last nail that is right.",
                caution: None,
                numbers: vec![("Crossings", Self::crossings(&warp.locking.near))],
                figure: self.drawn.locking(0),
                row: Some(1),
                words: &[
                    "first row",
                    "gap",
                    "which gap",
                    "slides off",
                    "slides",
                    "slips off",
                    "start",
                    "begin",
                    "where do i start",
                ],
            },
        ]
    }
}
