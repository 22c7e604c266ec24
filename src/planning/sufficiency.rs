//! Will it last? What the rows to come still need of each colour, against what is left of it, and what to do.
use super::needs::{Counting, Needs};
use super::pattern::{BandRows, ColourId, Pattern};
use super::plan::{Plan, WeftPlan};
use super::progress::Entry;
use super::spec::{RugSpec, SpecError};
use super::strand::pattern;
use super::uncertainty::chance::{NINTH_DECILE, normal_below};
use super::uncertainty::estimate::{Range, Spread};
use super::weft::rows_until;
use crate::units::{Length, Mass, Units};
use serde::Serialize;

/// One colour, from where its rest was last weighed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sufficiency {
    /// The colour.
    pub colour: ColourId,
    /// What was left when it was weighed.
    pub left: Mass,
    /// Rows woven then.
    pub at_row: u32,
    /// What the rows from there on need.
    pub needed: Range<Mass>,
    /// The chance, 0 to 1, that it lasts to the rug's end.
    pub chance: f64,
    /// The row in which it is expected to run out; nothing when it is expected to last.
    pub runs_out: Option<u32>,
    /// The last row that nine in ten such rests reach.
    pub safe_until: u32,
    /// Rows in which the colour shows from there to the end.
    pub rows_to_come: u32,
    /// Its strands in those rows together, those of other strips by their weight.
    pub strands_to_come: f64,
    /// What one strand in one row is believed to weigh.
    pub strand: Mass,
    /// How much of the doubt of that the weighed rests have taken away, from 0 to 1.
    pub told: f64,
}

impl Sufficiency {
    /// Whether somebody should do something: fewer than nine in ten such rests last.
    pub fn short(&self) -> bool {
        self.chance < 0.9
    }

    /// What more of the colour, or of one like it, makes it enough nine times in ten.
    pub fn lacking(&self) -> Mass {
        if self.needed.p90 > self.left { self.needed.p90 - self.left } else { Mass::ZERO }
    }
}

/// The step of a kitchen scale; reasoned estimate.
const SCALE_GRAMS: f64 = 2.0;
/// How far a stretch may differ from what follows, and one colour's cloth from another's. Reasoned estimates, no source.
const STRETCH: f64 = 0.04;
const COLOURS: f64 = 0.05;

/// Every colour of which a rest was weighed, in the order of the plan.
///
/// The weight of one strand in one row is believed as the plan has it, and learns from each colour that was weighed twice
/// with rows between (normal beliefs on the logarithm). A colour that came to weigh more was filled up, and teaches
/// nothing.
///
/// # Errors
/// [`SpecError`] for a rug that can't be planned.
pub fn sufficiency(
    spec: &RugSpec,
    plan: &Plan,
    log: &[Entry],
    units: Units,
) -> Result<Vec<Sufficiency>, SpecError> {
    let rug = spec.check(units)?;
    let weighed = weighed(plan, log);
    if weighed.is_empty() {
        return Ok(Vec::new());
    }
    let [rows, weft, row] = Spread::of_all(&rug.settings, |at| {
        let needs = Needs::of(&rug, at, Counting::Smooth);
        let (rows, weft) = (needs.rows, needs.weft_mass.grams());
        [rows, weft, weft / rows.max(1.0)]
    });
    let rows_doubt = rows.sd();
    let rest_doubt = rows_doubt / rug.unsampled();
    let patterns = [-1.0, 1.0].map(|z: f64| {
        let rows_per_inch = plan.weft.rows_per_inch * (z * rows_doubt).exp();
        pattern(&rug, rows_per_inch)
    });
    let believed = StrandWeight::believed(plan, rows, weft, row);
    let strand = believed.after(plan, &weighed, &patterns);
    let mut found = Vec::new();
    let own = &plan.weft;
    for colour in plan.pattern.colours() {
        let Some(&Weighed { row, mass: left, measured, .. }) =
            weighed.iter().rev().find(|w| w.colour == colour)
        else {
            continue;
        };
        let strands = strands_after(&plan.pattern, own, colour, row);
        let [fewer, more] = [0, 1].map(|i| strands_after(&patterns[i], own, colour, row).max(0.5));
        let rows_sd = if strands == 0.0 {
            0.0
        } else if measured {
            // With the length measured, only the rows over the rest of it are in doubt.
            rest_doubt
        } else {
            (more / fewer).ln().abs() / 2.0
        };
        let sd = strand.with_rows(rows_sd).hypot(COLOURS);
        let expected = strand.grams * strands;
        let range = |z: f64| Mass::from_grams(expected * (z * NINTH_DECILE * sd).exp());
        let rest = left.grams().max(0.0);
        let chance = if strands == 0.0 {
            1.0
        } else if rest <= 0.0 {
            0.0
        } else {
            // The scale's step against what is needed, not against the rest: a smaller rest must not look surer.
            let off = (rest / expected).ln() - strand.skew * (1.0 - strand.told);
            normal_below(off / sd.hypot(SCALE_GRAMS / expected))
        };
        let reach = |z: f64| {
            let each = strand.grams * (z * NINTH_DECILE * sd).exp();
            row_reached(&plan.pattern, own, colour, row, rest / each)
        };
        found.push(Sufficiency {
            colour,
            left,
            at_row: row,
            needed: Range { low: range(-1.0), expected: range(0.0), p90: range(1.0) },
            chance,
            runs_out: Some(reach(0.0)).filter(|row| *row < plan.weft.rows),
            safe_until: reach(1.0),
            rows_to_come: rows_after(&plan.pattern, own, colour, row),
            strands_to_come: strands,
            strand: Mass::from_grams(strand.grams),
            told: strand.told,
        });
    }
    Ok(found)
}

