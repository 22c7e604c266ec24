//! What the program says of a rug with its log; beside `contact`, the only file here that knows its types.
use super::contact::{Asked, spec};
use thrumhall::planning::progress::{Entry, Progress, measured_by};
use thrumhall::planning::steps::{Step, StepKind};
use thrumhall::planning::sufficiency::{part_to_come, shorter_by, sufficiency, used};
use thrumhall::planning::workings::Derivation;
use thrumhall::planning::{Plan, Range};
use thrumhall::units::{Length, Mass, Minutes, Units};

/// One entry of a log: rows, inches and minutes, and grams left of colours.
#[derive(Debug, Clone, Default)]
pub struct Note {
    pub rows: Option<u32>,
    pub woven: Option<f64>,
    pub minutes: Option<f64>,
    pub left: Vec<(usize, f64)>,
}

impl Note {
    pub fn rows(rows: u32) -> Self {
        Self { rows: Some(rows), ..Self::default() }
    }

    pub fn worked(self, minutes: f64) -> Self {
        Self { minutes: Some(minutes), ..self }
    }

    pub fn woven(self, inches: f64) -> Self {
        Self { woven: Some(inches), ..self }
    }

    pub fn left(mut self, colour: usize, grams: f64) -> Self {
        self.left.push((colour, grams));
        self
    }

    fn entry(&self) -> Entry {
        let left = self.left.iter().map(|&(colour, grams)| (colour as u16, Mass::from_grams(grams)));
        Entry {
            rows: self.rows,
            woven: self.woven.map(Length::inches),
            minutes: self.minutes.map(Minutes::new),
            left: left.collect(),
        }
    }
}

/// A step that is still to do: what, rows from and to, minutes.
#[derive(Debug, Clone, PartialEq)]
pub struct ToDo {
    pub what: &'static str,
    pub rows: (u32, u32),
    pub minutes: f64,
}

fn to_do(step: &Step) -> ToDo {
    let (what, rows) = match step.kind {
        StepKind::CutStrips => ("cut", (0, 0)),
        StepKind::JoinWarp => ("join", (0, 0)),
        StepKind::WindOn => ("wind", (0, 0)),
        StepKind::Weave { from_row, to_row, .. } => ("weave", (from_row, to_row)),
        StepKind::TakeOff => ("off", (0, 0)),
        StepKind::Fringe => ("fringe", (0, 0)),
        StepKind::Backing => ("backing", (0, 0)),
    };
    ToDo { what, rows, minutes: step.minutes.get() }
}

/// Where a rug stands.
#[derive(Debug, Clone)]
pub struct Stands {
    pub rows: u32,
    pub rows_in_all: u32,
    pub woven: f64,
    pub began: bool,
    pub prepared: f64,
    pub weaving: f64,
    pub timed: (f64, f64),
    /// Spells and the minutes that they are worth.
    pub prior: (f64, f64),
    pub pace: (f64, f64),
    pub twists: f64,
    pub doubt: f64,
    pub weave_left: [f64; 3],
    pub other_left: [f64; 3],
    pub plan: Vec<ToDo>,
    pub left: Vec<ToDo>,
    /// The chance to be done within each room, and to have woven within it.
    pub chances: Vec<(f64, f64)>,
    pub rates: [f64; 3],
    pub colours: Vec<Lasts>,
    pub used: Option<f64>,
    pub worked: Vec<Derivation>,
}

/// Whether one colour lasts.
#[derive(Debug, Clone)]
pub struct Lasts {
    pub colour: usize,
    pub left: f64,
    pub at_row: u32,
    pub needed: [f64; 3],
    pub chance: f64,
    pub runs_out: Option<u32>,
    pub safe_until: u32,
    pub rows_to_come: u32,
    pub strands: f64,
    pub strand: f64,
    pub told: f64,
    pub short: bool,
    pub lacking: f64,
    pub shorter_by: f64,
    /// The part of all of this colour that is still to come after the row it was weighed at.
    pub part: f64,
}

fn minutes(range: Range<Minutes>) -> [f64; 3] {
    [range.low.get(), range.expected.get(), range.p90.get()]
}

/// The rows per inch, the rows of the sample, and the weight of a row that the log measures: what the rug is planned with.
pub fn measured(asked: &Asked, log: &[Note]) -> (f64, Option<(f64, u32)>, f64) {
    let log: Vec<Entry> = log.iter().map(Note::entry).collect();
    let spec = measured_by(&full(asked), &log, Units::Inches);
    let plan = Plan::of(&spec, Units::Inches).unwrap();
    let sample = spec.sample.map(|sample| (sample.woven.in_inches(), sample.rows));
    (plan.weft.rows_per_inch, sample, plan.cloth.weft.expected.grams() / f64::from(plan.weft.rows))
}

fn full(asked: &Asked) -> thrumhall::planning::RugSpec {
    use thrumhall::planning::settings::Sample;
    let sample = asked.sample.map(|(inches, rows, grams)| Sample {
        woven: Length::inches(inches),
        rows,
        mass: grams.map(Mass::from_grams),
    });
    thrumhall::planning::RugSpec { sample, ..spec(asked) }
}

/// Where the rug stands by its log, and the chances for those minutes of room.
pub fn stands(asked: &Asked, log: &[Note], rooms: &[f64]) -> Stands {
    let log: Vec<Entry> = log.iter().map(Note::entry).collect();
    let spec = measured_by(&full(asked), &log, Units::Inches);
    let plan = Plan::of(&spec, Units::Inches).unwrap();
    let told = Progress::of(&spec, &plan, &log, Units::Inches).unwrap();
    let colours = sufficiency(&spec, &plan, &log, Units::Inches).unwrap();
    let lasts = |one: &thrumhall::planning::sufficiency::Sufficiency| Lasts {
        colour: usize::from(one.colour),
        left: one.left.grams(),
        at_row: one.at_row,
        needed: [one.needed.low.grams(), one.needed.expected.grams(), one.needed.p90.grams()],
        chance: one.chance,
        runs_out: one.runs_out,
        safe_until: one.safe_until,
        rows_to_come: one.rows_to_come,
        strands: one.strands_to_come,
        strand: one.strand.grams(),
        told: one.told,
        short: one.short(),
        lacking: one.lacking().grams(),
        shorter_by: shorter_by(one, &plan).in_inches(),
        part: part_to_come(&plan, one.colour, one.at_row),
    };
    let room = |&room: &f64| (told.chance(Minutes::new(room)), told.work.chance(Minutes::new(room)));
    let (prior, pace) = (told.prior.belief(), told.pace.belief());
    let room_of = rooms.first().copied().map(Minutes::new);
    Stands {
        rows: told.rows,
        rows_in_all: told.rows_in_all,
        woven: told.woven.in_inches(),
        began: told.began,
        prepared: told.prepared.get(),
        weaving: told.weaving.get(),
        timed: (told.timed.0, told.timed.1.get()),
        prior: (prior.shape, prior.exposure),
        pace: (pace.shape, pace.exposure),
        twists: told.work.twists,
        doubt: told.work.doubt,
        weave_left: minutes(told.weave_left),
        other_left: minutes(told.other_left),
        plan: plan.steps.iter().map(to_do).collect(),
        left: told.steps_left(&plan).iter().map(to_do).collect(),
        chances: rooms.iter().map(room).collect(),
        rates: [0.1, 0.5, 0.9].map(|share| told.pace.quantile(share)),
        colours: colours.iter().map(lasts).collect(),
        used: used(&plan, &log).map(Mass::grams),
        worked: thrumhall::planning::explain::standing(&plan, &told, &colours, room_of),
    }
}
