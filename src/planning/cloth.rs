//! Kinds of cloth, their weight per area, and sheets. How a sheet is cut is in `cutting`; stock is not known here.
use crate::units::{Areal, Length, Units};
use serde::{Deserialize, Serialize};
use std::str::FromStr;
use thiserror::Error;

/// Whether a kind of cloth makes a warp.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WarpFit {
    /// It holds.
    Fit,
    /// It holds when cut narrower than the weft.
    Narrower,
    /// It doesn't, for that reason.
    Unfit(&'static str),
}

/// A kind of donated cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// Percale sheets.
    Percale,
    /// Muslin sheets, of thicker yarns than percale's.
    Muslin,
    /// Sateen and heavy sheets.
    Sateen,
    /// Flannel sheets.
    Flannel,
    /// Poplin, shirting, quilting cotton.
    Poplin,
    /// T-shirt jersey.
    Jersey,
    /// Interlock and piqué.
    Interlock,
    /// Denim and other bottom-weights.
    Denim,
    /// Fleece and sweatshirts.
    Fleece,
    /// Terry towels.
    Terry,
}

/// What is known of a kind of cloth before anyone weighs it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KindFacts {
    /// The name in addresses, forms and the command line.
    pub key: &'static str,
    /// The name on screens.
    pub title: &'static str,
    /// Areal mass that one cloth in ten lies under, g/m².
    pub low: f64,
    /// Typical areal mass, g/m².
    pub typical: f64,
    /// Areal mass that one cloth in ten lies over, g/m².
    pub high: f64,
    /// Whether it makes a warp.
    pub warp: WarpFit,
    /// How much it gives under tension, as a part of its length.
    pub stretch: f64,
}

/// Kinds stand in for each other when one is at most so much heavier than the other; common practice, no source.
const ALIKE: f64 = 1.25;
const STRETCHES: WarpFit = WarpFit::Unfit("it stretches");

// Ranges: published fabric-weight charts agree within a few g/m²; typical values and stretch from memory. Muslin: Federal
// Standard 59 of 1954 has its heavy type at 4.6 oz/yd², 156 g/m² (published checks 10.12 and 10.13); lighter ones from memory.
const FACTS: [KindFacts; 10] = [
    facts("percale", "Percale sheet", [100.0, 130.0, 150.0], WarpFit::Fit, 0.02),
    facts("muslin", "Muslin sheet", [125.0, 145.0, 160.0], WarpFit::Fit, 0.02),
    facts("sateen", "Sateen or heavy sheet", [120.0, 150.0, 180.0], WarpFit::Fit, 0.02),
    facts("flannel", "Flannel sheet", [140.0, 170.0, 200.0], WarpFit::Fit, 0.03),
    facts("poplin", "Poplin, shirting, quilting cotton", [110.0, 140.0, 160.0], WarpFit::Fit, 0.02),
    facts("jersey", "T-shirt jersey", [140.0, 170.0, 200.0], STRETCHES, 0.25),
    facts("interlock", "Interlock or piqué", [200.0, 230.0, 260.0], STRETCHES, 0.20),
    facts("denim", "Denim or other bottom-weight", [200.0, 330.0, 400.0], WarpFit::Narrower, 0.02),
    facts("fleece", "Fleece or sweatshirt", [260.0, 310.0, 360.0], STRETCHES, 0.20),
    facts("terry", "Terry towel", [300.0, 450.0, 600.0], WarpFit::Unfit("it sheds"), 0.05),
];

const fn facts(
    key: &'static str,
    title: &'static str,
    gsm: [f64; 3],
    warp: WarpFit,
    stretch: f64,
) -> KindFacts {
    KindFacts { key, title, low: gsm[0], typical: gsm[1], high: gsm[2], warp, stretch }
}

/// A name that is no kind of cloth.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("“{given}” isn't a kind of cloth: it must be one of {known}.")]
pub struct UnknownKind {
    given: String,
    known: String,
}