/// A rest of one colour on the scale.
struct Weighed {
    colour: ColourId,
    row: u32,
    mass: Mass,
    /// Whether the length woven was measured then.
    measured: bool,
}

/// Every weighing with the row it was made at: the entry's own, or the one last said.
fn weighed(plan: &Plan, log: &[Entry]) -> Vec<Weighed> {
    let (mut row, mut measured) = (0, false);
    let mut found = Vec::new();
    for entry in log {
        let by_length = || entry.woven.map(|woven| rows_until(woven, plan.weft.rows_per_inch));
        row = entry.rows.or_else(by_length).unwrap_or(row).min(plan.weft.rows);
        if entry.rows.is_some() || entry.woven.is_some() {
            measured = entry.woven.is_some();
        }
        found.extend(entry.left.iter().map(|&(colour, mass)| Weighed { colour, row, mass, measured }));
    }
    found
}

/// What is believed of the weight of one strand in one row.
struct StrandWeight {
    grams: f64,
    /// The standard deviation of its logarithm before any rest told more.
    sd: f64,
    /// How it goes with the rows to the inch, from −1 to 1: closer rows are lighter ones.
    with_rows: f64,
    /// How far the middle of what may come lies from what is expected, on the logarithm: ranges reach further to one side.
    skew: f64,
    /// How much of the doubt the weighed rests have taken away, from 0 to 1.
    told: f64,
}

impl StrandWeight {
    /// Before any rest told more: from the plan, and the spreads of its rows, of all its weft and of the weft in a row.
    fn believed(plan: &Plan, rows: Spread, weft: Spread, row: Spread) -> Self {
        let all = plan.pattern.colours();
        let strands = all.iter().map(|&colour| strands_after(&plan.pattern, &plan.weft, colour, 0));
        let strands = strands.sum::<f64>();
        let skew = (weft.up * weft.down).ln() / 2.0;
        let [rows, weft, row] = [rows, weft, row].map(Spread::sd);
        let with_rows = (weft.powi(2) - row.powi(2) - rows.powi(2)) / (2.0 * row * rows);
        let with_rows = if with_rows.is_finite() { with_rows.clamp(-1.0, 1.0) } else { 0.0 };
        let grams = plan.cloth.weft.expected.grams() / strands.max(1.0);
        Self { grams, sd: row, with_rows, skew, told: 0.0 }
    }

    /// After every stretch of a colour that was weighed at both ends.
    fn after(self, plan: &Plan, weighed: &[Weighed], others: &[Pattern; 2]) -> Self {
        let (mut used, mut strands, mut scale, mut otherwise) = (0.0, 0.0, 0.0, [0.0; 2]);
        for (i, after) in weighed.iter().enumerate() {
            let Some(before) = weighed[..i].iter().rev().find(|w| w.colour == after.colour) else { continue };
            let grams = before.mass.grams() - after.mass.grams();
            let between = |pattern: &Pattern| {
                let [from, to] =
                    [before.row, after.row].map(|row| strands_after(pattern, &plan.weft, after.colour, row));
                (from - to).max(0.0)
            };
            let planned = between(&plan.pattern);
            if grams > 0.0 && planned > 0.0 {
                used += grams;
                strands += planned;
                scale += 2.0 * SCALE_GRAMS.powi(2);
                for (sum, pattern) in otherwise.iter_mut().zip(others) {
                    *sum += if after.measured { planned } else { between(pattern) };
                }
            }
        }
        if strands == 0.0 || self.sd == 0.0 {
            return self;
        }
        // Where nobody measured the length, the band may have changed sooner or later than by the plan.
        let bands = (otherwise[1].max(0.5) / otherwise[0].max(0.5)).ln() / 2.0;
        let noise = (scale.sqrt() / used).hypot(1.0 / strands).hypot(STRETCH).hypot(bands);
        let weight = self.sd.powi(2) / (self.sd.powi(2) + noise.powi(2));
        let off = (used / strands / self.grams).ln();
        Self { grams: self.grams * (weight * off).exp(), told: weight, ..self }
    }

