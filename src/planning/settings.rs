//! Every doubtful input of a plan with its range: defaults as data, replaced by what was measured or learnt. How the
//! ranges combine is in `estimate`.
use super::uncertainty::chance::NINTH_DECILE;
use crate::units::{Areal, Length, Mass, Quantity, Units};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// How many finished rugs a learnt figure rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Evidence {
    /// Rugs.
    pub rugs: u32,
    /// Those on this size of frame.
    pub size: u32,
    /// Those of this kind of cloth.
    pub cloth: u32,
    /// Those of this weaver.
    pub weaver: u32,
}

impl Evidence {
    /// In words: `7 rugs, 3 of this frame size, 5 of this cloth, 2 of this weaver`.
    pub fn words(self) -> String {
        let rugs = if self.rugs == 1 { "1 rug".to_owned() } else { format!("{} rugs", self.rugs) };
        format!(
            "{rugs}, {} of this frame size, {} of this cloth, {} of this weaver",
            self.size, self.cloth, self.weaver
        )
    }
}

/// Where a value is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Provenance {
    /// Measured on this frame, cloth or sample.
    Measured,
    /// Learnt from so many of this class's finished rugs.
    Learnt(Evidence),
    /// Nobody measured it.
    Default,
}

/// A value that one case in ten lies under `low` and one over `high`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The value that counts.
    pub value: Quantity,
    /// One case in ten lies under it.
    pub low: Quantity,
    /// One case in ten lies over it.
    pub high: Quantity,
    /// Where it is from.
    pub basis: Provenance,
}

macro_rules! parameters {
    ($($parameter:ident $kind:ident $low:literal $value:literal $high:literal $name:literal $source:ident;)*) => {
        /// A doubtful input.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(rename_all = "snake_case")]
        pub enum Parameter { $(#[doc = $name] $parameter),* }

        impl Parameter {
            /// Every parameter.
            pub const ALL: &'static [Self] = &[$(Self::$parameter),*];

            /// What it is, in words.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$parameter => $name),* }
            }

            /// Where its default and range are from.
            pub const fn source(self) -> &'static str {
                match self { $(Self::$parameter => $source),* }
            }

            /// The default with its range.
            pub(crate) fn standard(self) -> Estimate {
                match self { $(Self::$parameter => standard($kind, [$low, $value, $high])),* }
            }
        }
    };
}

impl Parameter {
    /// What a measured or learnt value may be: a tenth of the default's low to ten times its high; factors from zero; give,
    /// of which one strip in ten has none, as far below as above: a strip wound slack takes more than the path.
    pub fn bounds(self) -> (Quantity, Quantity) {
        let Estimate { low, high, .. } = self.standard();
        match (low, high) {
            // Some cloth gives way and grows, and some shrinks by a third.
            _ if matches!(self, Self::Shorter | Self::Narrower) => {
                (Quantity::Ratio(-0.3), Quantity::Ratio(0.5))
            }
            (Quantity::Ratio(0.0), Quantity::Ratio(high)) => {
                (Quantity::Ratio(-10.0 * high), Quantity::Ratio((high * 10.0).max(1.0)))
            }
            (Quantity::Ratio(_), Quantity::Ratio(high)) => {
                (Quantity::Ratio(0.0), Quantity::Ratio((high * 10.0).max(1.0)))
            }
            _ => (low.times(0.1), high.times(10.0)),
        }
    }
}

type Make = fn(f64) -> Quantity;
const INCH: Make = |v| Quantity::Length(Length::inches(v));
const GSM: Make = |v| Quantity::Areal(Areal::from_gsm(v));
const RATIO: Make = Quantity::Ratio;
const SECONDS: Make = Quantity::Seconds;
const PER_INCH: Make = Quantity::PerInch;
const GRAMS: Make = |v| Quantity::Mass(Mass::from_grams(v));

fn standard(make: Make, [low, value, high]: [f64; 3]) -> Estimate {
    Estimate { value: make(value), low: make(low), high: make(high), basis: Provenance::Default }
}

const PRACTICE: &str = "common practice, no source";
const REASONED: &str = "reasoned estimate, no source";
const CALIBRATED: &str =
    "set so that an 18 × 33 in rug takes a practised weaver about 6 h; common practice, no source";
const JOINS: &str = "common practice: fold 3/4 to 1 in at each end; no source";
const ROWS: &str =
    "common practice for percale strip of 1 1/2 in; other strip by the square root of its mass per length";
