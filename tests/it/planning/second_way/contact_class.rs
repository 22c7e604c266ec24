//! What the program learns from finished rugs; beside `contact`, the only file here that knows its types.
use super::contact::{Asked, spec};
use thrumhall::planning::RugSpec;
use thrumhall::planning::learn::{Class, Finished, Outcome};
use thrumhall::planning::settings::Evidence;
use thrumhall::planning::settings::{Estimate, Parameter, Provenance};
use thrumhall::units::{Length, Mass, Minutes, Quantity, Units};

/// A finished rug: inches, grams, minutes.
#[derive(Debug, Clone, Default)]
pub struct Done {
    pub asked: Asked,
    pub weaver: String,
    pub rows: Option<u32>,
    pub woven: Option<f64>,
    pub grams: Option<f64>,
    pub weaving: Option<f64>,
    pub preparing: Option<f64>,
    pub warp: Option<f64>,
}

impl Default for Asked {
    fn default() -> Self {
        Self::small()
    }
}

/// One figure that was learnt: how many rugs it rests on in all, of this frame, cloth, weaver.
#[derive(Debug, Clone)]
pub struct Learnt {
    pub figure: String,
    pub ratio: f64,
    pub sd: f64,
    pub evidence: [u32; 4],
}

/// A figure of the next plan: its name, low, value and high, and where it is from.
pub type Planned = (&'static str, [f64; 3], &'static str);

/// The rug with plain factors that were measured of it.
fn with_known(asked: &Asked, measured: &[(&str, f64)]) -> RugSpec {
    let known = measured.iter().map(|&(name, value)| {
        let dial = *Parameter::ALL.iter().find(|dial| dial.name() == name).unwrap();
        let value = Quantity::Ratio(value);
        (dial, Estimate { value, low: value, high: value, basis: Provenance::Measured })
    });
    RugSpec { known: known.collect(), ..spec(asked) }
}

fn counts(evidence: Evidence) -> [u32; 4] {
    [evidence.rugs, evidence.size, evidence.cloth, evidence.weaver]
}

/// What the finished rugs teach a rug of this weaver's, of which some factors were measured.
pub fn learn(
    asked: &Asked,
    weaver: &str,
    finished: &[Done],
    measured: &[(&str, f64)],
) -> (Vec<Learnt>, Vec<Planned>) {
    let minutes = |minutes: Option<f64>| minutes.map(Minutes::new);
    let finished: Vec<Finished> = finished
        .iter()
        .map(|done| Finished {
            spec: spec(&done.asked),
            weaver: done.weaver.clone(),
            outcome: Outcome {
                rows: done.rows,
                woven: done.woven.map(Length::inches),
                weft: done.grams.map(Mass::from_grams),
                weaving: minutes(done.weaving),
                preparing: minutes(done.preparing),
                warp: done.warp.map(Length::inches),
                ..Outcome::default()
            },
        })
        .collect();
    let class = Class::of(&finished, Units::Inches);
    let spec = with_known(asked, measured);
    let rug = spec.check(Units::Inches).unwrap();
    let beliefs = class.beliefs(&rug, weaver).into_iter().map(|belief| Learnt {
        figure: format!("{:?}", belief.figure).to_lowercase(),
        ratio: belief.ratio,
        sd: belief.sd,
        evidence: counts(belief.evidence),
    });
    let plain = |quantity: Quantity| match quantity {
        Quantity::Length(length) => length.in_inches(),
        Quantity::Mass(mass) => mass.grams(),
        other => other.number(),
    };
    let planned = class.settings(&spec, weaver, Units::Inches).into_iter().map(|(dial, setting)| {
        let Estimate { value, low, high, basis } = setting;
        let from = match basis {
            Provenance::Measured => "measured",
            Provenance::Learnt(_) => "learnt",
            Provenance::Default => "default",
        };
        (dial.name(), [low, value, high].map(plain), from)
    });
    (beliefs.collect(), planned.collect())
}