    /// The standard deviation of the logarithm of a strand's weight times rows of which that of the logarithm is `rows`.
    ///
    /// Normal beliefs on the logarithm: what the rests told of the weight tells of the rows too, as far as the two go
    /// together.
    fn with_rows(&self, rows: f64) -> f64 {
        let left = 1.0 - self.told;
        let weight = self.sd.powi(2) * left;
        let own = rows.powi(2) * (1.0 - self.told * self.with_rows.powi(2));
        let common = self.with_rows * self.sd * rows * left;
        (weight + own + 2.0 * common).max(0.0).sqrt()
    }
}

/// Rows that are woven alike, in the order of weaving.
struct Part {
    /// Rows woven before them.
    from: u32,
    /// Rows woven at their end.
    to: u32,
    colours: [ColourId; 2],
    /// What one strand of its strips weighs in a row against one of the rug's own in a row without turns more.
    weight: f64,
}

impl Part {
    fn all(pattern: &Pattern, weft: &WeftPlan) -> Vec<Self> {
        let mut woven = 0;
        let part = |(_, band): (usize, BandRows)| {
            let (from, to) = (woven, woven + band.rows());
            woven = to;
            let weight = band.strip.map_or(1.0, |strip| strip.ratio(weft.strip));
            let turns = pattern.extra_turns_between(band.from_row, band.to_row);
            let weight = if turns == 0 {
                weight
            } else {
                let to_row = f64::from(turns) / f64::from(band.rows().max(1));
                weight * (1.0 + to_row * weft.extra_turn.ratio(weft.strand))
            };
            Self { from, to, colours: band.colours, weight }
        };
        pattern.in_weaving_order().into_iter().map(part).collect()
    }

    fn rows_after(&self, row: u32) -> u32 {
        self.to.saturating_sub(self.from.max(row))
    }

    /// How often the colour lies in a row's two strands, by weight.
    fn strands(&self, colour: ColourId) -> f64 {
        self.weight * self.colours.iter().filter(|c| **c == colour).count() as f64
    }
}

/// How often the colour lies in a row's two strands, summed over the rows from there on; strands of other strips by their
/// weight.
fn strands_after(pattern: &Pattern, weft: &WeftPlan, colour: ColourId, row: u32) -> f64 {
    let parts = Part::all(pattern, weft);
    parts.iter().map(|part| part.strands(colour) * f64::from(part.rows_after(row))).sum()
}

fn rows_after(pattern: &Pattern, weft: &WeftPlan, colour: ColourId, row: u32) -> u32 {
    let parts = Part::all(pattern, weft);
    parts.iter().filter(|part| part.colours.contains(&colour)).map(|part| part.rows_after(row)).sum()
}

/// The last whole row that so many strand-rows of the colour reach; the last of all where they reach the end.
fn row_reached(pattern: &Pattern, weft: &WeftPlan, colour: ColourId, row: u32, strand_rows: f64) -> u32 {
    let mut left = strand_rows;
    for part in Part::all(pattern, weft) {
        let strands = part.strands(colour);
        let wanted = strands * f64::from(part.rows_after(row));
        if left < wanted {
            return part.from.max(row) + (left / strands) as u32;
        }
        left -= wanted;
    }
    pattern.rows()
}

/// The part of a colour's weft, by weight, that the rows after so many woven ones take, from 0 to 1.
pub fn part_to_come(plan: &Plan, colour: ColourId, row: u32) -> f64 {
    let [all, to_come] = [0, row].map(|row| strands_after(&plan.pattern, &plan.weft, colour, row));
    if all > 0.0 { to_come / all } else { 0.0 }
}

/// How much shorter the bands still to come with this colour must become together, so that it lasts nine times in ten.
pub fn shorter_by(sufficiency: &Sufficiency, plan: &Plan) -> Length {
    if sufficiency.needed.p90 <= sufficiency.left || sufficiency.needed.p90 == Mass::ZERO {
        return Length::ZERO;
    }
    let too_many =
        f64::from(sufficiency.rows_to_come) * (1.0 - sufficiency.left.ratio(sufficiency.needed.p90));
    Length::inches(too_many.ceil() / plan.weft.rows_per_inch)
}

/// The weft used up, where every colour of the rug was weighed both before the first row and later; for a form that
/// somebody corrects.
pub fn used(plan: &Plan, log: &[Entry]) -> Option<Mass> {
    let weighed = weighed(plan, log);
    let of = |colour: ColourId| {
        let first = weighed.iter().find(|w| w.colour == colour && w.row == 0)?;
        let last = weighed.iter().rev().find(|w| w.colour == colour && w.row > 0)?;
        (first.mass > last.mass).then(|| first.mass - last.mass)
    };
    plan.pattern.colours().into_iter().map(of).sum()
}
