//! What a class's finished rugs teach the next one: rows per inch, the weight of a row, weaving and preparing time, the
//! give of the warp, and what a rug loses of its size off the frame and in the wash. What a rug's own log teaches it is in `progress`; the arithmetic of shrinking is in `shrink`.
//!
//! **The model.** Each doubtful parameter of a rug is a standard normal deviate, scaled so that its deciles are its low
//! and high. The deviate is a sum of five independent parts: one common to the class, one to the size of frame, one to the
//! kind of cloth, one to the weaver, one to the single rug; `figure` states their variances. So with nothing
//! finished a rug has exactly the default ranges; a rug of the same weaver on the same size of frame tells more than
//! another; and what only the single rug decides is never learnt. A figure that was observed is, on the logarithm, a
//! linear combination of the parameters with the loadings that moving each alone gives, plus the error of measuring it.
//! Then everything is normal and the posterior is exact (`shrink`).
//!
//! **Why stated variances** and not ones estimated from the class (empirical Bayes): a class finishes some ten or twenty
//! rugs a term, each weaver one or two. Variances between weavers estimated from so few are mostly noise, now nothing and
//! now everything; stated ones are wrong by a known amount and let the first finished rug teach.
mod figure;
pub mod shrink;

use super::needs::{Counting, Needs};
use super::settings::{Estimate, Evidence, Parameter, Provenance};
use super::spec::{Rug, RugSpec};
use super::uncertainty::chance::NINTH_DECILE;
use crate::units::{Length, Mass, Minutes, Quantity, Units};
pub use figure::Figure;
use figure::{Loadings, Traits};
use serde::{Deserialize, Serialize};
use shrink::Shrunk;

/// What was written down of a finished rug; each may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Outcome {
    /// Rows counted.
    pub rows: Option<u32>,
    /// Woven length.
    pub woven: Option<Length>,
    /// Weft used.
    pub weft: Option<Mass>,
    /// Time for weaving.
    pub weaving: Option<Minutes>,
    /// Time for cutting, joining and winding.
    pub preparing: Option<Minutes>,
    /// Warp strip used.
    pub warp: Option<Length>,
    /// Length off the frame and washed.
    pub finished_length: Option<Length>,
    /// Width off the frame and washed.
    pub finished_width: Option<Length>,
}

/// A finished rug, what it was planned as, and whose it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Finished {
    /// As planned. What was measured of it by a sample is left out of account: the whole rug tells more.
    pub spec: RugSpec,
    /// Its weaver, by any name that only they have.
    pub weaver: String,
    /// What was written down.
    pub outcome: Outcome,
}

/// One figure that was seen.
#[derive(Debug, Clone, PartialEq)]
struct Seen {
    figure: Figure,
    rug: usize,
    loadings: Loadings,
    /// How far its logarithm lies from where it was believed.
    off: f64,
    /// The variance of measuring it.
    noise: f64,
}

/// Figures that are learnt together.
#[derive(Debug, Clone, PartialEq)]
struct Group {
    figures: &'static [Figure],
    seen: Vec<Seen>,
    shrunk: Shrunk,
}

/// What a class's finished rugs teach.
///
/// # Examples
/// ```
/// use thrumhall::planning::learn::{Class, Finished, Outcome};
/// use thrumhall::planning::{Plan, RugSpec};
/// # use thrumhall::planning::{Frame, FrameSizes};
/// # use thrumhall::units::{Length, Units};
/// # let sizes = FrameSizes {
/// #     span: Length::inches(33.0), width: Length::inches(18.0), nails: 33, pitch: None, nail_diameter: None,
/// # };
/// # let frame = Frame::new(sizes, Units::Inches)?;
///
/// // Ana wove 150 rows where 128 were planned: her next rug is planned closer, if not quite as close.
/// let spec = RugSpec::plain(frame);
/// let outcome = Outcome { rows: Some(150), woven: Some(Length::inches(32.0)), ..Outcome::default() };
/// let finished = Finished { spec: spec.clone(), weaver: "Ana".into(), outcome };
/// let known = Class::of(&[finished], Units::Inches).settings(&spec, "Ana", Units::Inches);
/// let next = Plan::of(&RugSpec { known, ..spec }, Units::Inches)?;
/// assert!((129..150).contains(&next.weft.rows));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Class {
    traits: Vec<Traits>,
    groups: Vec<Group>,
}

