//! How much of a bundle's weight becomes strip: a need is strip that can be woven, a bundle's weight has hems, corners, seams,
//! worn places and offcuts in it. What a sheet's hems weigh on top of its size is told here, too, since both follow from them.
use super::uncertainty::chance::NINTH_DECILE;
use crate::units::{Length, Mass};
use serde::{Deserialize, Serialize};

/// What a sheet's size was read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SizeFrom {
    /// The sheet itself, hem to hem.
    #[default]
    Measured,
    /// Its label, which names the size that was torn, before hemming (published check 10.15).
    Label,
}

/// The hems at a sheet's ends. Its sides are selvedges, cut off as wide as the narrower hem, since they pucker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Hems {
    /// The narrower one.
    pub hem: Length,
    /// The one at the top, where that is wider.
    pub top: Option<Length>,
}

/// The raw edge that is turned into a hem; from memory.
const TURNED_IN: Length = Length::from_nm(25_400_000 / 4);
/// What the hems of a sheet take together where nobody measured them: one sheet in ten less than the first, half less than the
/// second, nine in ten less than the third. Common widths, 1 in at the foot and 1 to 4 in at the top, from memory.
const USUAL_HEMS: [Length; 3] = [
    Length::from_nm(5 * 25_400_000 / 2),
    Length::from_nm(9 * 25_400_000 / 2),
    Length::from_nm(6 * 25_400_000),
];

/// A piece that is shorter is a swatch, or cut from a sheet: nobody hemmed it. Reasoned estimate.
const SWATCH: Length = Length::from_nm(36 * 25_400_000);

impl Hems {
    fn both(self) -> Length {
        self.hem + self.top.unwrap_or(self.hem)
    }

    /// The length of cloth that lies in both hems under the face.
    fn cloth(self) -> Length {
        let folded = |hem: Length| if hem > Length::ZERO { hem + TURNED_IN } else { Length::ZERO };
        folded(self.hem) + folded(self.top.unwrap_or(self.hem))
    }
}

/// The length of cloth in a sheet of that size, hems unfolded, and the standard deviation that unmeasured hems leave to it.
pub fn unfolded(length: Length, hems: Option<Hems>, from: SizeFrom) -> (Length, Length) {
    match (from, hems) {
        (SizeFrom::Label, _) => (length, Length::ZERO),
        (SizeFrom::Measured, Some(hems)) => (length + hems.cloth(), Length::ZERO),
        (SizeFrom::Measured, None) if length < SWATCH => (length, Length::ZERO),
        (SizeFrom::Measured, None) => {
            let [low, usual, high] = USUAL_HEMS;
            (length + usual, (high - low).scale(0.5 / NINTH_DECILE))
        }
    }
}

/// The share of a weight that becomes strip, from 0 to 1, with the values that one bundle in ten lies under and over.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Usable {
    /// One bundle in ten has less.
    pub low: f64,
    /// Half have less.
    pub share: f64,
    /// One bundle in ten has more.
    pub high: f64,
    /// Where it is from.
    pub basis: UsableBasis,
}

/// Where a usable share is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UsableBasis {
    /// It is strip already.
    Strips,
    /// Its sheets were measured with their hems.
    Hems,
    /// So many bundles of the kind were cut up and their rests weighed.
    Cut(u32),
    /// Nobody knows: any kind of cloth.
    Kind,
}

/// What the cutting up of bundles of one kind showed.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct CutUp {
    /// Bundles that were cut up.
    pub bundles: u32,
    /// Their shares of strip, added up.
    pub shares: f64,
}

impl CutUp {
    /// With one more bundle, of which so much became strip and so much scrap.
    #[must_use]
    pub fn with(self, strips: Mass, scrap: Mass) -> Self {
        let share = strips.ratio(strips + scrap);
        if share.is_finite() { Self { bundles: self.bundles + 1, shares: self.shares + share } } else { self }
    }
}

impl Usable {
    /// What is known of any bundle before anybody cuts: low, usual, high. From memory.
    const ANY: [f64; 3] = [0.85, 0.94, 0.98];
    /// Of the doubt about one bundle, as standard deviations of its share: what bundles of a kind have in common, and what
    /// each has for itself. Reasoned estimates.
    const COMMON: f64 = 0.035;
    const OWN: f64 = 0.037;
    /// Worn places, seams and corners beside counted hems: from the share by hems down to low and up to high; reasoned
    /// estimates.
    const BESIDE_HEMS: [f64; 2] = [0.04, 0.015];
    /// How doubtful a need is that was measured by a sample, as the standard deviation of its logarithm: what a bundle's own
    /// doubt comes on top of.
    const NEED: f64 = 0.09;

