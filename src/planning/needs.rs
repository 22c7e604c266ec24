//! One rug's needs for one set of inputs: the sum that `estimate` repeats with each input moved. Ranges and words are
//! for `plan`.
use super::finish;
use super::locking::Locking;
use super::pace::against_practised;
use super::pattern::{Band, Pattern, Run};
use super::settings::{Evaluation, Parameter, Provenance};
use super::spec::Rug;
use super::strand::{extra_turn, grams_per_row, pattern, rows_per_inch, strand, take_up};
use super::{warp, weft};
use crate::units::{Length, Mass, Minutes};

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
    /// What of the weaving goes into the turns that charts ask for.
    pub(crate) turning: Minutes,
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
    /// Turns that charts ask for, and what each of the two strands takes more for one.
    pub(crate) extra_turns: f64,
    pub(crate) extra_turn: Length,
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
    /// How often the two strands cross in all rows.
    pub(crate) twists: f64,
    /// How often the two turn once more, so that the same one stays in front.
    pub(crate) extra_turns: f64,
    pub(crate) take_up: f64,
    /// Of a warp strand.
    pub(crate) thickness: Length,
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
    /// Of bought yarn, which is no cloth.
    pub(crate) yarn_mass: Mass,
    pub(crate) weft_mass: Mass,
    pub(crate) fringe_mass: Mass,
    pub(crate) backing_edge: Length,
    pub(crate) thread: Length,
    /// The parts of the woven sides that are left off the frame and washed.
    pub(crate) kept_length: f64,
    pub(crate) kept_width: f64,
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

        let path = rug.path.length(spec.frame.span().scale(at.number(Parameter::SpanError)), &wrap(rug, at));
        let warp = path.scale(1.0 / (1.0 + at.number(Parameter::Give)));
        let strip = at.length(Parameter::SheetStrip);
        let yarn = spec.warp_yarn;
        let piece = yarn.map_or(strip, |yarn| yarn.length);
        let warp_joins = counting.up((warp - join).ratio(piece - join)).max(1.0) - 1.0;
        let warp_cut = warp + join.scale(warp_joins);

        let sorts = sorts(rug, at, rows_per_inch, counting);
        let rows = sorts.iter().map(|sort| sort.rows).sum::<f64>();
        let weft = sorts.iter().map(|sort| sort.weft).sum();
        let extra_turns = sorts.iter().map(|sort| sort.extra_turns).sum::<f64>();
        let weft_joins = sorts.iter().map(|sort| sort.joins).sum::<f64>();
        let weft_cut: Length = sorts.iter().map(|sort| sort.cut).sum();

        let fringe_strips = if spec.fringe.is_some() { rug.path.nails() } else { 0 };
        let one = spec
            .fringe
            .map_or(Length::ZERO, |fringe| finish::fringe_strip(fringe, at.length(Parameter::FringeKnot)));
        let fringe = one * i64::from(fringe_strips);
        // A fringe is of what the warp is of: strip, or yarn off the same ball.
        let (fringe_strip, fringe_yarn) =
            if yarn.is_some() { (Length::ZERO, fringe) } else { (fringe, Length::ZERO) };
        let sheet_strips = |length: Length| counting.up(length.ratio(strip));
        let warp_strips = if yarn.is_some() { 0.0 } else { warp_joins + 1.0 };
        let strips = warp_strips + sheet_strips(weft_cut) + sheet_strips(fringe_strip);

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
        let far_rows = Locking::far_rows(spec.from, rows, counting == Counting::Whole);
        let [near, far] = [&rug.locking.near, &rug.locking.far].map(|end| f64::from(end.row().units()));
        let twists = (rows - far_rows) * near + far_rows * far + rug.locking.splits(rows, far_rows);
        let slow_rows = (at.length(Parameter::SlowEnd).in_inches() * rows_per_inch).min(rows);
        let practised = against_practised(spec.rugs_before, at.number(Parameter::Practice))
            * at.number(Parameter::WeavingPace);
        let preparing = at.number(Parameter::PreparingPace);
        let slow = seconds(
            Parameter::Twist,
            slow_rows * f64::from(units) * (at.number(Parameter::SlowFactor) - 1.0),
        ) * practised;
        let steady = seconds(Parameter::Twist, twists)
            + seconds(Parameter::Turn, rows)
            + seconds(Parameter::JoinAtFrame, weft_joins)
            + seconds(Parameter::ExtraTurn, extra_turns);
        let time = Times {
            cut: seconds(Parameter::CutStrip, strips) * preparing,
            // Yarn is bought wound.
            ball: (seconds(Parameter::JoinAtTable, warp_joins)
                + seconds(Parameter::WindYard, if yarn.is_some() { 0.0 } else { warp.yards() }))
                * preparing,
            wind_on: seconds(Parameter::WindNail, f64::from(rug.path.nails())) * preparing,
            weave: steady * practised + slow,
            slow,
            turning: seconds(Parameter::ExtraTurn, extra_turns) * practised,
            take_off: seconds(Parameter::TakeOff, 1.0),
            fringe: seconds(Parameter::FringeStrand, f64::from(fringe_strips)),
            backing: seconds(Parameter::StitchInch, backing_edge.in_inches()),
        };
        Self {
            units,
            rows_per_inch,
            rows,
            twists,
            extra_turns,
            take_up: take_up(rug, at, spec.strip_width),
            thickness: rug.warp_thickness(at),
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
            warp_mass: if yarn.is_some() {
                Mass::ZERO
            } else {
                warp_areal.mass_of(warp_cut, spec.warp_strip())
            },
            yarn_mass: yarn.map_or(Mass::ZERO, |yarn| yarn.mass_of(warp_cut + fringe_yarn)),
            weft_mass,
            fringe_mass: weft_areal.mass_of(fringe_strip, spec.strip_width),
            backing_edge,
            thread,
            kept_length: 1.0 - at.number(Parameter::Shorter),
            kept_width: 1.0 - at.number(Parameter::Narrower),
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

pub(crate) fn wrap(rug: &Rug, at: &Evaluation) -> warp::Wrap {
    warp::Wrap {
        nail_diameter: at.length(Parameter::NailDiameter),
        strip_thickness: rug.warp_thickness(at),
        tail: at.length(Parameter::Tail),
    }
}

/// The strip of a run, joins not counted: of its rows, and of what a turn more takes.
pub(crate) fn length_of(run: &Run, strand: Length, extra_turn: Length) -> Length {
    strand * i64::from(run.rows) + extra_turn * i64::from(run.extra_turns)
}

/// Joins in a run of one colour so long: every piece but the strand's very first is joined on.
pub(crate) fn joins(run: &Run, length: Length, at: &Evaluation) -> u32 {
    let pieces =
        weft::pieces(length, at.length(Parameter::WeftPiece), at.length(Parameter::Join)).ceil() as u32;
    if run.opens { pieces.saturating_sub(1) } else { pieces }
}

/// The weft by width of strip; the rug's own is the first, and always there.
fn sorts(rug: &Rug, at: &Evaluation, rows_per_inch: f64, counting: Counting) -> Vec<Sort> {
    let (join, own) = (at.length(Parameter::Join), rug.spec.strip_width);
    let mut widths = vec![None];
    for strip in rug.bands.iter().filter_map(|band| band.strip) {
        if !widths.contains(&Some(strip)) {
            widths.push(Some(strip));
        }
    }
    let charted = !rug.spec.charts.is_empty();
    let pattern = (counting == Counting::Whole || charted).then(|| pattern(rug, rows_per_inch));
    let runs = pattern.as_ref().map(Pattern::runs).unwrap_or_default();
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
        let extra_turn = if charted { extra_turn(rug, at, strip, strand) } else { Length::ZERO };
        // Each turn is in a run of both strands.
        let whole = of_sort().map(|run| f64::from(run.extra_turns)).sum::<f64>() / 2.0;
        let extra_turns = match counting {
            Counting::Whole => whole,
            // As many to the row as in whole rows.
            Counting::Smooth => {
                whole * rows / (of_sort().map(|run| f64::from(run.rows)).sum::<f64>() / 2.0).max(1.0)
            }
        };
        let weft = strand.scale(2.0 * rows) + extra_turn.scale(2.0 * extra_turns);
        let joins = match counting {
            Counting::Whole => {
                let length = |run: &Run| length_of(run, strand, extra_turn);
                of_sort().map(|run| f64::from(joins(run, length(run), at))).sum()
            }
            Counting::Smooth => weft::pieces(weft, at.length(Parameter::WeftPiece), join),
        };
        let cut = weft + join.scale(joins);
        let mass = if at.basis(Parameter::GramsPerRow) == Provenance::Default {
            at.areal(Parameter::WeftAreal).mass_of(cut, strip.unwrap_or(own))
        } else {
            // The weight of a row of the rug's own strips; one of other strips differs as its width and its length do, and one
            // with more turns by what these take.
            let as_own = grams_per_row(rug, at, rows_per_inch).scale(rows);
            let as_own =
                strip.map_or(as_own, |strip| as_own.scale(strip.ratio(own) * strand.ratio(own_strand)));
            let plain = strand.scale(2.0 * rows);
            if extra_turns > 0.0 && plain > Length::ZERO { as_own.scale(weft.ratio(plain)) } else { as_own }
        };
        Sort { strip, rows, strand, extra_turns, extra_turn, weft, joins, cut, mass }
    };
    widths.into_iter().map(sort).collect()
}
