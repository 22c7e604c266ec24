//! Which colours touch in a rug: the two strands of a band, and those of the next one.
use std::collections::HashMap;

use crate::optimize::share_out::keeps_apart;
use crate::planning::colour::Hex;
use crate::store::RugId;
use crate::store::cloth::share_outs::RugPart;
use crate::store::rugs::{Colour, Rug, RugBand};

/// The pairs of colours that touch, rug by rug.
pub struct Touching(HashMap<RugId, Vec<(Colour, Colour)>>);

impl Touching {
    /// Of these rugs.
    pub fn of<'a>(rugs: impl IntoIterator<Item = &'a Rug>) -> Self {
        Self(rugs.into_iter().map(|rug| (rug.id, pairs(&rug.bands))).collect())
    }

    /// Of one rug with these bands.
    pub fn of_bands(rug: RugId, bands: &[RugBand]) -> Self {
        Self(HashMap::from([(rug, pairs(bands))]))
    }

    /// Whether two parts are colours of one rug that touch.
    pub fn touch(&self, one: &RugPart, other: &RugPart) -> bool {
        let is = |part: &RugPart, colour: &Colour| {
            !part.warp && part.colour_name == colour.name && part.colour_hex == colour.hex
        };
        one.rug_id == other.rug_id
            && self.0.get(&one.rug_id).into_iter().flatten().any(|(first, second)| {
                (is(one, first) && is(other, second)) || (is(one, second) && is(other, first))
            })
    }

    /// Whether cloth of a colour keeps a part apart from one that touches it and has cloth already.
    pub fn goes_beside(&self, (part, hex): (&RugPart, Hex), (other, theirs): (&RugPart, Hex)) -> bool {
        let (Ok(wanted), Ok(beside)) = (Hex::parse(&part.colour_hex), Hex::parse(&other.colour_hex)) else {
            return true;
        };
        !self.touch(part, other) || keeps_apart([wanted, beside].map(Hex::lab), [hex, theirs].map(Hex::lab))
    }
}

fn pairs(bands: &[RugBand]) -> Vec<(Colour, Colour)> {
    let mut found: Vec<(Colour, Colour)> = Vec::new();
    for (at, band) in bands.iter().enumerate() {
        let next = bands.get(at + 1);
        let beside = next.into_iter().flat_map(|next| [&next.first, &next.other]);
        let across = [&band.first, &band.other]
            .into_iter()
            .flat_map(|one| beside.clone().map(move |other| (one, other)));
        for (one, other) in across.chain([(&band.first, &band.other)]) {
            let pair = (one.clone(), other.clone());
            if one != other && !found.contains(&pair) {
                found.push(pair);
            }
        }
    }
    found
}
