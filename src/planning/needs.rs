//! One rug's needs for one set of inputs: the sum that `estimate` repeats with each input moved. Ranges and words are
//! for `plan`.
use super::finish;
use super::pace::practice;
use super::pattern::{Band, Pattern, Run, Twining};
use super::settings::{Evaluation, Parameter, Provenance};
use super::spec::Rug;
use super::{warp, weft};
use crate::units::{Areal, Length, Mass, Minutes};

/// Whether rows, strips and joins are whole, as in a plan, or smooth, as when one asks what a small change of an input
/// does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Counting {
    Whole,
    Smooth,
}

impl Counting {
    fn up(self, count: f64) -> f64 {
        if self == Self::Whole { count.ceil() } else { count }
    }
}

/// Times, by act.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Times {
    pub(crate) cut: Minutes,
    pub(crate) ball: Minutes,
    pub(crate) wind_on: Minutes,
    /// All weaving, the slow stretch included.
    pub(crate) weave: Minutes,
    /// What the slow stretch adds.
    pub(crate) slow: Minutes,
    pub(crate) take_off: Minutes,
    pub(crate) fringe: Minutes,
    pub(crate) backing: Minutes,
}

/// All weft of one width of strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Sort {
    /// Its width, where it isn't the rug's own.
    pub(crate) strip: Option<Length>,
    pub(crate) rows: f64,
    /// One strand, one row.
    pub(crate) strand: Length,
    pub(crate) weft: Length,
    pub(crate) joins: f64,
    pub(crate) cut: Length,
    pub(crate) mass: Mass,
}

/// Everything that a rug needs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Needs {
    pub(crate) units: u32,
    pub(crate) rows_per_inch: f64,
    pub(crate) rows: f64,
    pub(crate) take_up: f64,
    pub(crate) strand: Length,
    /// The weft by width of strip: the rug's own first, then those of bands with others.
    pub(crate) sorts: Vec<Sort>,
    pub(crate) path: Length,
    pub(crate) warp: Length,
    pub(crate) warp_joins: f64,
    pub(crate) warp_cut: Length,
    pub(crate) weft: Length,
    pub(crate) weft_joins: f64,
    pub(crate) weft_cut: Length,
    pub(crate) fringe_strips: u32,
    pub(crate) fringe: Length,
    pub(crate) strips: f64,
    pub(crate) warp_mass: Mass,
    pub(crate) weft_mass: Mass,
    pub(crate) fringe_mass: Mass,
    pub(crate) backing_edge: Length,
    pub(crate) thread: Length,
    pub(crate) time: Times,
}

/// How long a piece of sewing thread is, and what its two ends lose; common practice, no source.
pub(crate) const THREAD_PIECE: Length = Length::from_nm(36 * 25_400_000);
pub(crate) const THREAD_TAIL: Length = Length::from_nm(6 * 25_400_000);