    /// Strips are all strip.
    pub const STRIPS: Self = Self { low: 1.0, share: 1.0, high: 1.0, basis: UsableBasis::Strips };

    /// A bundle of which nothing more is known than what cutting up others of its kind showed.
    ///
    /// Normal beliefs about a mean with known variances (Gelman et al., Bayesian Data Analysis, 3rd ed., §2.5).
    pub fn of_kind(cut: CutUp) -> Self {
        let [low, usual, high] = Self::ANY;
        let (prior, one, n) = (Self::COMMON.powi(-2), Self::OWN.powi(-2), f64::from(cut.bundles));
        let weight = prior + n * one;
        let share = ((usual * prior + cut.shares * one) / weight).min(1.0);
        let less = (1.0 / weight).sqrt().hypot(Self::OWN) / Self::COMMON.hypot(Self::OWN);
        Self {
            low: (share - (usual - low) * less).max(0.05),
            share,
            high: (share + (high - usual) * less).min(1.0),
            basis: if cut.bundles == 0 { UsableBasis::Kind } else { UsableBasis::Cut(cut.bundles) },
        }
    }

    /// Sheets of that size with those hems, cut into strips 1½ in wide: what is left of the size once hems and selvedges are
    /// off and half a strip's width is lost at the last one, over the cloth that there is, hems unfolded.
    pub fn of_sheets(length: Length, width: Length, hems: Hems, from: SizeFrom) -> Option<Self> {
        let (cloth, _) = unfolded(length, Some(hems), from);
        let face = if from == SizeFrom::Label { length - hems.cloth() } else { length };
        let (along, across) = (face - hems.both(), width - hems.hem * 2 - Length::from_nm(19_050_000));
        if along <= Length::ZERO || across <= Length::ZERO {
            return None;
        }
        let share = along.ratio(cloth) * across.ratio(width);
        let [less, more] = Self::BESIDE_HEMS;
        let low = (share - less).max(share * 0.5);
        Some(Self { low, share, high: (share + more).min(1.0), basis: UsableBasis::Hems })
    }

    /// The share that is counted on, so that what was enough nine times in ten as strip stays so as weight: the doubts of need
    /// and bundle add up in quadrature, and the need has its own already.
    pub fn counted(&self) -> f64 {
        let own = (self.share / self.low).ln().max(0.0) / NINTH_DECILE;
        self.share * (NINTH_DECILE * (Self::NEED - own.hypot(Self::NEED))).exp()
    }

    /// The strip that a weight of it is counted on for.
    pub fn net(&self, gross: Mass) -> Mass {
        gross.scale(self.counted())
    }

    /// The strip that a weight of it makes, one time in ten less, and nine times in ten no more.
    pub fn of(&self, gross: Mass) -> [Mass; 2] {
        [self.low, self.high].map(|share| gross.scale(share))
    }

    /// The weight of it that is taken for so much strip.
    pub fn gross(&self, net: Mass) -> Mass {
        net.scale(1.0 / self.counted())
    }

    /// In words: `94 % of it becomes strip, eight in ten from 85 to 98 %`.
    pub fn words(&self) -> String {
        let percent = |share: f64| (share * 100.0).round();
        let (low, share, high) = (percent(self.low), percent(self.share), percent(self.high));
        match self.basis {
            UsableBasis::Strips => "all of it is strip".to_owned(),
            UsableBasis::Hems => {
                format!("{share} % becomes strip, by its hems; eight in ten from {low} to {high} %")
            }
            UsableBasis::Cut(1) => {
                format!(
                    "{share} % becomes strip, by 1 bundle of the kind cut up; eight in ten from {low} to {high} %"
                )
            }
            UsableBasis::Cut(n) => {
                format!(
                    "{share} % becomes strip, by {n} bundles of the kind cut up; eight in ten from {low} to {high} %"
                )
            }
            UsableBasis::Kind => {
                format!("{share} % becomes strip, usual for any cloth; eight in ten from {low} to {high} %")
            }
        }
    }
}
