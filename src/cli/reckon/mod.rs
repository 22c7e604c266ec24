//! `reckon`: a rug's plan on the command line, without a database. The computation is all in `planning`; reading the flags is in
//! `ask`, writing the answer in `tell`.
mod ask;
mod tell;

use crate::units::Units;
use clap::{Args, ValueEnum};
use std::io::Write;
use thiserror::Error;

pub(super) use ask::{asked, length, plan_of};
pub(super) use tell::as_json;

/// What `reckon` is asked.
#[derive(Debug, Clone, Args)]
#[command(after_help = HELP)]
pub struct ReckonArgs {
    /// The rug.
    #[command(flatten)]
    pub one: OneRug,
    /// What to show besides the numbers
    #[arg(long, value_enum)]
    show: Vec<Show>,
    /// Print JSON, in millimetres, grams and minutes
    #[arg(long)]
    pub json: bool,
}

/// One rug on the command line.
#[derive(Debug, Clone, Args)]
pub struct OneRug {
    /// Distance between the nail rows, nail centre to nail centre
    #[arg(long, allow_hyphen_values = true)]
    pub span: String,
    /// Width between the edge rods
    #[arg(long, allow_hyphen_values = true)]
    pub width: String,
    /// Nails in one row
    #[arg(long, allow_hyphen_values = true)]
    pub nails: String,
    /// Width of the cloth strips
    #[arg(long, default_value = "1 1/2 in", allow_hyphen_values = true)]
    pub strip: String,
    /// Kind of cloth: percale, muslin, sateen, flannel, poplin, jersey, interlock, denim, fleece or terry
    #[arg(long, default_value = "percale")]
    pub kind: String,
    /// Distance between neighbouring nails; without it the nails are spread evenly over the width
    #[arg(long, allow_hyphen_values = true)]
    pub pitch: Option<String>,
    /// Woven length; without it the bands together, or the span less one inch
    #[arg(long, allow_hyphen_values = true)]
    pub length: Option<String>,
    #[command(flatten)]
    frame: FrameArgs,
    #[command(flatten)]
    rug: RugArgs,
    #[command(flatten)]
    prices: PriceArgs,
    /// Units for bare numbers and for the table
    #[arg(long, value_enum, default_value = "inches")]
    pub units: UnitsArg,
}

const HELP: &str = "Lengths may be written as 33 in, 1 1/2 in, 2 ft 9 in, 84 cm, 840 mm or 0.84 m.\n\
    Examples:\n  \
    thrumhall reckon --span \"33 in\" --width \"18 in\" --nails 33\n  \
    thrumhall reckon --span 33 --width 18 --nails 33 --band \"1 in: cream, 3/4 in strips\" --band \"30 in: cream/rust\"\n  \
    thrumhall reckon --span 33 --width 18 --nails 33 --leave-out \"near 12\" --show way --show worked\n  \
    thrumhall reckon --span 33 --width 18 --nails 33 --band \"32 in: cream/navy\" --chart \"1: x.../.x../..x./...x\" --show face";

/// Frames and windings that are not the usual ones.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Frame and winding")]
struct FrameArgs {
    /// Thickness of a nail, where it was measured
    #[arg(long)]
    nail_diameter: Option<String>,
    /// Nails of the far row, where it has more or fewer
    #[arg(long)]
    far_nails: Option<u32>,
    /// How far the far row's first nail stands from facing the near row's; without it the rows are centred
    #[arg(long, allow_hyphen_values = true)]
    set_off: Option<String>,
    /// Every nail of the near row, measured from one rod: "0; 9/16 in; 1 1/8 in"
    #[arg(long, requires = "far_places")]
    near_places: Option<String>,
    /// Every nail of the far row, measured from the same rod
    #[arg(long, requires = "near_places")]
    far_places: Option<String>,
    /// Wind over every so manyth nail
    #[arg(long, default_value_t = 1)]
    every: u32,
    /// Nails that the strip passes by: "near 5, far 12"
    #[arg(long)]
    leave_out: Option<String>,
    /// Two strips are wound together
    #[arg(long)]
    doubled: bool,
    /// The extra turns round each nail
    #[arg(long, default_value_t = 0)]
    extra_wraps: u32,
}

