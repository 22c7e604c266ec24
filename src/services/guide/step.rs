//! One step of the guide, the steps' names, and where a band begins.
use crate::drawing::figure::Figure;
use crate::planning::plan::Plan;
use crate::planning::reading::RowNumber;
use crate::services::rug_calendar::Calendar;
use crate::services::rug_plan::RugPlan;
use crate::services::rug_status::time_for;

/// A step.
pub struct GuideStep {
    /// Its name in addresses.
    pub key: &'static str,
    pub title: &'static str,
    /// What is done, one to three short sentences.
    pub does: String,
    pub right: &'static str,
    /// What it looks like when it is wrong, and how to undo it.
    pub wrong: &'static str,
    pub caution: Option<&'static str>,
    /// Numbers of this rug: what, how much.
    pub numbers: Vec<(&'static str, String)>,
    pub figure: Figure,
    /// The row, counted from 1 as it is woven, whose crossings show it.
    pub row: Option<u32>,
    /// Everyday words that people ask for it by.
    pub(super) words: &'static [&'static str],
}

/// The steps in their order: key and title.
const NAMES: [(&str, &str); 19] = [
    ("strips", "Cut or tear the strips"),
    ("join", "Join two strips"),
    ("ball", "Wind the ball for the warp"),
    ("wind-on", "Wind the warp on"),
    ("rods", "Tie the rods on"),
    ("first-row", "The first row"),
    ("crossing", "A crossing"),
    ("rod-turn", "Round the rod"),
    ("second-row", "The second row"),
    ("push-down", "Push down and count"),
    ("new-length", "A new length of weft"),
    ("new-colour", "A new colour"),
    ("turn", "Turn the frame"),
    ("last-row", "The last inches and the last row"),
    ("off", "Off the nails"),
    ("ends", "Hide the ends"),
    ("sew", "Sew panels together"),
    ("backing", "Stitch a backing on"),
    ("wash", "Wash and dry it"),
];

/// A step's title by its key.
pub fn title(key: &str) -> &'static str {
    NAMES.iter().find(|(name, _)| *name == key).map_or("", |(_, title)| title)
}

/// Where a step stands in the guide, counted from 1; 0 for a key that no step has.
pub fn number(key: &str) -> usize {
    NAMES.iter().position(|(name, _)| *name == key).map_or(0, |at| at + 1)
}

/// A step as other papers name it: `Guide, step 7`.
pub fn named(key: &str) -> String {
    format!("Guide, step {}", number(key))
}

/// What is to be woven next: until when, from which row to which and how long about; nothing where nothing is woven yet, or all is.
pub fn ahead(known: &RugPlan, calendar: &Calendar, rows: u32) -> Option<(String, String)> {
    let (all, pattern) = (known.plan.weft.rows, &known.plan.pattern);
    if rows == 0 || rows >= all {
        return None;
    }
    let next = calendar.woven.iter().find(|(_, until)| *until > rows);
    let (when, until) =
        next.map_or(("To the end".to_owned(), all), |(when, until)| (when.clone(), (*until).min(all)));
    let [from, to] = [rows + 1, until].map(|row| RowNumber::after(pattern, row));
    let time = time_for(known, rows, until)?;
    Some((
        when,
        if until == rows + 1 { format!("{from}, {time}") } else { format!("{from} to {to}, {time}") },
    ))
}

/// Whether the next row begins another band.
pub(super) fn changes_at(plan: &Plan, rows: u32) -> bool {
    let mut woven = 0;
    plan.pattern.in_weaving_order().iter().any(|(_, part)| {
        let begins = woven == rows && rows > 0;
        woven += part.rows();
        begins
    })
}