/// What is believed of one figure of a rug to come.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Belief {
    /// Which.
    pub figure: Figure,
    /// The median, as a ratio to the default's value.
    pub ratio: f64,
    /// The standard deviation of its logarithm.
    pub sd: f64,
    /// What it rests on.
    pub evidence: Evidence,
}

impl Class {
    /// The class of these finished rugs. A rug that can't be planned, or of which nothing was written down, teaches
    /// nothing.
    pub fn of(finished: &[Finished], units: Units) -> Self {
        let mut class = Self::default();
        let mut rugs: Vec<(Rug, Outcome)> = Vec::new();
        for Finished { spec, weaver, outcome } in finished {
            if let Ok(rug) = (RugSpec { sample: None, ..spec.clone() }).check(units) {
                class.traits.push(Traits::of(spec, weaver));
                rugs.push((rug, *outcome));
            }
        }
        for figures in Figure::TOGETHER {
            let mut seen = Vec::new();
            for (rug, (planned, outcome)) in rugs.iter().enumerate() {
                for &figure in figures {
                    if let Some((value, sd)) = figure.seen(planned, outcome) {
                        let loadings = Loadings::of(figure, planned);
                        let off = value.ln() - loadings.plain - loadings.shift();
                        seen.push(Seen { figure, rug, loadings, off, noise: sd * sd });
                    }
                }
            }
            class.learn(figures, seen);
        }
        class
    }

    fn learn(&mut self, figures: &'static [Figure], seen: Vec<Seen>) {
        let covariance = |(i, one): (usize, &Seen)| {
            let with = |(j, other): (usize, &Seen)| {
                let common = |nature| {
                    if one.rug == other.rug {
                        return 1.0;
                    }
                    self.traits[one.rug].common(&self.traits[other.rug], nature)
                };
                one.loadings.with(&other.loadings, common) + if i == j { one.noise } else { 0.0 }
            };
            seen.iter().enumerate().take(i + 1).map(with).collect()
        };
        let covariance = seen.iter().enumerate().map(covariance).collect();
        let off: Vec<f64> = seen.iter().map(|seen| seen.off).collect();
        if let Some(shrunk) = Shrunk::of(covariance, &off).filter(|_| !seen.is_empty()) {
            self.groups.push(Group { figures, seen, shrunk });
        }
    }

    /// What is believed of a rug of this weaver's before it is begun: the figures of which anything was seen.
    pub fn beliefs(&self, rug: &Rug, weaver: &str) -> Vec<Belief> {
        self.asked(rug, weaver).into_iter().map(|asked| asked.belief).collect()
    }

    fn asked(&self, rug: &Rug, weaver: &str) -> Vec<Target> {
        let traits = Traits::of(&rug.spec, weaver);
        let mut all: Vec<Target> = Vec::new();
        for group in &self.groups {
            let before = all.len();
            for &figure in group.figures {
                let told: Vec<&Seen> = group.seen.iter().filter(|seen| seen.figure == figure).collect();
                if told.is_empty() {
                    continue;
                }
                let loadings = Loadings::of(figure, rug).only(figure.own());
                let with = |seen: &Seen| {
                    loadings.with(&seen.loadings, |nature| traits.common(&self.traits[seen.rug], nature))
                };
                let with: Vec<f64> = group.seen.iter().map(with).collect();
                let prior = loadings.with(&loadings, |_| 1.0);
                let sd = (prior - group.shrunk.explained(&with, &with)).max(0.0).sqrt();
                let same = told.iter().map(|seen| traits.same(&self.traits[seen.rug]));
                let count = |which: usize| same.clone().filter(|same| same[which]).count() as u32;
                let evidence =
                    Evidence { rugs: told.len() as u32, size: count(0), cloth: count(1), weaver: count(2) };
                let ratio = (group.shrunk.mean(&with) + loadings.shift()).exp();
                let covary = all[before..].iter().map(|other| {
                    loadings.with(&other.loadings, |_| 1.0) - group.shrunk.explained(&with, &other.with)
                });
                let covary = covary.sum();
                all.push(Target { belief: Belief { figure, ratio, sd, evidence }, loadings, with, covary });
            }
        }
        all
    }

