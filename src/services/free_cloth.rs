//! The cloth that is free on the shelf: washed, and promised to nobody; as designs and rugs from rests are made of it.
use crate::optimize::design::Cloth;
use crate::planning::colour::{Hex, nearest};
use crate::services::Result;
use crate::store::Read;
use crate::store::cloth::bundles::BundleState;
use crate::store::cloth::promises::Offered;
use crate::units::Mass;

/// What is free.
pub struct FreeCloth {
    /// The bundles, in the order of their numbers; something is free of each.
    pub bundles: Vec<Offered>,
    /// The same as a design takes them.
    pub cloth: Vec<Cloth>,
}

/// Free cloth of about one colour.
pub struct FreeColour {
    /// The colour's name.
    pub name: &'static str,
    /// How the bundle with most of it looks.
    pub hex: Hex,
    /// The strip that all of it makes.
    pub strip: Mass,
}

/// What is free of a bundle, as it is weighed.
pub fn free_weight(bundle: &Offered) -> Mass {
    (bundle.balance_mg - bundle.promised_mg).max(Mass::ZERO)
}

impl FreeCloth {
    /// All that is free now.
    pub async fn load(read: &mut Read) -> Result<Self> {
        let mut bundles = read.offered().await?;
        let grams = |one: &Offered| one.usable.0.net(free_weight(one)).grams().floor() as i64;
        bundles.retain(|one| one.state == BundleState::Ready && grams(one) > 0);
        let cloth = bundles
            .iter()
            .map(|one| Cloth { kind: one.kind, hex: one.colour_hex, grams: grams(one) })
            .collect();
        Ok(Self { bundles, cloth })
    }

    /// The colours that there are, those with most cloth first.
    pub fn colours(&self) -> Vec<FreeColour> {
        let mut found: Vec<(FreeColour, i64)> = Vec::new();
        for one in &self.cloth {
            let (name, strip) = (nearest(one.hex).name, Mass::from_grams(one.grams as f64));
            match found.iter_mut().find(|(known, _)| known.name == name) {
                Some((known, most)) => {
                    known.strip += strip;
                    if one.grams > *most {
                        (known.hex, *most) = (one.hex, one.grams);
                    }
                }
                None => found.push((FreeColour { name, hex: one.hex, strip }, one.grams)),
            }
        }
        found.sort_by(|(a, _), (b, _)| b.strip.cmp(&a.strip).then(a.name.cmp(b.name)));
        found.into_iter().map(|(colour, _)| colour).collect()
    }

    /// Names for colours of these bundles: as the first bundle that looks so is called, else the nearest of the list; two that are
    /// called alike are told apart by a number.
    pub fn names(&self, hexes: &[Hex]) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for hex in hexes {
            let called = self.bundles.iter().find(|one| one.colour_hex == *hex);
            let plain = called.map_or_else(|| nearest(*hex).name.to_owned(), |one| one.colour_name.clone());
            let name = (1..).map(|n| if n == 1 { plain.clone() } else { format!("{plain} {n}") });
            let unused = name.into_iter().find(|name| !names.contains(name));
            names.push(unused.unwrap_or(plain));
        }
        names
    }

    /// The weight to take of a bundle for so many grams of strip, in whole grams as a scale shows them, and no more than is free.
    pub fn weight(&self, bundle: usize, strip_grams: i64) -> Mass {
        let one = &self.bundles[bundle];
        let gross = one.usable.0.gross(Mass::from_grams(strip_grams as f64));
        Mass::from_grams((gross.grams() - 1e-6).ceil()).min(free_weight(one))
    }
}