const HELIX: &str = "reasoned estimate at the usual pitch, where a half-twist helix round a warp as thick as the weft gives as much \
     and a flat sine half of it; elsewhere by that helix";
const BUNDLE: &str =
    "cloth packs to about half a gram per cubic centimetre, a third of solid cotton; from memory";
const CHARTS: &str =
    "published fabric-weight charts, which agree within a few g/m²; typical value from memory";
const CRAWFORD: &str = "J. R. Crawford's unit form of the learning curve (Wright's own is of the cumulative average); the rate so that a \
     first rug takes half again to twice as long as the eighth: common practice, no source";
const SHEETS: &str = "common sheet sizes less hems, from memory";
const WASHED: &str = "from memory; the class learns it from rugs that were measured again after washing";
const SAMPLE: &str = "a woven sample";
const PACKING: &str = "a row more that was counted is a row that weighs less";
const PACES: &str =
    "reasoned estimate: classes and weavers differ, most at their first rugs; finished rugs tell";
const CLASS: &str = "1 until finished rugs tell otherwise";

// The areal masses, the give and the span are set from the cloth and the frame when a plan is made. Grams per row counts
// only when measured or learnt; packing and the preparing pace do nothing before. The weaving pace's range is a practised
// weaver's, and wider for one who has made fewer rugs.
parameters! {
    SpanError RATIO 0.996 1.0 1.004 "the span as measured, against the true one" REASONED;
    NailDiameter INCH 0.08 0.1 0.14 "nail diameter" PRACTICE;
    StripThickness RATIO 0.67 1.0 1.5 "thickness of bundles of strip, against cloth packed to half a gram per cubic centimetre" BUNDLE;
    Tail INCH 4.0 6.0 8.0 "tail for tying at each end of the warp" PRACTICE;
    Give RATIO 0.0 0.02 0.04 "give of the warp strip under tension" REASONED;
    Join INCH 1.5 2.0 2.5 "strip lost in a join, both ends together" JOINS;
    RowsPerInch PER_INCH 3.0 4.0 5.0 "rows per inch" ROWS;
    TakeUp RATIO 0.15 0.28 0.45 "weft take-up" HELIX;
    RodTurn INCH 0.5 0.75 1.0 "weft strip for a turn about the edge rod" PRACTICE;
    WarpAreal GSM 100.0 130.0 150.0 "mass per area of the warp cloth" CHARTS;
    WeftAreal GSM 100.0 130.0 150.0 "mass per area of the weft cloth" CHARTS;
    GramsPerRow GRAMS 6.0 6.0 6.0 "weight of one row" SAMPLE;
    Packing RATIO 1.0 1.0 1.0 "closer rows, which are lighter rows" PACKING;
    WeftPiece INCH 48.0 54.0 60.0 "length that weft is worked in" PRACTICE;
    SheetStrip INCH 66.0 90.0 104.0 "length of a strip from a sheet" SHEETS;
    CutStrip SECONDS 12.0 20.0 30.0 "cutting or tearing one strip" REASONED;
    JoinAtTable SECONDS 20.0 30.0 45.0 "one join at the table" REASONED;
    JoinAtFrame SECONDS 15.0 25.0 40.0 "one join at the frame" REASONED;
    WindYard SECONDS 3.0 5.0 8.0 "winding one yard into a ball" REASONED;
    WindNail SECONDS 8.0 12.0 18.0 "winding on, for each nail" REASONED;
    Twist SECONDS 3.0 4.15 6.0 "one twist of the weft" CALIBRATED;
    ExtraTurn SECONDS 1.0 2.0 4.0 "one turn more of the two strands, where the same one stays in front" REASONED;
    Turn SECONDS 2.0 4.0 7.0 "one turn at the rod" REASONED;
    SlowEnd INCH 1.0 2.0 3.0 "last stretch, with no room for the hand" REASONED;
    SlowFactor RATIO 1.5 2.0 3.0 "times as slow in the last stretch" REASONED;
    WeavingPace RATIO 0.8 1.0 1.25 "weaving time against the sum of its acts" PACES;
    PreparingPace RATIO 1.0 1.0 1.0 "preparing time against the sum of its acts" CLASS;
    Practice RATIO 0.79 0.83 0.87 "time left at each doubling of rugs made" CRAWFORD;
    TakeOff SECONDS 480.0 900.0 1800.0 "taking off and hiding the ends" REASONED;
    StitchInch SECONDS 20.0 30.0 50.0 "slip stitching one inch" PRACTICE;
    FringeStrand SECONDS 20.0 30.0 45.0 "tying in one fringe strip" REASONED;
    FringeKnot INCH 1.5 2.0 3.0 "strip lost in a fringe knot" REASONED;
    Shorter RATIO 0.01 0.03 0.06 "length lost off the frame and in the wash" WASHED;
    Narrower RATIO 0.01 0.03 0.06 "width lost off the rods and in the wash" WASHED;
    ThreadRatio RATIO 1.5 2.0 2.5 "slip-stitch thread for each length of edge" PRACTICE;
}

