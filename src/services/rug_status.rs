//! Where a rug stands, in words: how far it is, when it will be done, which colour may run out and what to do about it.

use super::rug_plan::{RugPlan, RugStatus};
use crate::planning::colour::{Hex, NEAR};
use crate::planning::reading::RowNumber;
use crate::planning::sufficiency::{self, Sufficiency};
use crate::services::Result;
use crate::store::Read;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::shelf::{ShelfFilter, ShelfLine};
use crate::store::rugs::log::LogEntry;
use crate::store::rugs::{Colour, Rug};
use crate::units::dates::{self, WallClock};
use crate::units::{Length, Units, isolated};

/// How many bundles to offer.
const OFFERED: usize = 3;

/// Where a rug stands.
pub struct Shown {
    pub rows: u32,
    pub rows_in_all: u32,
    /// `Row 64 of about 128: 16 in of 32 in are woven.`
    pub place: String,
    /// The band under way and the next colour change.
    pub band: Option<String>,
    /// What is known of the pace.
    pub pace: Option<String>,
    pub colours: Vec<ColourShown>,
    pub log: Vec<LogShown>,
    /// What the rest is counted from, where nothing was logged today.
    pub since: String,
}

/// Whether one colour lasts.
pub struct ColourShown {
    /// Its number in the plan, counted from 1.
    pub number: u32,
    pub colour: Colour,
    pub left: String,
    pub at_row: RowNumber,
    pub low: String,
    pub expected: String,
    pub take: String,
    pub tone: &'static str,
    pub lasts: String,
    /// What to do where it may not last.
    pub advice: Vec<String>,
}

/// One entry of the log.
pub struct LogShown {
    pub entry: LogEntry,
    pub when: String,
    pub what: String,
}

/// The chance that a colour lasts, in words.
pub fn lasts(chance: f64) -> String {
    match dates::in_ten(chance) {
        _ if chance > 0.985 => "will last".to_owned(),
        0 => "will run out".to_owned(),
        n if n < 5 => format!("unlikely to last: {n} of 10"),
        n => format!("likely to last: {n} of 10"),
    }
}

/// How urgent a chance is.
pub fn tone(chance: f64) -> &'static str {
    match chance {
        c if c >= 0.9 => "good",
        c if c >= 0.5 => "warn",
        _ => "bad",
    }
}

/// The row that is reached, and how far that is: `Row 64 of about 128: 16 in of 32 in woven.`
pub fn place(RugPlan { plan, status, .. }: &RugPlan, units: Units) -> String {
    let progress = &status.progress;
    let (rows, of) = (progress.rows, progress.rows_in_all);
    let (woven, length) = (progress.woven.show(units), plan.length.show(units));
    match RowNumber::after(&plan.pattern, rows) {
        RowNumber { number, from_far_end: true } => format!(
            "Row {number} from the far end, {rows} of about {of} rows in all: {woven} of {length} woven."
        ),
        _ => format!("Row {rows} of about {of}: {woven} of {length} woven."),
    }
}

/// Which colours run short, each in a sentence: `Navy will run out, about row 90.`
pub fn running_short(known: &RugPlan) -> Vec<String> {
    let short = known.status.sufficiency.iter().filter(|told| told.short());
    let one = |told: &Sufficiency| {
        let name = isolated(&known.input.colours[usize::from(told.colour)].name);
        let lasts = match lasts(told.chance) {
            gone if gone.starts_with("will ") => gone,
            doubtful => format!("is {doubtful}"),
        };
        let pattern = &known.plan.pattern;
        let row = told.runs_out.map(|row| format!(", about {}", RowNumber::after(pattern, row + 1)));
        format!("{name} {lasts}{}.", row.unwrap_or_default())
    };
    short.map(one).collect()
}