    /// The settings that a rug of this weaver's has from the class. What was measured of the rug itself stays, and a
    /// sample, which a plan applies last, beats them.
    pub fn settings(&self, spec: &RugSpec, weaver: &str, units: Units) -> Vec<(Parameter, Estimate)> {
        // The weight of a row is told of one without the turns more of a chart.
        let Ok(rug) = (RugSpec { sample: None, ..spec.without_charts() }).check(units) else {
            return Vec::new();
        };
        let needs = Needs::of(&rug, &rug.settings.at(), Counting::Smooth);
        let mut known = Vec::new();
        let measured = |parameter| spec.known.iter().any(|(known, _)| *known == parameter);
        for Target { belief, covary, .. } in self.asked(&rug, weaver) {
            let Belief { figure, ratio, sd, evidence } = belief;
            let doubtful = |value: Quantity, sd: f64| Estimate {
                value,
                low: value.times((-NINTH_DECILE * sd).exp()),
                high: value.times((NINTH_DECILE * sd).exp()),
                basis: Provenance::Learnt(evidence),
            };
            // Closer rows are lighter rows: what both have in common goes into one that moves them against each other.
            let common = (-covary).max(0.0).sqrt();
            let own = (sd * sd - common * common).max(0.0).sqrt();
            let (parameter, setting) = match figure {
                Figure::Rows => {
                    (Parameter::RowsPerInch, doubtful(Quantity::PerInch(needs.rows_per_inch * ratio), sd))
                }
                Figure::Grams => {
                    let row = Mass::from_grams(figure.of(&needs) * ratio);
                    (Parameter::GramsPerRow, doubtful(Quantity::Mass(row), own))
                }
                Figure::Weaving => (Parameter::WeavingPace, doubtful(Quantity::Ratio(ratio), sd)),
                Figure::Preparing => (Parameter::PreparingPace, doubtful(Quantity::Ratio(ratio), sd)),
                Figure::Warp => (Parameter::Give, give(&rug, ratio, sd, evidence)),
                Figure::Length | Figure::Width => {
                    let parameter = figure.own().map_or(Parameter::Shorter, |own| own[0]);
                    (parameter, loss(&rug, parameter, ratio, sd, evidence))
                }
            };
            if measured(parameter) {
                continue;
            }
            if figure == Figure::Grams && common > 0.0 {
                known.push((Parameter::Packing, doubtful(Quantity::Ratio(1.0), common)));
                if let Some((_, rows)) =
                    known.iter_mut().find(|(parameter, _)| *parameter == Parameter::RowsPerInch)
                {
                    let sd = (rows.high.number() / rows.value.number()).ln() / NINTH_DECILE;
                    *rows = doubtful(rows.value, (sd * sd - common * common).max(0.0).sqrt());
                }
            }
            known.push((parameter, setting));
            // Their doubt is the learnt setting's now.
            for &other in figure.own().into_iter().flatten().filter(|own| **own != parameter) {
                let value = rug.settings.get(other).value;
                known.push((
                    other,
                    Estimate { value, low: value, high: value, basis: rug.settings.get(other).basis },
                ));
            }
        }
        // A figure beyond what a plan allows is no use to it.
        let mut settings = rug.settings;
        known.retain(|(parameter, setting)| settings.set(*parameter, *setting, units).is_ok());
        known
    }
}

struct Target {
    belief: Belief,
    loadings: Loadings,
    with: Vec<f64>,
    /// The covariance with the figure before it in its group.
    covary: f64,
}

/// The loss of a side that makes it so many times as long as the default does; less than nothing for one that grew.
fn loss(rug: &Rug, parameter: Parameter, ratio: f64, sd: f64, evidence: Evidence) -> Estimate {
    let usual = 1.0 - rug.settings.get(parameter).value.number();
    let at = |z: f64| Quantity::Ratio(1.0 - usual * ratio * (z * sd).exp());
    let (low, high) = (at(NINTH_DECILE), at(-NINTH_DECILE));
    Estimate { value: at(0.0), low, high, basis: Provenance::Learnt(evidence) }
}

/// The give that makes the warp so many times as long as the default does; less than nothing for one that is wound slack.
fn give(rug: &Rug, ratio: f64, sd: f64, evidence: Evidence) -> Estimate {
    let usual = 1.0 + rug.settings.get(Parameter::Give).value.number();
    let at = |z: f64| Quantity::Ratio(usual / (ratio * (z * sd).exp()) - 1.0);
    let (low, high) = (at(NINTH_DECILE), at(-NINTH_DECILE));
    Estimate { value: at(0.0), low, high, basis: Provenance::Learnt(evidence) }
}