/// A measured or learnt value that can't be used.
#[derive(Debug, Clone, PartialEq, Error)]
#[error("The {name} can't be {given}: from {allowed} is allowed.")]
pub struct BadEstimate {
    name: &'static str,
    given: String,
    allowed: String,
}

/// All parameters of one plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    values: Vec<Estimate>,
}

impl Default for Settings {
    fn default() -> Self {
        Self { values: Parameter::ALL.iter().map(|parameter| parameter.standard()).collect() }
    }
}

impl Settings {
    /// The setting of a parameter.
    pub fn get(&self, parameter: Parameter) -> &Estimate {
        &self.values[parameter as usize]
    }

    /// Replaces a default by what was measured, learnt or is known of the cloth.
    ///
    /// # Errors
    /// [`BadEstimate`] for a value outside its own range, of another kind, no number, or beyond [`Parameter::bounds`].
    pub fn set(&mut self, parameter: Parameter, setting: Estimate, units: Units) -> Result<(), BadEstimate> {
        let Estimate { value, low, high, .. } = setting;
        let standard = parameter.standard();
        let kinds = [value, low, high].iter().all(|q| q.same_kind(standard.value));
        let numbers = [low.number(), value.number(), high.number()];
        let ordered = numbers[0] <= numbers[1] && numbers[1] <= numbers[2];
        let (min, max) = parameter.bounds();
        if !(kinds && ordered && min.number() <= numbers[0] && numbers[2] <= max.number()) {
            let [value, low, high, min, max] = [value, low, high, min, max].map(|q| q.show(units));
            let given = format!("{value}, between {low} and {high}");
            return Err(BadEstimate { name: parameter.name(), given, allowed: format!("{min} to {max}") });
        }
        self.values[parameter as usize] = setting;
        Ok(())
    }

    /// The settings with every parameter at its value.
    pub fn at(&self) -> Evaluation<'_> {
        Evaluation { settings: self, moved: None }
    }

    /// Each doubtful parameter, with the settings with it alone at its low and at its high.
    pub fn ends(&self) -> impl Iterator<Item = (Parameter, Evaluation<'_>, Evaluation<'_>)> {
        let doubtful =
            |parameter: &&Parameter| self.get(**parameter).low.number() < self.get(**parameter).high.number();
        Parameter::ALL.iter().filter(doubtful).map(|&parameter| {
            let at = |value| Evaluation { settings: self, moved: Some((parameter, value)) };
            (parameter, at(self.get(parameter).low), at(self.get(parameter).high))
        })
    }
}

/// The settings, with at most one parameter moved from its value.
#[derive(Debug, Clone, Copy)]
pub struct Evaluation<'a> {
    settings: &'a Settings,
    moved: Option<(Parameter, Quantity)>,
}

impl Evaluation<'_> {
    fn value(&self, parameter: Parameter) -> Quantity {
        match self.moved {
            Some((moved, value)) if moved == parameter => value,
            _ => self.settings.get(parameter).value,
        }
    }

    /// Where the parameter's value is from.
    pub fn basis(&self, parameter: Parameter) -> Provenance {
        self.settings.get(parameter).basis
    }

    /// The parameter as a length; zero for a parameter of another kind.
    pub fn length(&self, parameter: Parameter) -> Length {
        if let Quantity::Length(length) = self.value(parameter) { length } else { Length::ZERO }
    }

    /// The parameter as a mass; zero for a parameter of another kind.
    pub fn mass(&self, parameter: Parameter) -> Mass {
        if let Quantity::Mass(mass) = self.value(parameter) { mass } else { Mass::ZERO }
    }

    /// The parameter as mass per area; zero for a parameter of another kind.
    pub fn areal(&self, parameter: Parameter) -> Areal {
        if let Quantity::Areal(areal) = self.value(parameter) { areal } else { Areal::from_gsm(0.0) }
    }

    /// The parameter's plain number: seconds, factor or rows per inch.
    pub fn number(&self, parameter: Parameter) -> f64 {
        self.value(parameter).number()
    }
}

