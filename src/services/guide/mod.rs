//! The steps at the frame for one rug: what is done, how one sees that it is right, what it looks like when it is wrong and how to undo
//! it, with a drawing and the numbers of this rug. Which of them is at hand follows from the log. Sentences on how things are done are
//! common practice, no source, but where one is named.
mod finishing;
mod prepare;
mod step;
mod told;
mod weaving;

use super::rug_plan::RugPlan;
use crate::drawing::guide::Drawings;
use crate::drawing::rug_face::Swatch;
use crate::planning::WovenFrom;
use crate::planning::colour::Hex;
use crate::planning::locking::stepping::BeginAt;
use crate::store::rugs::{Rug, RugState};
use crate::units::Units;
use step::changes_at;
pub use step::{GuideStep, ahead, named, number, title};
use told::Told;

/// A rug's colours by their numbers, as drawings take them.
pub fn palette(known: &RugPlan) -> Vec<Swatch> {
    let swatch = |colour: &crate::store::rugs::Colour| {
        let hex = Hex::parse(&colour.hex).unwrap_or(Hex::rgb(0x80_8080));
        Swatch { name: colour.name.to_lowercase(), hex }
    };
    known.input.colours.iter().map(swatch).collect()
}

/// A rug's steps in their order, for who begins its first row at this rod.
pub fn steps(known: &RugPlan, units: Units, begin: BeginAt) -> Vec<GuideStep> {
    let palette = palette(known);
    let drawn = Drawings { plan: &known.plan, palette: &palette, begin, afar: false };
    let told = Told { known, plan: &known.plan, units, drawn };
    [told.prepare(), told.on_the_frame(), told.weave(), told.weave_on(), told.finish()]
        .into_iter()
        .flatten()
        .collect()
}

/// The step that a rug is at, by its state and the rows that are counted.
pub fn at_hand(rug: &Rug, known: &RugPlan, rows: u32) -> &'static str {
    let (plan, pattern) = (&known.plan, &known.plan.pattern);
    let left = plan.weft.rows.saturating_sub(rows);
    let slow = plan.weft.rows_per_inch * SLOW_INCHES;
    if rug.state == RugState::Finished {
        "wash"
    } else if left == 0 {
        "off"
    } else if rows == 0 {
        match (rug.frame_tag.is_some(), known.status.progress.began) {
            (_, true) => "first-row",
            (true, false) => "wind-on",
            (false, false) => "strips",
        }
    } else if f64::from(left) <= slow {
        "last-row"
    } else if pattern.from != WovenFrom::OneEnd && rows == pattern.first_half() {
        "turn"
    } else if changes_at(plan, rows) {
        "new-colour"
    } else if rows < 2 {
        "second-row"
    } else {
        "push-down"
    }
}

/// The step that answers a question in everyday words; nothing where none of them is known. The longest of the words known decides.
pub fn answers(steps: &[GuideStep], question: &str) -> Option<usize> {
    let plain: String =
        question.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let asked = format!(" {} ", plain.split_whitespace().collect::<Vec<_>>().join(" "));
    let known = |step: &GuideStep| {
        let own = [step.title.to_lowercase()];
        let words = step.words.iter().copied().chain(own.iter().map(String::as_str));
        words.filter(|words| asked.contains(&format!(" {words}"))).map(str::len).max().unwrap_or_default()
    };
    let best = steps
        .iter()
        .enumerate()
        .map(|(i, step)| (known(step), i))
        .max_by_key(|(length, i)| (*length, steps.len() - i))?;
    (best.0 > 0).then_some(best.1)
}

/// The last inches, with little room for the hand: reasoned estimate, as the plan's own.
const SLOW_INCHES: f64 = 2.0;