/// The rug, where it is more than a plain one of the frame's size.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Rug")]
struct RugArgs {
    /// Width of the rug, where it is narrower than the frame
    #[arg(long)]
    rug_width: Option<String>,
    /// A band from the start on, once for each: "12 in: cream/rust", or "1 in: cream, 3/4 in strips" for a header
    #[arg(long)]
    band: Vec<String>,
    /// A picture in a band's two colours, once for each band: the band's number, a colon, and the picture's rows from the top with
    /// a slash between, . for a unit that shows the first colour and x for one that shows the other. It repeats over the band;
    /// "3 right" and "2 up" move it in it. Where units beside each other show the same colour, the strands turn once more:
    /// "2: xx../.xx./..xx" or "2: xx../.xx./..xx, 3 right, 2 up"
    #[arg(long)]
    chart: Vec<String>,
    /// Warp strands that a weft strand passes together
    #[arg(long, default_value_t = 2)]
    unit: u32,
    /// What the strands do at the rod
    #[arg(long, value_enum, default_value = "trade")]
    at_rod: AtRodArg,
    /// Where the weaving begins
    #[arg(long, value_enum, default_value = "one-end")]
    from: FromArg,
    /// Kind of cloth of the warp, where it is another
    #[arg(long)]
    warp_kind: Option<String>,
    /// Width of the warp's strips, where they are cut wider or narrower
    #[arg(long, allow_hyphen_values = true)]
    warp_strip: Option<String>,
    /// Bought yarn or cord for the warp, by a ball's length and weight, and its thickness where it was measured:
    /// "125 m, 200 g" or "125 m, 200 g, 2 mm"
    #[arg(long)]
    warp_yarn: Option<String>,
    /// Mass per area of the warp's cloth, where it was measured, in g/m²
    #[arg(long)]
    warp_gsm: Option<f64>,
    /// Mass per area of the weft's cloth, where it was measured, in g/m²
    #[arg(long)]
    weft_gsm: Option<f64>,
    /// Fringe at each end
    #[arg(long)]
    fringe: Option<String>,
    /// A non-slip backing that stays so far inside the rug
    #[arg(long)]
    backing: Option<String>,
    /// Rugs that the weaver finished before: 0 for a first one, which takes half again to twice as long; without it the times are
    /// a practised weaver's
    #[arg(long)]
    rugs_before: Option<u32>,
    /// A woven sample: "4 in, 17 rows" or "4 in, 17 rows, 98 g"
    #[arg(long)]
    sample: Option<String>,
    /// Strips already cut, to be joined for the warp: "20 x 90 in, 8 x 66 in"
    #[arg(long)]
    strips: Option<String>,
}

/// What is paid, each with how much one gets for it; then the rug's cost is told.
#[derive(Debug, Clone, Args)]
#[command(next_help_heading = "Prices")]
#[allow(clippy::struct_field_names, reason = "the flags are called so")]
struct PriceArgs {
    /// A bar of rod and its length: "4.50, 72 in"
    #[arg(long)]
    rod_price: Option<String>,
    /// A piece of non-slip liner, its width and length: "12, 24 in x 60 in"
    #[arg(long)]
    liner_price: Option<String>,
    /// A spool of thread and its length: "2.50, 100 m"
    #[arg(long)]
    thread_price: Option<String>,
    /// Warp yarn or cord and its weight: "11.50, 1 lb"
    #[arg(long)]
    yarn_price: Option<String>,
}

/// What the strands do at the rod, as the command line names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum AtRodArg {
    /// They trade places: checks
    Trade,
    /// They keep their places: columns
    Keep,
}

/// Where the weaving begins, as the command line names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum FromArg {
    /// From the start to the end
    OneEnd,
    /// From both ends to the middle
    BothEnds,
    /// From both ends, the second half begun with the other strand
    BothEndsOtherFirst,
}

/// What is shown in addition to the numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Show {
    /// The nails in the order of winding, with each strand's length
    Way,
    /// The rows to read off
    Reading,
    /// Both faces, cell by cell, the row that is woven last at the top: a letter for each colour, in the order of the bands
    Face,
    /// How every number was worked out
    Worked,
}

/// The units as the command line names them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// Inches and pounds
    Inches,
    /// Centimetres and grams
    Metric,
}

impl UnitsArg {
    pub(in crate::cli) fn units(self) -> Units {
        match self {
            Self::Inches => Units::Inches,
            Self::Metric => Units::Metric,
        }
    }
}

/// Input that can't be used. The program ends with [`BadInput::EXIT_CODE`] for it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{flag}: {why}")]
pub struct BadInput {
    /// The flag that was given.
    pub flag: &'static str,
    /// What is wrong, and what would do.
    pub why: String,
}

impl BadInput {
    /// The exit code for bad input, the same that the command line parser uses.
    pub const EXIT_CODE: u8 = 2;
}

/// Writes the plan as a table or as JSON.
///
/// # Errors
/// [`BadInput`] inside when an argument can't be used; else what stopped the writing.
pub fn run(args: &ReckonArgs, out: &mut dyn Write) -> anyhow::Result<()> {
    tell::write(&ask::asked(&args.one)?, args, out)
}
