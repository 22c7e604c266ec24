//! How it was worked out where a rug stands: the time to go, the chance to be done in time, and whether each colour lasts.
//! The numbers are `progress`'s and `sufficiency`'s.
use super::{SUM, count};
use crate::planning::plan::Plan;
use crate::planning::progress::Progress;
use crate::planning::sufficiency::Sufficiency;
use crate::planning::workings::Derivation;
use crate::units::Minutes;
use crate::units::Quantity::{Count, Ratio};

const RATE: &str = "Gelman et al., Bayesian Data Analysis, 3rd ed., §2.6: a gamma belief about a Poisson rate, in \
                    spells of 160 twists (spells: reasoned estimate)";
const BELIEF: &str = "normal beliefs on the logarithm; the doubts of scale and cloth are reasoned estimates";

/// A working for each number of where a rug stands. `room` is the time left at meetings and at home, where there are any.
pub fn standing(
    plan: &Plan,
    progress: &Progress,
    sufficiency: &[Sufficiency],
    room: Option<Minutes>,
) -> Vec<Derivation> {
    let mut all = time(plan, progress);
    all.extend(room.map(|room| chance(progress, room)));
    all.extend(sufficiency.iter().flat_map(|told| colour(plan, told)));
    all
}

fn time(plan: &Plan, progress: &Progress) -> Vec<Derivation> {
    let to_go = progress.rows_in_all.saturating_sub(progress.rows);
    let (twists, minutes) = progress.timed;
    let prior = Derivation::new("progress.prior", "Pace before the log, twists a minute", Count(progress.prior.twists_per_minute()))
    .by(
        "spells believed / the time they are worth, so that half of such weavers take the plan’s time, and as much \
         longer or shorter as its range says",
        RATE,
    )
    .worked("twists", Count(plan.weft.twists as f64), "weft.twists")
    .worked("weaving", plan.minutes.weave.expected, "minutes.weave");
    let pace = Derivation::new(
        "progress.pace",
        "Pace, twists a minute",
        Count(progress.pace.twists_per_minute()),
    )
    .by(
        "(pace before the log · the time it is worth + twists logged) / (the time it is worth + time logged)",
        RATE,
    )
    .worked("pace before the log", Count(progress.prior.twists_per_minute()), "progress.prior")
    .worked("the time it is worth", progress.prior.worth(), "progress.prior")
    .logged("twists logged with their time", Count(twists))
    .logged("time logged with its rows", minutes);
    let left = Derivation::new("progress.twists", "Twists to go", Count(progress.work.twists))
        .by(
            "rows to go · twists a row; a slow last row counts for more and the others for less, by the time they take, so \
             that all rows together are the twists in all",
            SUM,
        )
        .logged("rows woven", count(progress.rows))
        .worked("rows in all", count(progress.rows_in_all), "weft.rows")
        .worked("twists in all", Count(plan.weft.twists as f64), "weft.twists")
        .worked("weaving, the slow end included", plan.minutes.weave.expected, "minutes.weave");
    let weave = Derivation::new("progress.weave_left", "Weaving to go", progress.weave_left.expected)
        .by(
            "the time in which half of such weavers make the twists to go; low is for one in ten, take for nine in \
             ten. The time for r spells at a gamma pace is a beta-prime amount, averaged over the doubt of the twists",
            RATE,
        )
        .over(progress.weave_left)
        .worked("twists to go", Count(progress.work.twists), "progress.twists")
        .worked("their doubt, as a part of them", Ratio(progress.work.doubt), "progress.twists")
        .worked("pace", Count(progress.pace.twists_per_minute()), "progress.pace")
        .worked("rows to go", count(to_go), "progress.twists");
    let other = Derivation::new("progress.other_left", "Other work to go", progress.other_left.expected)
        .over(progress.other_left)
        .worked("finishing", plan.minutes.finish.expected, "minutes.finish");
    let other = if progress.began {
        other.by("finishing; what was to be prepared is done", SUM)
    } else {
        other
            .by("preparing less what was logged of it, and finishing", SUM)
            .worked("preparing", plan.minutes.prepare.expected, "minutes.prepare")
            .logged("time logged before the first row", progress.prepared)
    };
    vec![prior, pace, left, weave, other]
}

fn chance(progress: &Progress, room: Minutes) -> Derivation {
    Derivation::new("progress.chance", "Chance to be done by the last meeting", Ratio(progress.chance(room)))
        .by(
            "the part of such weavers whose weaving and other work together take no longer than the time left; the \
             other work is spread as its range says",
            RATE,
        )
        .chosen("time left, at meetings and at home", room)
        .worked("weaving to go", progress.weave_left.expected, "progress.weave_left")
        .worked("other work to go", progress.other_left.expected, "progress.other_left")
}

fn colour(plan: &Plan, told: &Sufficiency) -> Vec<Derivation> {
    let name = u32::from(told.colour) + 1;
    let key = |what: &str| format!("lasting.{name}.{what}");
    let strand = Derivation::new(key("strand"), format!("Colour {name}: one strand in one row"), told.strand)
        .by(
            "the plan’s weft weight over all strands of all rows, moved towards what weighed rests show: by 0 where \
             none do, by 1 where they leave no doubt",
            BELIEF,
        )
        .worked("weft weight", plan.cloth.weft.expected, "cloth.weft")
        .logged("moved by", Ratio(told.told));
    let needed = Derivation::new(key("needed"), format!("Colour {name}: still needed"), told.needed.expected)
        .by("strands to come, summed over their rows, by weight · one strand in one row", BELIEF)
        .over(told.needed)
        .logged("weighed at row", count(told.at_row))
        .worked("strands to come", Count(told.strands_to_come), "weft.rows")
        .worked("one strand in one row", told.strand, key("strand"));
    let chance =
        Derivation::new(key("chance"), format!("Colour {name}: chance that it lasts"), Ratio(told.chance))
            .by(
                "the part of such rugs whose rest of this colour weighs at least what is still needed",
                BELIEF,
            )
            .logged("rest", told.left)
            .worked("still needed", told.needed.expected, key("needed"));
    vec![strand, needed, chance]
}
