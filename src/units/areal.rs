//! Mass per area of cloth, in grams per square metre. The kinds of cloth and their ranges are in `planning::cloth`.
use super::{Length, Mass, Units};
use serde::{Deserialize, Serialize};

/// 1 oz/yd² in g/m²: 28.349 523 125 / 0.836 127 36 (both factors exact, international yard and pound, 1959).
const GSM_PER_OZ_YD2: f64 = 28.349_523_125 / 0.836_127_36;

/// The mass of cloth per area, g/m².
///
/// # Examples
/// ```
/// use thrumhall::units::{Areal, Length, Mass, Units};
///
/// // A queen flat sheet of percale, on the scale and under the tape.
/// let (weight, long, wide) = (Mass::from_grams(770.0), Length::inches(102.0), Length::inches(90.0));
/// let percale = Areal::measured(weight, long, wide).ok_or("nothing was weighed")?;
/// assert_eq!(percale.show(Units::Metric), "130 g/m²");
/// let strip = percale.strip_length(weight, Length::inches(1.5)).ok_or("no strip")?;
/// assert_eq!(strip.yards().round(), 170.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Areal(f64);

impl Areal {
    /// The areal mass of so many grams per square metre.
    pub const fn from_gsm(gsm: f64) -> Self {
        Self(gsm)
    }

    /// The areal mass of so many ounces per square yard.
    pub fn from_oz_yd2(oz_yd2: f64) -> Self {
        Self(oz_yd2 * GSM_PER_OZ_YD2)
    }

    /// The areal mass of a weighed and measured piece, mass over area as in ISO 3801 and ASTM D3776; nothing when a
    /// side or the mass isn't more than zero.
    pub fn measured(mass: Mass, length: Length, width: Length) -> Option<Self> {
        let some = mass > Mass::ZERO && length > Length::ZERO && width > Length::ZERO;
        some.then(|| Self(mass.grams() / (length.metres() * width.metres())))
    }

    /// The areal mass in g/m².
    pub const fn gsm(self) -> f64 {
        self.0
    }

    /// The areal mass in oz/yd².
    pub fn oz_yd2(self) -> f64 {
        self.0 / GSM_PER_OZ_YD2
    }

    /// The mass of a piece of this cloth.
    pub fn mass_of(self, length: Length, width: Length) -> Mass {
        Mass::from_grams(self.0 * length.metres() * width.metres())
    }

    /// The length of strip of that width which has that mass; nothing for a width or areal mass of zero.
    pub fn strip_length(self, mass: Mass, width: Length) -> Option<Length> {
        let per_metre = self.0 * width.metres();
        (per_metre > 0.0).then(|| Length::millimetres(mass.grams() / per_metre * 1e3))
    }

    /// The areal mass as people read it: `130 g/m²` or `3.8 oz/yd²`.
    pub fn show(self, units: Units) -> String {
        match units {
            Units::Inches => format!("{:.1} oz/yd²", self.oz_yd2()),
            Units::Metric => format!("{:.0} g/m²", self.0),
        }
    }
}
