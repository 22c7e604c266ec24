//! What a plan says beside its numbers.
use super::cloth::{USUAL_STRIP, easily_measured};
use super::rods;
use crate::units::{Length, Units};
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
    /// The row that should lock an end leaves loops open.
    LoopsOpen {
        /// Whether at the far end.
        far: bool,
        /// How many.
        open: u32,
        /// Of so many.
        loops: u32,
    },
    /// The two halves of a rug woven from both ends don't match where they meet.
    HalvesDiffer,
    /// The warp's strands lie so close that the weft hardly passes between them.
    WarpClose,
    /// The same of a warp of bought yarn.
    YarnClose,
    /// The same strip on fewer, larger units or more, smaller ones: geometry gives a take-up beyond the default's range.
    TakeUpUnsure,
    /// The weft's strips make a bundle much thinner than the usual one: the width that makes that one.
    StripThin(Length),
    /// The weft's strips make a much thicker one: the width that makes the usual one.
    StripThick(Length),
    /// The weft's cloth gives way when it is pulled.
    WeftStretches,
    /// A band's chart has more rows than the band.
    ChartTooHigh {
        /// Which band, counted from 1.
        band: u32,
        /// Rows of the chart.
        chart: u32,
        /// Rows of the band.
        rows: u32,
    },
    /// A band's chart has more units than the rug.
    ChartTooWide {
        /// Which band, counted from 1.
        band: u32,
        /// Units of the chart.
        chart: u32,
        /// Units of the rug.
        units: u32,
    },
}

impl Remark {
    /// The notice in words.
    pub fn text(self, units: Units) -> String {
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
            Self::LoopsOpen { far, open, loops } => {
                let end = if far { "far" } else { "near" };
                let stay = if open == 1 { "stays" } else { "stay" };
                format!(
                    "No row of these units holds every loop at the {end} end: {open} of {loops} {stay} open, and the weaving slides \
                     off them. Split the units there in the row next to the nails, or weave in units of two."
                )
            }
            Self::HalvesDiffer => {
                "Where the two halves meet, the figure jumps: begin the second half with the other strand in front."
                    .to_owned()
            }
            Self::WarpClose => {
                "The warp's strips lie close together, and the weft will be hard to pass between them: cut the warp narrower, or leave nails out."
                    .to_owned()
            }
            Self::YarnClose => {
                "The warp's strands lie close together, and the weft will be hard to pass between them: take thinner yarn, or leave nails out."
                    .to_owned()
            }
            Self::TakeUpUnsure => {
                "Nobody knows the take-up of such strips in such units: weave a sample before you cut all the weft."
                    .to_owned()
            }
            Self::StripThin(usual) => format!(
                "Strips of this cloth make a thin bundle, and the weft packs closer than usual: {} wide would make one as thick as percale of {}.",
                easily_measured(usual, units).show(units),
                USUAL_STRIP.show(units)
            ),
            Self::StripThick(usual) => format!(
                "Strips of this cloth make a thick bundle, hard to pass and stiff: {} wide would make one as thick as percale of {}.",
                easily_measured(usual, units).show(units),
                USUAL_STRIP.show(units)
            ),
            Self::WeftStretches => {
                "This cloth gives way: lay the weft in without pulling, or the edges draw in and the rug won’t lie flat.".to_owned()
            }
            Self::ChartTooHigh { band, chart, rows } => format!(
                "The chart of band {band} is cut off at the top: it is {chart} rows high, and the band has {rows}."
            ),
            Self::ChartTooWide { band, chart, units } => format!(
                "The chart of band {band} is cut off at the right: it is {chart} units wide, and the rug has {units}."
            ),
            Self::NoRodLongEnough => {
                format!(
                    "No rod of the usual stock ({:?} in) is long enough for this frame.",
                    rods::STOCK_INCHES
                )
            }
        }
    }
}
