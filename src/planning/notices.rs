//! What a plan says beside its numbers.
use super::rods;
use serde::Serialize;

/// Something to say beside a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Remark {
    /// The warp's cloth stretches or sheds: the reason.
    WarpUnfit(&'static str),
    /// The warp's cloth wants a narrower strip.
    WarpNarrower,
    /// More than 1 lb to the square foot: heavier than braided rugs are.
    VeryHeavy,
    /// No rod in stock lengths is long enough.
    NoRodLongEnough,
    /// So many nails of the longer row stay empty.
    NailsIdle(u32),
    /// The two halves of a rug woven from both ends don't match where they meet.
    HalvesDiffer,
    /// The same strip on fewer, larger units or more, smaller ones: geometry gives a take-up beyond the default's range.
    TakeUpUnsure,
}

impl Remark {
    /// The notice in words.
    pub fn text(self) -> String {
        match self {
            Self::WarpUnfit(why) => {
                format!("This cloth makes a poor warp: {why}. Take sheeting for the warp.")
            }
            Self::WarpNarrower => "Cut this cloth to narrower strips for the warp.".to_owned(),
            Self::VeryHeavy => {
                "This rug comes out very heavy: check the strip width and the kind of cloth.".to_owned()
            }
            Self::NailsIdle(1) => "One nail of the longer row stays empty.".to_owned(),
            Self::NailsIdle(nails) => format!("{nails} nails of the longer row stay empty."),
            Self::HalvesDiffer => {
                "Where the two halves meet, the figure jumps: begin the second half with the other strand in front."
                    .to_owned()
            }
            Self::TakeUpUnsure => {
                "Nobody knows the take-up of such strips in such units: weave a sample before you cut all the weft."
                    .to_owned()
            }
            Self::NoRodLongEnough => {
                format!(
                    "No rod of the usual stock ({:?} in) is long enough for this frame.",
                    rods::STOCK_INCHES
                )
            }
        }
    }
}
