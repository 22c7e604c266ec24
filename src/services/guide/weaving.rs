//! What the guide says of the steps of weaving, from a crossing to the row that locks the far end.
use super::step::{GuideStep, changes_at, title};
use super::told::Told;
use crate::planning::reading::{RowNumber, rows_of_bands, rows_said};
use crate::planning::{AtRod, WovenFrom};
use crate::units::{Length, Units};

impl Told<'_> {
    pub(super) fn weave(&self) -> Vec<GuideStep> {
        let (plan, pattern) = (self.plan, &self.plan.pattern);
        let size = pattern.near.size;
        let trade = pattern.at_rod == AtRod::Trade;
        let charted = !pattern.charts.is_empty();
        let more = if charted {
            " In a band with a chart the same colour may stay in front of the next unit: there turn the two once more, the same way, before you go on. Half a turn changes the colour in front, a whole turn keeps it."
        } else {
            ""
        };
        let at_rod = if charted {
            " In a band with a chart the strand begins in front whose colour the first unit of the row shows."
        } else {
            ""
        };
        let over = if self.units == Units::Metric { Length::millimetres(100.0) } else { Length::inches(4.0) };
        let rows_over = plan.weft.rows_per_inch * over.in_inches();
        vec![
            GuideStep {
                key: "crossing",
                title: title("crossing"),
                does: format!("One weft strand goes over a unit of {size} and the other under it; then the two change: the one in front goes down behind the next unit, the other comes up in front. Always turn them the same way within a row.{more}"),
                right: if charted { "Between two units the strands cross once, and neighbouring units show the two strands in turn; by a chart they show its colours, and have crossed twice where it stays the same." } else { "Between two units the strands cross once, and neighbouring units show the two strands in turn." },
                wrong: if charted { "A unit shows another colour than the chart, or without a chart the same as its neighbour: undo back to there." } else { "The same strand lies in front of two units beside each other: undo back to there and let the two change." },
                caution: Some("Stand up and shake out your hands every half hour; stop when something tingles or hurts."),
                numbers: [("Crossings in all", plan.weft.twists.to_string())].into_iter()
                    .chain(charted.then(|| ("Turns more, by the charts", plan.weft.extra_turns.to_string())))
                    .collect(),
                figure: self.drawn.crossing(),
                row: Some(1),
                words: &["crossing", "twist", "twine", "over and under", "two strands", "why two"],
            },
            GuideStep {
                key: "rod-turn",
                title: title("rod-turn"),
                does: if trade {
                    "After the last unit take both strands round the rod and let them trade places: the one that was behind comes to the front first. So each unit shows the other strand in the next row.".to_owned() + at_rod
                } else {
                    "After the last unit take both strands round the rod and keep their places: the one that was in front stays in front. So each unit shows the same strand in every row.".to_owned() + at_rod
                },
                right: if trade { "The figure is checks: no unit shows the same strand as the row below." } else { "The figure is columns: each unit shows the strand that it shows in the row below." },
                wrong: "A hole at the edge: one strand missed the rod. The edge draws in: the turn is too tight. Undo the last row to the rod and lay the turn round it with room for a finger’s nail.",
                caution: None,
                numbers: vec![("At the rod", if trade { "trade places" } else { "keep their places" }.into())],
                figure: self.drawn.rod_turn(),
                row: Some(1),
                words: &["at the rod", "round the rod", "rod turn", "hole at the edge", "hole", "edge", "selvage", "trade", "checks", "columns", "stripes"],
            },
            GuideStep {
                key: "second-row",
                title: title("second-row"),
                does: "Weave back. The warp stands in its units by itself now: take the same strands together as in the first row.".into(),
                right: "Each crossing sits over a crossing of the first row.",
                wrong: "You run out of step with the row below: a unit was split or two were taken together. Undo to where the crossings part.",
                caution: None,
                numbers: vec![("Crossings", pattern.row_units(1).units().to_string())],
                figure: self.drawn.second_row(),
                row: Some(2),
                words: &["second row", "row two", "row 2", "next row", "which gap in row two"],
            },
            GuideStep {
                key: "push-down",
                title: title("push-down"),
                does: format!("Push each row down onto the one before, evenly and not hard. After {} count the rows, and write the count into the log: the plan then goes by it.", self.show(over)),
                right: "The warp can’t be seen between the rows, and the count is near the plan’s.",
                wrong: "Too few rows: push closer. Too many: the weft is too tight, or the strips are thinner than planned; log the count and the plan follows.",
                caution: None,
                numbers: vec![
                    ("Rows", format!("about {rows_over:.0} on {}", self.show(over))),
                    ("Rows in all", format!("about {}", plan.weft.rows)),
                ],
                figure: self.drawn.counted(rows_over, &self.show(over)),
                row: None,
                words: &["push", "beat", "how tight", "too tight", "count", "rows per inch", "warp shows", "too loose rows"],
            },
        ]
    }

    pub(super) fn weave_on(&self) -> Vec<GuideStep> {
        let (plan, pattern) = (self.plan, &self.plan.pattern);
        let bands = rows_of_bands(pattern);
        let band = |(i, band): (usize, &crate::planning::pattern::BandRows)| {
            let [first, other] =
                band.colours.map(|id| self.known.input.colours[usize::from(id)].name.as_str());
            let names = if first == other { first.to_owned() } else { format!("{first} and {other}") };
            ("Rows", format!("{}: {names}", rows_said(&bands[i])))
        };
        let second = (1..pattern.rows()).find(|row| changes_at(plan, *row)).map(|row| row + 1);
        let both = pattern.from != WovenFrom::OneEnd;
        let half = RowNumber::after(pattern, pattern.first_half());
        let last = pattern.rows().saturating_sub(1);
        vec![
            GuideStep {
                key: "new-length",
                title: title("new-length"),
                does: "When a hand’s length is left, join the next strip on as in “Join two strips”. Let the join come to lie behind a unit.".into(),
                right: "No tail and no join shows from the front.",
                wrong: "The join sits in front of a unit: draw the strand back by one crossing, or shorten the old end, and it moves behind.",
                caution: None,
                numbers: vec![("Joins in the weft", format!("about {}", plan.weft.joins))],
                figure: self.drawn.new_length(),
                row: None,
                words: &["ran out", "runs out", "run out", "new length", "new strip", "weft ends", "end of the strip", "too short"],
            },
            GuideStep {
                key: "new-colour",
                title: title("new-colour"),
                does: if pattern.colours().len() > 1 {
                    "Where the change tape or the row counter says so, end the old strand behind the last unit of the row and join the new colour on at the rod.".into()
                } else {
                    "This rug has one colour. If you want another after all, change the plan first: it says how much of each you then need.".into()
                },
                right: "The change runs straight along one row from rod to rod.",
                wrong: "The change came within a row: undo to the rod and change there.",
                caution: None,
                numbers: pattern.bands.iter().enumerate().filter(|(_, band)| band.rows() > 0).take(8).map(band).collect(),
                figure: self.drawn.changes(false),
                row: second,
                words: &["new colour", "colour", "color", "change colour", "band", "next colour"],
            },
            GuideStep {
                key: "turn",
                title: title("turn"),
                does: if both {
                    format!("After {half} turn the frame half round: the far end lies before you. {}", self.locks(&plan.warp.locking.far, pattern.first_half()))
                } else {
                    "When your arm no longer reaches, turn the frame round and weave the same row from the other side of it. The row, its direction and its units stay what they are.".into()
                },
                right: if both { "The rows from both ends meet without a gap, and the figure goes on as the reading card says." } else { "The figure goes on as below: crossings sit over crossings." },
                wrong: "The figure jumps where you turned: a row was begun with the other strand. Undo that row.",
                caution: Some("It takes two to carry a long frame; mind the rods’ ends at eye height."),
                numbers: if both { vec![("From the start", format!("{} rows", pattern.first_half())), ("From the far end", format!("{} rows", pattern.rows() - pattern.first_half()))] } else { Vec::new() },
                figure: if both { self.drawn.locking(pattern.first_half()) } else { self.drawn.changes(true) },
                row: both.then(|| pattern.first_half() + 1),
                words: &["turn the frame", "turn", "reach", "both ends", "far end", "other end", "middle"],
            },
            GuideStep {
                key: "last-row",
                title: title("last-row"),
                does: if both {
                    "Where the halves meet the gap is narrow: draw the strands through with a crochet hook, and weave until no more row goes in.".into()
                } else {
                    format!("The gap gets narrow: draw the strands through with a crochet hook. {}", self.locks(&plan.warp.locking.far, last))
                },
                right: if both { "The rows of both halves touch, and no warp shows between them." } else { "Each nail of the far row has a crossing between the two legs of its loop." },
                wrong: "Both legs of a loop lie in one unit: undo the last row back to the last nail that is right.",
                caution: None,
                numbers: vec![("Crossings", Self::crossings(&plan.warp.locking.far))],
                figure: if both { self.drawn.changes(true) } else { self.drawn.locking(last) },
                row: Some(pattern.rows()),
                words: &["last row", "last inches", "end of the rug", "narrow gap", "hook", "no room", "can t get through", "get through", "tight at the end"],
            },
        ]
    }
}