/// What a weaver found in a first stretch of weaving: "in 4 in I counted 17 rows and used 98 g".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sample {
    /// The stretch that was measured.
    pub woven: Length,
    /// The rows counted in it.
    pub rows: u32,
    /// The weft used, where it was weighed.
    pub mass: Option<Mass>,
}

impl Sample {
    /// Ruler and row count can each be off by so much; reasoned estimates.
    const RULER: f64 = 1.0 / 16.0;
    const COUNT: f64 = 0.5;
    /// A kitchen scale's step, and how far the weight of one stretch's rows may differ from that of the rest's.
    const SCALE_GRAMS: f64 = 2.0;
    const STRETCH: f64 = 0.04;
    /// How far the rows to the inch of the rest may differ from the sample's, as a standard deviation of the logarithm: of
    /// weavers who have made a rug, and of those who make their first and mostly beat closer later. Reasoned estimates, no
    /// source.
    pub const REST: f64 = 0.08;
    /// The same for somebody's first rug.
    pub const FIRST_REST: f64 = 0.095;

    /// Sets rows per inch, and the weight of a row where the sample was weighed, with the ruler's, the count's and the
    /// scale's doubt, and with that of a rug so long: what is woven later differs from the first inches, and the doubt of the
    /// whole falls with the share of it that the sample is.
    ///
    /// # Errors
    /// [`BadEstimate`] when the stretch, the rows or the weight are nothing.
    pub fn apply(
        &self,
        settings: &mut Settings,
        length: Length,
        first_rug: bool,
        units: Units,
    ) -> Result<(), BadEstimate> {
        let (inches, rows) = (self.woven.in_inches(), f64::from(self.rows));
        let (ruler, count) = (Self::RULER / inches, Self::COUNT / rows);
        let rest = 1.0 - self.share(length);
        let later = if first_rug { Self::FIRST_REST } else { Self::REST };
        let doubt = ruler.hypot(NINTH_DECILE * later * rest);
        // A row miscounted makes the rows more and each of them lighter: the weight of the rug doesn't depend on it.
        let alone = if self.mass.is_some() { doubt } else { doubt.hypot(count) };
        settings.set(Parameter::RowsPerInch, measured(PER_INCH, rows / inches, alone), units)?;
        settings.set(
            Parameter::Packing,
            measured(RATIO, 1.0, if self.mass.is_some() { count } else { 0.0 }),
            units,
        )?;
        if let Some(mass) = self.mass {
            let doubt = (Self::SCALE_GRAMS / mass.grams()).hypot(Self::STRETCH * rest);
            settings.set(Parameter::GramsPerRow, measured(GRAMS, mass.grams() / rows, doubt), units)?;
        }
        Ok(())
    }

    /// The share of a rug of that length that it is, from 0 to 1.
    pub fn share(&self, length: Length) -> f64 {
        if length > Length::ZERO { self.woven.ratio(length).clamp(0.0, 1.0) } else { 0.0 }
    }
}

fn measured(make: Make, value: f64, doubt: f64) -> Estimate {
    // NaN and infinity pass through to `Settings::set`, which refuses them.
    if !(value.is_finite() && value > 0.0 && value < 1e6 && doubt < 10.0) {
        let none = make(0.0);
        return Estimate { value: none, low: none, high: none, basis: Provenance::Measured };
    }
    let [low, high] = [value * (-doubt).exp(), value * doubt.exp()].map(make);
    Estimate { value: make(value), low, high, basis: Provenance::Measured }
}

impl Estimate {
    /// Low, typical and high g/m² of a kind of cloth that nobody weighed.
    pub fn default_areal(gsm: [f64; 3]) -> Self {
        standard(GSM, gsm)
    }

    /// Low, typical and high of a factor that nobody measured.
    pub fn default_ratio(ratio: [f64; 3]) -> Self {
        standard(RATIO, ratio)
    }

    /// A weighed and measured cloth: a scale, a tape and creases leave some 3 % of doubt (reasoned estimate).
    pub fn measured_areal(areal: Areal) -> Self {
        measured(GSM, areal.gsm(), 0.03)
    }

    /// The weight of a row, weighed over many, with 5 % of doubt (reasoned estimate).
    pub fn measured_grams_per_row(mass: Mass) -> Self {
        measured(GRAMS, mass.grams(), 0.05)
    }
}