impl Needs {
    pub(crate) fn of(rug: &Rug, at: &Evaluation, counting: Counting) -> Self {
        let spec = &rug.spec;
        let units = weft::units(rug.path.strands(), spec.unit_size);
        let rows_per_inch = rows_per_inch(rug, at);
        let join = at.length(Parameter::Join);

        let path = rug.path.length(spec.frame.span().scale(at.number(Parameter::SpanError)), &wrap(at));
        let warp = path.scale(1.0 / (1.0 + at.number(Parameter::Give)));
        let strip = at.length(Parameter::SheetStrip);
        let warp_joins = counting.up((warp - join).ratio(strip - join)).max(1.0) - 1.0;
        let warp_cut = warp + join.scale(warp_joins);

        let sorts = sorts(rug, at, rows_per_inch, units, counting);
        let rows = sorts.iter().map(|sort| sort.rows).sum::<f64>();
        let weft = sorts.iter().map(|sort| sort.weft).sum();
        let weft_joins = sorts.iter().map(|sort| sort.joins).sum::<f64>();
        let weft_cut: Length = sorts.iter().map(|sort| sort.cut).sum();

        let fringe_strips = if spec.fringe.is_some() { rug.path.nails() } else { 0 };
        let one = spec
            .fringe
            .map_or(Length::ZERO, |fringe| finish::fringe_strip(fringe, at.length(Parameter::FringeKnot)));
        let fringe = one * i64::from(fringe_strips);
        let sheet_strips = |length: Length| counting.up(length.ratio(strip));
        let strips = warp_joins + 1.0 + sheet_strips(weft_cut) + sheet_strips(fringe);

        let (warp_areal, weft_areal) = (at.areal(Parameter::WarpAreal), at.areal(Parameter::WeftAreal));
        let weft_mass = sorts.iter().map(|sort| sort.mass).sum();
        let backing_edge =
            spec.backing.map_or(Length::ZERO, |margin| finish::backing_edge(rug.length, rug.width, margin));
        let thread = finish::slip_stitch_thread(
            backing_edge,
            at.number(Parameter::ThreadRatio),
            THREAD_PIECE,
            THREAD_TAIL,
        );

        let seconds = |parameter, times: f64| Minutes::seconds(at.number(parameter) * times);
        let twists = rows * f64::from(units);
        let slow_rows = (at.length(Parameter::SlowEnd).in_inches() * rows_per_inch).min(rows);
        let practised = practice(spec.rugs_before + 1, at.number(Parameter::Practice))
            * at.number(Parameter::WeavingPace);
        let preparing = at.number(Parameter::PreparingPace);
        let slow = seconds(
            Parameter::Twist,
            slow_rows * f64::from(units) * (at.number(Parameter::SlowFactor) - 1.0),
        ) * practised;
        let steady = seconds(Parameter::Twist, twists)
            + seconds(Parameter::Turn, rows)
            + seconds(Parameter::JoinAtFrame, weft_joins);
        let time = Times {
            cut: seconds(Parameter::CutStrip, strips) * preparing,
            ball: (seconds(Parameter::JoinAtTable, warp_joins) + seconds(Parameter::WindYard, warp.yards()))
                * preparing,
            wind_on: seconds(Parameter::WindNail, f64::from(rug.path.nails())) * preparing,
            weave: steady * practised + slow,
            slow,
            take_off: seconds(Parameter::TakeOff, 1.0),
            fringe: seconds(Parameter::FringeStrand, f64::from(fringe_strips)),
            backing: seconds(Parameter::StitchInch, backing_edge.in_inches()),
        };
        Self {
            units,
            rows_per_inch,
            rows,
            take_up: take_up(rug, at, spec.strip_width),
            strand: sorts[0].strand,
            sorts,
            path,
            warp,
            warp_joins,
            warp_cut,
            weft,
            weft_joins,
            weft_cut,
            fringe_strips,
            fringe,
            strips,
            warp_mass: warp_areal.mass_of(warp_cut, spec.strip_width),
            weft_mass,
            fringe_mass: weft_areal.mass_of(fringe, spec.strip_width),
            backing_edge,
            thread,
            time,
        }
    }

    pub(crate) fn total_mass(&self) -> Mass {
        self.warp_mass + self.weft_mass + self.fringe_mass
    }

    pub(crate) fn prepare(&self) -> Minutes {
        self.time.cut + self.time.ball + self.time.wind_on
    }

    pub(crate) fn finish(&self) -> Minutes {
        self.time.take_off + self.time.fringe + self.time.backing
    }
}

pub(crate) fn wrap(at: &Evaluation) -> warp::Wrap {
    warp::Wrap {
        nail_diameter: at.length(Parameter::NailDiameter),
        strip_thickness: at.length(Parameter::StripThickness),
        tail: at.length(Parameter::Tail),
    }
}

/// Joins in a run of one colour: every piece but the strand's very first is joined on.
pub(crate) fn joins(run: &Run, strand: Length, at: &Evaluation) -> u32 {
    let length = strand * i64::from(run.rows);
    let pieces =
        weft::pieces(length, at.length(Parameter::WeftPiece), at.length(Parameter::Join)).ceil() as u32;
    if run.opens { pieces.saturating_sub(1) } else { pieces }
}

pub(crate) fn pattern(rug: &Rug, rows_per_inch: f64, units: u32) -> Pattern {
    let spec = &rug.spec;
    let twining = Twining { strip: spec.strip_width, units, at_rod: spec.at_rod, from: spec.from };
    Pattern::new(&rug.bands, rows_per_inch, twining)
}