/// The width of strip that percale is usually cut to for these rugs: 1 1/2 in. Common practice, no source.
pub const USUAL_STRIP: Length = Length::from_nm(38_100_000);

/// The width of strip that makes as heavy a bundle of a cloth as the usual strip does of percale.
pub fn usual_strip(areal: Areal) -> Length {
    USUAL_STRIP.scale(Kind::Percale.facts().typical / areal.gsm().max(1.0))
}

/// A width of strip to what is easily measured.
pub fn easily_measured(width: Length, units: Units) -> Length {
    let step = if units == Units::Metric { 5.0 } else { 25.4 / 8.0 };
    Length::millimetres((width.mm() / step).round().max(1.0) * step)
}

impl Kind {
    /// Every kind, sheets first.
    pub const ALL: [Self; 10] = [
        Self::Percale,
        Self::Muslin,
        Self::Sateen,
        Self::Flannel,
        Self::Poplin,
        Self::Jersey,
        Self::Interlock,
        Self::Denim,
        Self::Fleece,
        Self::Terry,
    ];

    /// What is known of this kind before anyone weighs it.
    pub const fn facts(self) -> &'static KindFacts {
        &FACTS[self as usize]
    }

    /// The name in addresses, forms and the command line, such as `percale`.
    pub const fn key(self) -> &'static str {
        self.facts().key
    }

    /// Whether cloth of this kind can be used where another was planned: about as heavy, as stretchy, and fit for warp if it is
    /// for warp.
    pub fn stands_in_for(self, planned: Self, warp: bool) -> bool {
        let (has, wanted) = (self.facts(), planned.facts());
        let ratio = has.typical / wanted.typical;
        let alike = self == planned
            || ((1.0 / ALIKE..=ALIKE).contains(&ratio) && (has.stretch - wanted.stretch).abs() < 0.05);
        alike && (!warp || self == planned || has.warp == WarpFit::Fit)
    }

    /// The typical areal mass of the kind.
    pub const fn areal(self) -> Areal {
        Areal::from_gsm(self.facts().typical)
    }
}

impl FromStr for Kind {
    type Err = UnknownKind;

    fn from_str(text: &str) -> Result<Self, UnknownKind> {
        let wanted = text.trim();
        Self::ALL.into_iter().find(|kind| kind.key().eq_ignore_ascii_case(wanted)).ok_or_else(|| {
            UnknownKind {
                given: wanted.chars().take(24).filter(|c| !c.is_control()).collect(),
                known: Self::ALL.map(Self::key).join(", "),
            }
        })
    }
}

/// A usual size of flat bed sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SheetSize {
    /// The trade name.
    pub name: &'static str,
    /// The shorter way in whole inches.
    pub width_in: u32,
    /// The longer way in whole inches.
    pub length_in: u32,
}

impl SheetSize {
    /// The area's two sides, longer first as cut along.
    pub fn sides(self) -> (Length, Length) {
        (Length::inches(f64::from(self.length_in)), Length::inches(f64::from(self.width_in)))
    }
}

/// US flat sheets, hems included. Common retail sizes, from memory.
pub const US_SHEETS: [SheetSize; 5] = [
    SheetSize { name: "twin", width_in: 66, length_in: 96 },
    SheetSize { name: "twin XL", width_in: 66, length_in: 102 },
    SheetSize { name: "full", width_in: 81, length_in: 96 },
    SheetSize { name: "queen", width_in: 90, length_in: 102 },
    SheetSize { name: "king", width_in: 102, length_in: 108 },
];

#[cfg(test)]
mod tests {
    use super::Kind;

    #[test]
    fn cloth_stands_in_for_cloth_like_it() {
        assert!(Kind::Percale.stands_in_for(Kind::Percale, true));
        assert!(Kind::Sateen.stands_in_for(Kind::Percale, true));
        assert!(!Kind::Denim.stands_in_for(Kind::Percale, false), "far too heavy");
        assert!(!Kind::Jersey.stands_in_for(Kind::Sateen, false), "it stretches");
        assert!(Kind::Jersey.stands_in_for(Kind::Jersey, false));
    }
}
