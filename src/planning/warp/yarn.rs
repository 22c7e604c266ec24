//! A warp of bought yarn or cord instead of strip: what a ball of it holds and how thick it is. How much of it a rug takes is
//! for `needs`.
use crate::units::{Length, Mass, RangeError, Units};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// One ball, cone or hank of warp yarn, as its label or a scale says.
///
/// # Examples
/// ```
/// use thrumhall::planning::warp::yarn::Yarn;
/// use thrumhall::units::{Length, Mass};
///
/// let yarn = Yarn { length: Length::millimetres(100_000.0), mass: Mass::from_grams(200.0), thickness: None };
/// assert_eq!(yarn.tex(), 2000.0);
/// // By its linear density, where nobody measured it.
/// assert_eq!(yarn.thickness().mm().round(), 2.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Yarn {
    /// Its length.
    pub length: Length,
    /// Its weight.
    pub mass: Mass,
    /// How thick it is, where it was measured.
    pub thickness: Option<Length>,
}

/// Why a warp can't be of that yarn.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum YarnError {
    /// A ball's length is out of range.
    #[error("Length of the warp yarn: {0}")]
    Length(RangeError),
    /// A ball's weight is out of range.
    #[error("Weight of the warp yarn: {0}")]
    Mass(RangeError),
    /// Its thickness is out of range.
    #[error("Thickness of the warp yarn: {0}")]
    Thickness(RangeError),
    /// So much weight in such a length is no yarn.
    #[error(
        "Warp yarn: {given:.0} g in a kilometre are out of range: from {} to {} are allowed. Is it the weight of that length?",
        Yarn::MIN_TEX,
        Yarn::MAX_TEX
    )]
    Density {
        /// Grams in a kilometre.
        given: f64,
    },
}

impl Yarn {
    /// The shortest ball, 1 m.
    pub const MIN_LENGTH: Length = Length::from_nm(1_000_000_000);
    /// The longest, 20 km.
    pub const MAX_LENGTH: Length = Length::from_nm(20_000_000_000_000);
    /// The lightest, 1 g.
    pub const MIN_MASS: Mass = Mass::from_mg(1_000);
    /// The heaviest, 20 kg.
    pub const MAX_MASS: Mass = Mass::from_mg(20_000_000);
    /// The thinnest, 0.2 mm.
    pub const MIN_THICKNESS: Length = Length::from_nm(200_000);
    /// The thickest, 25 mm.
    pub const MAX_THICKNESS: Length = Length::from_nm(25_000_000);
    /// Grams in a kilometre of the finest yarn; reasoned limits, from a sewing thread to a rope.
    const MIN_TEX: f64 = 20.0;
    /// Of the heaviest.
    const MAX_TEX: f64 = 100_000.0;

    /// Refuses what is no yarn.
    ///
    /// # Errors
    /// [`YarnError`] names what is out of range.
    pub fn check(&self, units: Units) -> Result<(), YarnError> {
        self.length.within(Self::MIN_LENGTH, Self::MAX_LENGTH, units).map_err(YarnError::Length)?;
        self.mass.within(Self::MIN_MASS, Self::MAX_MASS, units).map_err(YarnError::Mass)?;
        if let Some(thickness) = self.thickness {
            let fits = thickness.within(Self::MIN_THICKNESS, Self::MAX_THICKNESS, units);
            fits.map_err(YarnError::Thickness)?;
        }
        let given = self.tex();
        if (Self::MIN_TEX..=Self::MAX_TEX).contains(&given) {
            return Ok(());
        }
        Err(YarnError::Density { given })
    }

    /// Linear density in tex, grams in a kilometre: ISO 1144 (from memory).
    pub fn tex(&self) -> f64 {
        self.mass.grams() / (self.length.metres() / 1000.0)
    }

    /// How thick it is: as measured, else `1/(28·√N)` in for cotton of count N, which is 590.5/tex: half a millimetre for
    /// 180 tex.
    ///
    /// Source: F. T. Peirce, J. Text. Inst. 28 (1937) T45–T96, The geometry of cloth structure (from memory).
    pub fn thickness(&self) -> Length {
        self.thickness.unwrap_or_else(|| Length::inches((self.tex() / Self::TEX_OF_COUNT).sqrt() / 28.0))
    }

    /// Tex of cotton count 1, 840 yd to the pound: `453.59237 g / (840 · 0.9144 m)`.
    const TEX_OF_COUNT: f64 = 453_592.37 / (840.0 * 0.9144);

    /// What such a length weighs.
    pub fn mass_of(&self, length: Length) -> Mass {
        self.mass.scale(length.ratio(self.length))
    }

    /// A thickness in millimetres, as yarn's is given: `1.5 mm`.
    pub fn show_thickness(thickness: Length) -> String {
        format!("{:.1} mm", thickness.mm())
    }

    /// In words: a ball's length and weight, and its thickness.
    pub fn show(&self, units: Units) -> String {
        let thick = Self::show_thickness(self.thickness());
        format!("{} and {}, {thick} thick", self.length.show_long(units), self.mass.show(units))
    }
}