/// The weft by width of strip; the rug's own is the first, and always there.
fn sorts(rug: &Rug, at: &Evaluation, rows_per_inch: f64, units: u32, counting: Counting) -> Vec<Sort> {
    let (join, own) = (at.length(Parameter::Join), rug.spec.strip_width);
    let mut widths = vec![None];
    for strip in rug.bands.iter().filter_map(|band| band.strip) {
        if !widths.contains(&Some(strip)) {
            widths.push(Some(strip));
        }
    }
    let runs =
        if counting == Counting::Whole { pattern(rug, rows_per_inch, units).runs() } else { Vec::new() };
    let own_strand = strand(rug, at, rows_per_inch, None);
    let sort = |strip: Option<Length>| {
        let strand = if strip.is_none() { own_strand } else { strand(rug, at, rows_per_inch, strip) };
        let of_sort = || runs.iter().filter(|run| run.strip == strip);
        let rows = match counting {
            // Each row is a row of both strands.
            Counting::Whole => f64::from(of_sort().map(|run| run.rows).sum::<u32>() / 2),
            Counting::Smooth => {
                let bands = rug.bands.iter().filter(|band| band.strip == strip);
                bands.map(|band: &Band| band.scaled(own)).sum::<Length>().in_inches() * rows_per_inch
            }
        };
        let weft = strand.scale(2.0 * rows);
        let joins = match counting {
            Counting::Whole => of_sort().map(|run| f64::from(joins(run, strand, at))).sum(),
            Counting::Smooth => weft::pieces(weft, at.length(Parameter::WeftPiece), join),
        };
        let cut = weft + join.scale(joins);
        let mass = if at.basis(Parameter::GramsPerRow) == Provenance::Default {
            at.areal(Parameter::WeftAreal).mass_of(cut, strip.unwrap_or(own))
        } else {
            // The weight of a row of the rug's own strips; one of other strips differs as its width and its length do.
            let as_own = grams_per_row(at).scale(rows);
            strip.map_or(as_own, |strip| as_own.scale(strip.ratio(own) * strand.ratio(own_strand)))
        };
        Sort { strip, rows, strand, weft, joins, cut, mass }
    };
    widths.into_iter().map(sort).collect()
}

fn rows_per_inch(rug: &Rug, at: &Evaluation) -> f64 {
    let rows = at.number(Parameter::RowsPerInch);
    match at.basis(Parameter::RowsPerInch) {
        Provenance::Default => {
            weft::rows_per_inch(rows, rug.spec.strip_width, at.areal(Parameter::WeftAreal))
        }
        _ => rows * at.number(Parameter::Packing),
    }
}

/// The take-up of strips of that width: as measured or learnt; else the default, which is known for the reference strip in
/// units of two strands, times what geometry says that these differ, but no further than the default's own range.
fn take_up(rug: &Rug, at: &Evaluation, strip: Length) -> f64 {
    let take_up = at.number(Parameter::TakeUp);
    if at.basis(Parameter::TakeUp) != Provenance::Default {
        return take_up;
    }
    let (least, most) = take_up_reach();
    let areal = at.areal(Parameter::WeftAreal);
    take_up
        * geometry_against_default(rug, areal, at.length(Parameter::StripThickness), strip).clamp(least, most)
}

/// How far from the default its own range goes, as factors.
fn take_up_reach() -> (f64, f64) {
    let standard = Parameter::TakeUp.standard();
    let value = standard.value.number();
    (standard.low.number() / value, standard.high.number() / value)
}

fn geometry_against_default(rug: &Rug, areal: Areal, warp: Length, strip: Length) -> f64 {
    let units = weft::units(rug.path.strands(), rug.spec.unit_size).max(1);
    let unit = rug.width.scale(1.0 / f64::from(units));
    weft::take_up_factor(strip, areal, unit, rug.spec.unit_size, warp)
}

/// Whether geometry gives the rug's own strips a take-up beyond the default's range.
pub(crate) fn take_up_unsure(rug: &Rug) -> bool {
    let at = rug.settings.at();
    let (areal, warp) = (at.areal(Parameter::WeftAreal), at.length(Parameter::StripThickness));
    let (least, most) = take_up_reach();
    !(least..=most).contains(&geometry_against_default(rug, areal, warp, rug.spec.strip_width))
}

/// The weight of a row that was measured or learnt; closer rows are lighter.
fn grams_per_row(at: &Evaluation) -> Mass {
    at.mass(Parameter::GramsPerRow).scale(1.0 / at.number(Parameter::Packing))
}

/// One strand, one row, of the rug's own strips or of others: from the width and the take-up; or, where both a row and its
/// cloth were weighed, from the weight, which knows better.
fn strand(rug: &Rug, at: &Evaluation, rows_per_inch: f64, strip: Option<Length>) -> Length {
    let own = rug.spec.strip_width;
    let by_width =
        |strip| weft::strand_per_row(rug.width, take_up(rug, at, strip), at.length(Parameter::RodTurn));
    let nominal = by_width(strip.unwrap_or(own));
    let weighed = [Parameter::GramsPerRow, Parameter::WeftAreal]
        .iter()
        .all(|&parameter| at.basis(parameter) != Provenance::Default);
    let (piece, join) = (at.length(Parameter::WeftPiece), at.length(Parameter::Join));
    if weighed && rows_per_inch > 0.0 {
        let cut = at.areal(Parameter::WeftAreal).strip_length(grams_per_row(at), own);
        if let Some(cut) = cut {
            let weighed = cut.scale(0.5 * (piece - join).ratio(piece));
            return weighed.scale(nominal.ratio(by_width(own)));
        }
    }
    nominal
}
