//! One weft strand in one row: how many rows there are, how long the strand is with its take-up and its turns, what it weighs. What a
//! rug needs of it is summed in `needs`.
use super::pattern::{Pattern, Twining};
use super::settings::{Evaluation, Parameter, Provenance};
use super::spec::Rug;
use super::weft;
use crate::units::{Length, Mass};

/// The rug's rows and what they show.
pub(crate) fn pattern(rug: &Rug, rows_per_inch: f64) -> Pattern {
    let (spec, near, far) = (&rug.spec, rug.locking.near.row(), rug.locking.far.row());
    let twining =
        Twining { strip: spec.strip_width, units: near.units(), at_rod: spec.at_rod, from: spec.from };
    Pattern::new(&rug.bands, rows_per_inch, twining).over(near, far).charted(spec.charts.clone())
}

/// Rows to the inch.
pub(crate) fn rows_per_inch(rug: &Rug, at: &Evaluation) -> f64 {
    let rows = at.number(Parameter::RowsPerInch);
    match at.basis(Parameter::RowsPerInch) {
        Provenance::Default => {
            weft::rows_per_inch(rows, rug.spec.strip_width, at.areal(Parameter::WeftAreal))
        }
        _ => rows * at.number(Parameter::Packing),
    }
}

/// The take-up of strips of that width: as measured or learnt; else the default, which is known for the reference strip at
/// the usual pitch, times what geometry says that these differ.
pub(crate) fn take_up(rug: &Rug, at: &Evaluation, strip: Length) -> f64 {
    let take_up = at.number(Parameter::TakeUp);
    if at.basis(Parameter::TakeUp) != Provenance::Default {
        return take_up;
    }
    take_up * geometry_against_usual(rug, at, strip)
}

/// How far from the default its own range goes, as factors.
fn take_up_reach() -> (f64, f64) {
    let standard = Parameter::TakeUp.standard();
    let value = standard.value.number();
    (standard.low.number() / value, standard.high.number() / value)
}

fn geometry_against_usual(rug: &Rug, at: &Evaluation, strip: Length) -> f64 {
    let (unit, between) = helix(rug, at, strip);
    weft::take_up_factor(unit, between, at.number(Parameter::StripThickness))
}

/// The width of a unit, and the distance between the two strands across the warp.
pub(crate) fn helix(rug: &Rug, at: &Evaluation, strip: Length) -> (Length, Length) {
    let units = weft::units(rug.path.strands(), rug.spec.unit_size).max(1);
    let unit = rug.width.scale(1.0 / f64::from(units));
    (unit, Rug::bundle(at, strip, at.areal(Parameter::WeftAreal)) + rug.warp_thickness(at))
}

/// What each strand takes more for a turn more, of strips of that width that take `strand` in a row: where that was weighed, as much
/// more or less than geometry says as the row is.
pub(crate) fn extra_turn(rug: &Rug, at: &Evaluation, strip: Option<Length>, strand: Length) -> Length {
    let strip = strip.unwrap_or(rug.spec.strip_width);
    let nominal = nominal_extra_turn(rug, at, strip);
    nominal.scale(strand.ratio(nominal_strand(rug, at, strip)))
}

fn nominal_extra_turn(rug: &Rug, at: &Evaluation, strip: Length) -> Length {
    let (unit, between) = helix(rug, at, strip);
    weft::extra_turn(unit, between, take_up(rug, at, strip))
}

/// One strand, one row, from the width and the take-up.
fn nominal_strand(rug: &Rug, at: &Evaluation, strip: Length) -> Length {
    weft::strand_per_row(rug.width, take_up(rug, at, strip), at.length(Parameter::RodTurn))
}

/// Whether geometry gives the rug's own strips a take-up beyond the range at the usual pitch.
pub(crate) fn take_up_unsure(rug: &Rug) -> bool {
    let (least, most) = take_up_reach();
    !(least..=most).contains(&geometry_against_usual(rug, &rug.settings.at(), rug.spec.strip_width))
}

/// The weight of a row without turns more, measured or learnt; closer rows are lighter.
pub(crate) fn grams_per_row(rug: &Rug, at: &Evaluation, rows_per_inch: f64) -> Mass {
    let row = at.mass(Parameter::GramsPerRow).scale(1.0 / at.number(Parameter::Packing));
    row.scale(1.0 / turns_in_sample(rug, at, rows_per_inch))
}

/// How much more weft than without turns more went into a weighed sample, which is of the rug's first rows, as a factor.
fn turns_in_sample(rug: &Rug, at: &Evaluation, rows_per_inch: f64) -> f64 {
    let Some(sample) = rug.spec.sample.filter(|sample| sample.mass.is_some() && !rug.spec.charts.is_empty())
    else {
        return 1.0;
    };
    let pattern = pattern(rug, rows_per_inch);
    let rows = sample.rows.min(pattern.rows());
    let strip = rug.spec.strip_width;
    let turns = f64::from(pattern.extra_turns_between(0, rows)) / f64::from(rows.max(1));
    1.0 + turns * nominal_extra_turn(rug, at, strip).ratio(nominal_strand(rug, at, strip))
}

/// One strand, one row, of the rug's own strips or of others: from the width and the take-up; or, where both a row and its
/// cloth were weighed, from the weight, which knows better.
pub(crate) fn strand(rug: &Rug, at: &Evaluation, rows_per_inch: f64, strip: Option<Length>) -> Length {
    let own = rug.spec.strip_width;
    let nominal = nominal_strand(rug, at, strip.unwrap_or(own));
    let weighed = [Parameter::GramsPerRow, Parameter::WeftAreal]
        .iter()
        .all(|&parameter| at.basis(parameter) != Provenance::Default);
    let (piece, join) = (at.length(Parameter::WeftPiece), at.length(Parameter::Join));
    if weighed && rows_per_inch > 0.0 {
        let row = grams_per_row(rug, at, rows_per_inch);
        let cut = at.areal(Parameter::WeftAreal).strip_length(row, own);
        if let Some(cut) = cut {
            let weighed = cut.scale(0.5 * (piece - join).ratio(piece));
            return weighed.scale(nominal.ratio(nominal_strand(rug, at, own)));
        }
    }
    nominal
}