impl Shown {
    pub async fn of(
        read: &mut Read,
        rug: &Rug,
        known: &RugPlan,
        log: Vec<LogEntry>,
        wall: &WallClock,
        units: Units,
    ) -> Result<Self> {
        let RugPlan { plan, status: RugStatus { progress, sufficiency, last, .. }, .. } = known;
        let shelf = if sufficiency.iter().any(Sufficiency::short) { ready(read).await? } else { Vec::new() };
        let about = |rows: u32| plan.pattern.woven_to(rows).0.show(units);
        let numbered = |rows: u32| RowNumber::after(&plan.pattern, rows);
        let colours = sufficiency.iter().map(|told| {
            let colour = known.input.colours[usize::from(told.colour)].clone();
            let mut advice = Vec::new();
            if told.short() {
                if let Some(row) = told.runs_out {
                    advice.push(format!(
                        "It is expected to run out in {}, at {}.",
                        numbered(row + 1),
                        about(row)
                    ));
                }
                let lacking = told.lacking();
                advice.push(format!("With {} more it is enough nine times in ten.", lacking.show(units)));
                advice.extend(near(&shelf, &colour, rug, lacking, units));
                let shorter = sufficiency::shorter_by(told, plan);
                if shorter > Length::ZERO && told.rows_to_come > 0 {
                    let by = shorter.show(units);
                    advice.push(format!("Or make the bands with {} shorter, by {by} together.", colour.name));
                }
                if told.safe_until > progress.rows && told.safe_until < plan.weft.rows {
                    let (row, place) = (numbered(told.safe_until), about(told.safe_until));
                    advice.push(format!(
                        "Or end the rug early: to {row}, at {place}, nine in ten such rests reach."
                    ));
                }
            }
            ColourShown {
                number: u32::from(told.colour) + 1,
                colour,
                left: told.left.show(units),
                at_row: numbered(told.at_row),
                low: told.needed.low.show(units),
                expected: told.needed.expected.show(units),
                take: told.needed.p90.show(units),
                tone: tone(told.chance),
                lasts: lasts(told.chance),
                advice,
            }
        });
        let colours = colours.collect();
        let (rows, of) = (progress.rows, progress.rows_in_all);
        let names = |colours: [u16; 2]| {
            let [first, other] = colours.map(|id| known.input.colours[usize::from(id)].name.as_str());
            if first == other { first.to_owned() } else { format!("{first} and {other}") }
        };
        let mut ends = 0;
        let order = plan.pattern.in_weaving_order();
        let under_way = order.iter().position(|(_, band)| {
            ends += band.rows();
            ends > rows
        });
        let band = under_way.filter(|_| progress.began).map(|at| {
            let (i, band) = order[at];
            let then = match order.get(at + 1) {
                Some((_, next)) => format!("then {}", names(next.colours)),
                None => "then it is woven".to_owned(),
            };
            let to_go = ends - rows;
            let to_go = if to_go == 1 { "1 row".to_owned() } else { format!("about {to_go} rows") };
            format!("Band {}, {}: {to_go} more, {then}.", i + 1, names(band.colours))
        });
        let pace = progress.timed_pace().map(|timed| {
            let (own, believed) = (timed, progress.pace.twists_per_minute());
            let logged = progress.weaving.show();
            format!(
                "{own:.1} twists a minute in {logged} of log; {believed:.1} with what is known of the class."
            )
        });
        Ok(Self {
            rows,
            rows_in_all: of,
            place: place(known, units),
            band,
            pace,
            colours,
            log: log.into_iter().rev().map(|entry| LogShown::of(entry, wall, units)).collect(),
            since: match (last, rug.on_frame_since) {
                (Some(at), _) => format!("Counted from the last entry, {}.", dates::moment(*at, wall)),
                (None, Some(at)) => format!(
                    "Nothing is logged yet, so it is counted as if it went as planned since {}.",
                    dates::moment(at, wall)
                ),
                (None, None) => "Nothing is logged yet, so it is counted from now.".to_owned(),
            },
        })
    }
}

/// The washed bundles that something is left of.
async fn ready(read: &mut Read) -> Result<Vec<ShelfLine>> {
    let filter = ShelfFilter { state: Some(BundleState::Ready), ..ShelfFilter::default() };
    Ok(read.shelf(&filter, 500, 0).await?)
}

/// Bundles that may stand in for a colour, the nearest first, those of the rug's own cloth before others.
fn near(
    shelf: &[ShelfLine],
    colour: &Colour,
    rug: &Rug,
    lacking: crate::units::Mass,
    units: Units,
) -> Vec<String> {
    let Ok(hex) = Hex::parse(&colour.hex) else { return Vec::new() };
    let enough = |bundle: &&ShelfLine| bundle.strip() >= lacking;
    let mut found: Vec<(bool, f64, &ShelfLine)> = shelf
        .iter()
        .filter(enough)
        .map(|bundle| (bundle.kind != rug.fields.weft_kind, bundle.colour_hex.difference(hex), bundle))
        .filter(|(_, difference, _)| *difference < NEAR)
        .collect();
    found.sort_by(|a, b| (a.0, a.1).partial_cmp(&(b.0, b.1)).unwrap_or(std::cmp::Ordering::Equal));
    let words = |(_, difference, bundle): &(bool, f64, &ShelfLine)| {
        let like = match difference {
            d if *d < 1.0 => "the same to the eye",
            d if *d < 5.0 => "hardly different",
            _ => "near",
        };
        let (tag, name, there) = (bundle.tag, &bundle.colour_name, bundle.balance_mg.show(units));
        let cloth = bundle.kind.facts().title.to_lowercase();
        let strip = bundle.strip().show(units);
        format!(
            "On the shelf: bundle {tag}, {name}, {cloth}, {there} left, counted as {strip} of strip; {like} (difference \
             {difference:.1})."
        )
    };
    found.iter().take(OFFERED).map(words).collect()
}

impl LogShown {
    fn of(entry: LogEntry, wall: &WallClock, units: Units) -> Self {
        let f = &entry.fields;
        let mut said = Vec::new();
        said.extend(f.rows.map(|rows| format!("{rows} rows")));
        said.extend(f.woven.map(|woven| format!("{} woven", woven.show(units))));
        said.extend(f.minutes.map(|minutes| dates::minutes(minutes as f64)));
        said.extend(f.left.iter().map(|(colour, mass)| format!("{} {} left", colour.name, mass.show(units))));
        let what = match (entry.undoes, entry.undone_at) {
            (Some(_), _) => "an entry undone".to_owned(),
            (None, Some(_)) => format!("{} (undone)", said.join(", ")),
            (None, None) => said.join(", "),
        };
        Self { when: dates::moment(entry.at, wall), what, entry }
    }
}

/// How long a rug's rows take from one on, which is woven, to another, at its weaver's pace: `about 45 min`.
pub(super) fn time_for(known: &RugPlan, from: u32, until: u32) -> Option<String> {
    let progress = &known.status.progress;
    let left = known.plan.weft.rows.saturating_sub(progress.rows);
    let share = f64::from(until.checked_sub(from)?) / f64::from(left.max(1));
    let minutes = progress.weave_left.expected.get() * share;
    // To the quarter of an hour: a pace isn't known better.
    let quarters = (minutes / 15.0).round().max(1.0) * 15.0;
    Some(format!("about {}", dates::minutes(quarters)))
}
