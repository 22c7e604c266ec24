//! The figures that are learnt, what each was seen as, and how parameters and rugs vary together.
use super::Outcome;
use crate::planning::cloth::Kind;
use crate::planning::needs::{Counting, Needs};
use crate::planning::settings::{Evaluation, Parameter};
use crate::planning::spec::{Rug, RugSpec};
use crate::planning::uncertainty::estimate::{Effect, effects};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A figure that finished rugs teach.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Figure {
    /// Rows per inch.
    Rows,
    /// Weight of a row.
    Grams,
    /// Time of weaving, for the rows there were.
    Weaving,
    /// Time of preparing.
    Preparing,
    /// Warp strip used.
    Warp,
    /// Length off the frame and washed, against the woven one.
    Length,
    /// Width off the frame and washed, against the woven one.
    Width,
}

/// What a parameter's value mostly depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Nature {
    Cloth,
    Frame,
    Hand,
    Pace,
}

impl Nature {
    const ALL: [Self; 4] = [Self::Cloth, Self::Frame, Self::Hand, Self::Pace];

    fn of(parameter: Parameter) -> Self {
        match parameter {
            Parameter::WarpAreal
            | Parameter::WeftAreal
            | Parameter::StripThickness
            | Parameter::Give
            | Parameter::SheetStrip
            | Parameter::Shorter
            | Parameter::Narrower => Self::Cloth,
            Parameter::SpanError | Parameter::NailDiameter => Self::Frame,
            Parameter::WeavingPace => Self::Pace,
            _ => Self::Hand,
        }
    }

    /// Variances of the parts common to the class, the size of frame, the kind of cloth, the weaver; what is left of one is
    /// the single rug's. Reasoned estimates, no source: bundles of donated cloth differ whatever their kind; hands differ
    /// between people and less between one person's rugs; how fast weaving goes besides, and what of an evening is counted,
    /// is mostly a class's own.
    const fn shares(self) -> [f64; 4] {
        match self {
            Self::Cloth => [0.15, 0.0, 0.25, 0.10],
            Self::Frame => [0.20, 0.40, 0.0, 0.0],
            Self::Hand => [0.30, 0.10, 0.10, 0.30],
            Self::Pace => [0.70, 0.0, 0.0, 0.20],
        }
    }
}

impl Figure {
    /// Every figure.
    pub const ALL: [Self; 7] =
        [Self::Rows, Self::Grams, Self::Weaving, Self::Preparing, Self::Warp, Self::Length, Self::Width];

    /// Figures that share parameters and so are learnt together.
    pub(super) const TOGETHER: [&[Self]; 6] = [
        &[Self::Rows, Self::Grams],
        &[Self::Weaving],
        &[Self::Preparing],
        &[Self::Warp],
        &[Self::Length],
        &[Self::Width],
    ];

    /// The figure by the plan.
    pub(super) fn of(self, needs: &Needs) -> f64 {
        match self {
            Self::Rows => needs.rows_per_inch,
            Self::Grams => needs.weft_mass.grams() / needs.rows,
            Self::Weaving => needs.time.weave.get() / needs.rows,
            Self::Preparing => needs.prepare().get(),
            Self::Warp => needs.warp.mm(),
            Self::Length => needs.kept_length,
            Self::Width => needs.kept_width,
        }
    }

    /// The figure as it turned out, and the standard deviation of its logarithm from measuring it.
    ///
    /// Reasoned estimates: a tape is read to 1/8 in and rows counted to one half; balls weighed before and after leave 15 g
    /// of doubt and offcuts 3 %; times by the clock a tenth; the rest of a warp ball is measured to 1 %;
    /// a washed rug's side to 1/4 in, and what was woven is its bands' length where nobody measured it.
    pub(super) fn seen(self, rug: &Rug, outcome: &Outcome) -> Option<(f64, f64)> {
        let rows = outcome.rows.filter(|&rows| rows > 0).map(f64::from);
        let kept = |finished: Length, woven: Length| (finished.ratio(woven), 0.25 / woven.in_inches());
        let found = match self {
            Self::Rows => {
                let (rows, inches) = (rows?, outcome.woven?.in_inches());
                (rows / inches, (0.5 / rows).hypot(0.125 / inches))
            }
            Self::Grams => {
                let (rows, grams) = (rows?, outcome.weft?.grams());
                (grams / rows, (0.5 / rows).hypot(15.0 / grams).hypot(0.03))
            }
            Self::Weaving => (outcome.weaving?.get() / rows?, 0.1),
            Self::Preparing => (outcome.preparing?.get(), 0.1),
            Self::Warp => (outcome.warp?.mm(), 0.01),
            Self::Length => kept(outcome.finished_length?, outcome.woven.unwrap_or(rug.length)),
            Self::Width => kept(outcome.finished_width?, rug.width),
        };
        (found.0.is_finite() && found.0 > 0.0 && found.1.is_finite()).then_some(found)
    }

