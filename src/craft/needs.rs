//! One rug's needs for one set of inputs: the sum that `estimate` repeats with each input moved. Ranges and words are
//! for `plan`.
use super::finish;
use super::pace::practice;
use super::pattern::{Pattern, Run};
use super::quantity::Minutes;
use super::settings::{At, Basis, Dial};
use super::spec::Rug;
use super::units::{Length, Mass};
use super::{warp, weft};

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

/// Everything that a rug needs.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Needs {
    pub(crate) units: u32,
    pub(crate) rows_per_inch: f64,
    pub(crate) rows: f64,
    pub(crate) strand: Length,
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
    pub(crate) fn of(rug: &Rug, at: &At, counting: Counting) -> Self {
        let spec = &rug.spec;
        let units = weft::units(rug.strands, spec.unit_size);
        let rows_per_inch = rows_per_inch(rug, at);
        let pattern = Pattern::new(&rug.bands, rows_per_inch, units, spec.at_rod);
        let rows = match counting {
            Counting::Whole => f64::from(pattern.rows()),
            Counting::Smooth => rug.length.in_inches() * rows_per_inch,
        };
        let join = at.length(Dial::Join);

        let path = warp::path(
            rug.spec.frame.span().scale(at.number(Dial::SpanError)),
            spec.frame.pitch(),
            rug.nails,
            &wrap(at),
        );
        let warp = path.scale(1.0 / (1.0 + at.number(Dial::Give)));
        let strip = at.length(Dial::SheetStrip);
        let warp_joins = counting.up((warp - join).ratio(strip - join)).max(1.0) - 1.0;
        let warp_cut = warp + join.scale(warp_joins);

        let strand = strand(rug, at, rows_per_inch);
        let weft = strand.scale(2.0 * rows);
        let weft_joins = match counting {
            Counting::Whole => pattern.runs().iter().map(|run| f64::from(joins(run, strand, at))).sum(),
            Counting::Smooth => weft::pieces(weft, at.length(Dial::WeftPiece), join),
        };
        let weft_cut = weft + join.scale(weft_joins);

        let fringe_strips = if spec.fringe.is_some() { 2 * rug.nails } else { 0 };
        let one = spec
            .fringe
            .map_or(Length::ZERO, |fringe| finish::fringe_strip(fringe, at.length(Dial::FringeKnot)));
        let fringe = one * i64::from(fringe_strips);
        let sheet_strips = |length: Length| counting.up(length.ratio(strip));
        let strips = warp_joins + 1.0 + sheet_strips(weft_cut) + sheet_strips(fringe);

        let (warp_areal, weft_areal) = (at.areal(Dial::WarpAreal), at.areal(Dial::WeftAreal));
        let weft_mass = match at.basis(Dial::GramsPerRow) {
            Basis::Default => weft_areal.mass_of(weft_cut, spec.strip_width),
            _ => grams_per_row(at).scale(rows),
        };
        let backing_edge =
            spec.backing.map_or(Length::ZERO, |margin| finish::backing_edge(rug.length, rug.width, margin));
        let thread =
            finish::slip_stitch_thread(backing_edge, at.number(Dial::ThreadRatio), THREAD_PIECE, THREAD_TAIL);

        let seconds = |dial, times: f64| Minutes::seconds(at.number(dial) * times);
        let twists = rows * f64::from(units);
        let slow_rows = (at.length(Dial::SlowEnd).in_inches() * rows_per_inch).min(rows);
        let practised =
            practice(spec.rugs_before + 1, at.number(Dial::Practice)) * at.number(Dial::WeavingPace);
        let preparing = at.number(Dial::PreparingPace);
        let slow = seconds(Dial::Twist, slow_rows * f64::from(units) * (at.number(Dial::SlowFactor) - 1.0))
            * practised;
        let steady =
            seconds(Dial::Twist, twists) + seconds(Dial::Turn, rows) + seconds(Dial::JoinAtFrame, weft_joins);
        let time = Times {
            cut: seconds(Dial::CutStrip, strips) * preparing,
            ball: (seconds(Dial::JoinAtTable, warp_joins) + seconds(Dial::WindYard, warp.yards()))
                * preparing,
            wind_on: seconds(Dial::WindNail, f64::from(2 * rug.nails)) * preparing,
            weave: steady * practised + slow,
            slow,
            take_off: seconds(Dial::TakeOff, 1.0),
            fringe: seconds(Dial::FringeStrand, f64::from(fringe_strips)),
            backing: seconds(Dial::StitchInch, backing_edge.in_inches()),
        };
        Self {
            units,
            rows_per_inch,
            rows,
            strand,
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

pub(crate) fn wrap(at: &At) -> warp::Wrap {
    warp::Wrap {
        nail_diameter: at.length(Dial::NailDiameter),
        strip_thickness: at.length(Dial::StripThickness),
        tail: at.length(Dial::Tail),
    }
}

/// Joins in a run of one colour: every piece but the strand's very first is joined on.
pub(crate) fn joins(run: &Run, strand: Length, at: &At) -> u32 {
    let length = strand * i64::from(run.rows);
    let pieces = weft::pieces(length, at.length(Dial::WeftPiece), at.length(Dial::Join)).ceil() as u32;
    if run.opens { pieces.saturating_sub(1) } else { pieces }
}

fn rows_per_inch(rug: &Rug, at: &At) -> f64 {
    let rows = at.number(Dial::RowsPerInch);
    match at.basis(Dial::RowsPerInch) {
        Basis::Default => weft::rows_per_inch(rows, rug.spec.strip_width, at.areal(Dial::WeftAreal)),
        _ => rows * at.number(Dial::Packing),
    }
}

/// The weight of a row that was measured or learnt; closer rows are lighter.
fn grams_per_row(at: &At) -> Mass {
    at.mass(Dial::GramsPerRow).scale(1.0 / at.number(Dial::Packing))
}

/// One strand, one row: from the width and the take-up; or, where both a row and its cloth were weighed, from the
/// weight, which knows better.
fn strand(rug: &Rug, at: &At, rows_per_inch: f64) -> Length {
    let weighed = [Dial::GramsPerRow, Dial::WeftAreal].iter().all(|&dial| at.basis(dial) != Basis::Default);
    let (piece, join) = (at.length(Dial::WeftPiece), at.length(Dial::Join));
    if weighed && rows_per_inch > 0.0 {
        let cut = at.areal(Dial::WeftAreal).strip_length(grams_per_row(at), rug.spec.strip_width);
        if let Some(cut) = cut {
            return cut.scale(0.5 * (piece - join).ratio(piece));
        }
    }
    weft::strand_per_row(rug.width, at.number(Dial::TakeUp), at.length(Dial::RodTurn))
}
