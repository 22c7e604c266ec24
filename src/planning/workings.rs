//! "How this was worked out": for one number, its formula, what was put in and where that is from.
use super::settings::{Estimate, Evidence, Parameter, Provenance, Settings};
use super::uncertainty::estimate::Range;
use crate::units::Quantity;
use serde::Serialize;

/// Where an input of a working is from.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "from", rename_all = "snake_case")]
pub enum Origin {
    /// The weaver or the frame says so.
    Chosen,
    /// The rug's log says so.
    Logged,
    /// Measured on this frame, cloth or sample.
    Measured {
        /// One case in ten lies under it.
        low: Quantity,
        /// One case in ten lies over it.
        high: Quantity,
    },
    /// Learnt from this class.
    Learnt {
        /// From which of its rugs.
        evidence: Evidence,
        /// One case in ten lies under it.
        low: Quantity,
        /// One case in ten lies over it.
        high: Quantity,
    },
    /// Nobody measured it.
    Default {
        /// One case in ten lies under it.
        low: Quantity,
        /// One case in ten lies over it.
        high: Quantity,
        /// Where default and range are from.
        source: &'static str,
    },
    /// The result of another working, by its key.
    Worked {
        /// That working's key.
        key: String,
    },
}

/// One input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Input {
    /// What it is, in words.
    pub name: String,
    /// Its value.
    pub value: Quantity,
    /// Where it is from.
    pub origin: Origin,
}

/// How one number was worked out.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Derivation {
    /// A name that doesn't change, such as `weft.length`.
    pub key: String,
    /// The number's name on screens.
    pub title: String,
    /// The formula, as text.
    pub formula: &'static str,
    /// What was put in.
    pub inputs: Vec<Input>,
    /// What came out.
    pub result: Quantity,
    /// Low, expected, take, where the number has a range.
    pub range: Option<Range<Quantity>>,
    /// Where the formula is from.
    pub source: &'static str,
}

impl Derivation {
    /// A working without inputs yet.
    pub fn new(key: impl Into<String>, title: impl Into<String>, result: impl Into<Quantity>) -> Self {
        let (key, title, result) = (key.into(), title.into(), result.into());
        Self { key, title, formula: "", inputs: Vec::new(), result, range: None, source: "" }
    }

    /// With its formula and where that is from.
    #[must_use]
    pub fn by(mut self, formula: &'static str, source: &'static str) -> Self {
        (self.formula, self.source) = (formula, source);
        self
    }

    /// With its range.
    #[must_use]
    pub fn over<T: Into<Quantity>>(mut self, range: Range<T>) -> Self {
        self.range = Some(range.quantities());
        self
    }

    /// With an input that was chosen.
    #[must_use]
    pub fn chosen(self, name: impl Into<String>, value: impl Into<Quantity>) -> Self {
        self.input(name, value, Origin::Chosen)
    }

    /// The same among others of its kind: its key, and those it points to, begin with `prefix` and a full stop.
    #[must_use]
    pub fn under(mut self, prefix: &str) -> Self {
        self.key = format!("{prefix}.{}", self.key);
        for input in &mut self.inputs {
            if let Origin::Worked { key } = &mut input.origin {
                *key = format!("{prefix}.{key}");
            }
        }
        self
    }

    /// With an input from the rug's log.
    #[must_use]
    pub fn logged(self, name: impl Into<String>, value: impl Into<Quantity>) -> Self {
        self.input(name, value, Origin::Logged)
    }

    /// With an input that another working gives.
    #[must_use]
    pub fn worked(self, name: impl Into<String>, value: impl Into<Quantity>, key: impl Into<String>) -> Self {
        self.input(name, value, Origin::Worked { key: key.into() })
    }

    /// With doubtful inputs, and where each is from.
    #[must_use]
    pub fn parameters(self, settings: &Settings, parameters: &[Parameter]) -> Self {
        // A factor that does nothing isn't worth a line.
        let idle = |setting: &Estimate| {
            let one = Quantity::Ratio(1.0);
            setting.value == one && setting.low == one && setting.high == one
        };
        parameters.iter().filter(|parameter| !idle(settings.get(**parameter))).fold(
            self,
            |working, &parameter| {
                let setting = settings.get(parameter);
                let (low, high) = (setting.low, setting.high);
                let origin = match setting.basis {
                    Provenance::Measured => Origin::Measured { low, high },
                    Provenance::Learnt(evidence) => Origin::Learnt { evidence, low, high },
                    Provenance::Default => Origin::Default { low, high, source: parameter.source() },
                };
                working.input(parameter.name(), setting.value, origin)
            },
        )
    }

    fn input(mut self, name: impl Into<String>, value: impl Into<Quantity>, origin: Origin) -> Self {
        self.inputs.push(Input { name: name.into(), value: value.into(), origin });
        self
    }
}
