//! The areal mass of sheets that were counted, measured and weighed, with the doubt that the scale, the tape and the sheets
//! themselves leave. What a kind of cloth usually weighs is in `cloth`.
use super::settings::{Estimate, Provenance};
use super::usable::{Hems, SizeFrom, unfolded};
use crate::units::{Areal, Length, Mass, Quantity, Units};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Sheets as they were weighed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Weighed {
    /// All sheets together.
    pub mass: Mass,
    /// How many there are.
    pub sheets: u32,
    /// Length of the one that was measured.
    pub length: Length,
    /// Its width.
    pub width: Length,
    /// By how much the scale's reading may be off at most.
    pub scale: Mass,
    /// By how much the tape's reading of a side may be off at most.
    pub tape: Length,
    /// Its hems, where they were measured.
    pub hems: Option<Hems>,
    /// What its size was read from.
    pub size: SizeFrom,
}

/// An areal mass with its doubt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WeighedAreal {
    /// Mass over area.
    pub areal: Areal,
    /// One case in ten lies under it.
    pub low: Areal,
    /// One case in ten lies over it.
    pub high: Areal,
}

/// Why no areal mass follows.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WeighedError {
    /// Something is nothing.
    #[error("A weight, a number of sheets, a length and a width must all be more than nothing.")]
    Nothing,
    /// The scale or the tape is too coarse for so little cloth.
    #[error(
        "The scale or the tape is too coarse for so little cloth: the result could be off by half. Weigh more sheets at once."
    )]
    TooCoarse,
    /// No cloth weighs that.
    #[error(
        "{given} is out of range: cloth weighs from {min} to {max}. The weight, the count or the size is a slip."
    )]
    NoCloth {
        /// What follows.
        given: String,
        /// The least.
        min: String,
        /// The most.
        max: String,
    },
}

/// What a kitchen or luggage scale may be off by, ½ oz; reasoned estimate.
pub const USUAL_SCALE: Mass = Mass::from_mg(14_175);
/// What a tape laid along a sheet may be off by, ¼ in; reasoned estimate.
pub const USUAL_TAPE: Length = Length::from_nm(25_400_000 / 4);

impl Weighed {
    /// How far a sheet's area may differ from that of another one of the same lot, as a standard deviation; reasoned
    /// estimate.
    pub const SHEETS_DIFFER: f64 = 0.015;
    /// What seams, creases and damp do to the result, as a standard deviation; reasoned estimate.
    pub const SEAMS_AND_CREASES: f64 = 0.015;
    /// The lightest and the heaviest that counts as cloth, g/m²: a tenth and ten times what sheeting weighs.
    pub const CLOTH: [f64; 2] = [15.0, 1_400.0];
    /// From the mean of a normal distribution to its ninth decile, in standard deviations.
    const DECILE: f64 = 1.281_551_565_544_6;
    const MOST_DOUBT: f64 = 0.4;

    /// Mass over area, as ISO 3801 and ASTM D3776 take it, with the values that one case in ten lies under and over. The area is
    /// that of the cloth, with the hems unfolded: where nobody measured them, usual ones with their doubt.
    ///
    /// A reading that is off by `a` at most has the standard uncertainty `a/√3`; relative ones of a product add in
    /// quadrature (JCGM 100:2008, 4.3.7 and 5.1.6). One sheet was measured for all `n`, so that their sum is off by
    /// [`Self::SHEETS_DIFFER`]` · √((n − 1)/n)`. The result is taken as lognormal.
    ///
    /// # Errors
    /// [`WeighedError`]: nothing weighed or measured, a result that is no cloth, or one that could be off by half.
    pub fn areal(&self, units: Units) -> Result<WeighedAreal, WeighedError> {
        let n = f64::from(self.sheets);
        if self.length <= Length::ZERO {
            return Err(WeighedError::Nothing);
        }
        let (unfolded, hems_off) = unfolded(self.length, self.hems, self.size);
        let all = unfolded.checked_mul(i64::from(self.sheets)).ok_or(WeighedError::Nothing)?;
        let areal = Areal::measured(self.mass, all, self.width).ok_or(WeighedError::Nothing)?;
        let [min, max] = Self::CLOTH;
        if !(min..=max).contains(&areal.gsm()) {
            let [min, max] = [min, max].map(|gsm| Areal::from_gsm(gsm).show(units));
            return Err(WeighedError::NoCloth { given: areal.show(units), min, max });
        }
        let limit = |off: f64, read: f64| off / read / 3_f64.sqrt();
        let parts = [
            limit(self.scale.grams(), self.mass.grams()),
            limit(self.tape.mm(), unfolded.mm()),
            limit(self.tape.mm(), self.width.mm()),
            Self::SHEETS_DIFFER * ((n - 1.0) / n).sqrt(),
            Self::SEAMS_AND_CREASES,
            hems_off.ratio(unfolded),
        ];
        let doubt = Self::DECILE * parts.iter().map(|part| part * part).sum::<f64>().sqrt();
        if doubt > Self::MOST_DOUBT {
            return Err(WeighedError::TooCoarse);
        }
        let [low, high] = [-doubt, doubt].map(|doubt| Areal::from_gsm(areal.gsm() * doubt.exp()));
        Ok(WeighedAreal { areal, low, high })
    }
}

impl WeighedAreal {
    /// The areal mass as an input of a plan, measured here.
    pub fn setting(&self) -> Estimate {
        let [value, low, high] = [self.areal, self.low, self.high].map(Quantity::Areal);
        Estimate { value, low, high, basis: Provenance::Measured }
    }

    /// The value and its range in words: `128 g/m² (125 to 131)`.
    pub fn show(&self, units: Units) -> String {
        let [low, high] = [self.low, self.high].map(|areal| areal.show(units));
        let low = low.split(' ').next().unwrap_or_default();
        format!("{}, eight in ten from {low} to {high}", self.areal.show(units))
    }
}