    /// The parameters whose doubt the learnt setting takes over; nothing where it is all of them.
    pub(super) const fn own(self) -> Option<&'static [Parameter]> {
        match self {
            Self::Rows | Self::Grams => None,
            Self::Weaving => Some(&[
                Parameter::Twist,
                Parameter::Turn,
                Parameter::JoinAtFrame,
                Parameter::SlowEnd,
                Parameter::SlowFactor,
                Parameter::Practice,
                Parameter::WeavingPace,
            ]),
            Self::Preparing => {
                Some(&[Parameter::CutStrip, Parameter::JoinAtTable, Parameter::WindYard, Parameter::WindNail])
            }
            Self::Warp => Some(&[Parameter::Give]),
            Self::Length => Some(&[Parameter::Shorter]),
            Self::Width => Some(&[Parameter::Narrower]),
        }
    }
}

/// What two rugs can have in common.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Traits {
    size: (Length, Length, u32),
    cloth: Kind,
    weaver: String,
}

impl Traits {
    pub(super) fn of(spec: &RugSpec, weaver: &str) -> Self {
        let frame = &spec.frame;
        let size = (frame.span(), frame.width(), frame.nails());
        Self { size, cloth: spec.weft_kind, weaver: weaver.to_owned() }
    }

    pub(super) fn same(&self, other: &Self) -> [bool; 3] {
        [self.size == other.size, self.cloth == other.cloth, self.weaver == other.weaver]
    }

    /// How far a parameter of this nature is the same in two different rugs.
    pub(super) fn common(&self, other: &Self, nature: Nature) -> f64 {
        let [class, parts @ ..] = nature.shares();
        let same = parts.into_iter().zip(self.same(other)).filter(|(_, same)| *same);
        class + same.map(|(share, _)| share).sum::<f64>()
    }
}

/// One figure of one rug: how each parameter moves it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Loadings {
    /// Its logarithm with every parameter at its value.
    pub(super) plain: f64,
    parameters: Vec<Effect>,
}

impl Loadings {
    pub(super) fn of(figure: Figure, rug: &Rug) -> Self {
        let value = |at: &Evaluation| figure.of(&Needs::of(rug, at, Counting::Smooth));
        let plain = value(&rug.settings.at()).max(f64::MIN_POSITIVE).ln();
        Self { plain, parameters: effects(&rug.settings, value) }
    }

    /// Those of a few parameters; of all where none are named.
    pub(super) fn only(mut self, parameters: Option<&[Parameter]>) -> Self {
        self.parameters.retain(|effect| parameters.is_none_or(|own| own.contains(&effect.parameter)));
        self
    }

    /// How far skew parameters shift the middle of the logarithm.
    pub(super) fn shift(&self) -> f64 {
        self.parameters.iter().map(|effect| effect.mean).sum()
    }

    /// The covariance with another figure, where parameters of each nature have so much in common.
    pub(super) fn with(&self, other: &Self, common: impl Fn(Nature) -> f64) -> f64 {
        let mut sums = [0.0; Nature::ALL.len()];
        for Effect { parameter, load, .. } in &self.parameters {
            if let Some(with) = other.parameters.iter().find(|with| with.parameter == *parameter) {
                sums[Nature::of(*parameter) as usize] += load * with.load;
            }
        }
        Nature::ALL.into_iter().zip(sums).map(|(nature, sum)| sum * common(nature)).sum()
    }
}
