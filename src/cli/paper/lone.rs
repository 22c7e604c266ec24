//! Papers that need no database: of a frame's measures, and of a plan.
use clap::Args;

use super::Out;
use super::asked::warn_of;
use crate::cli::reckon::{BadInput, OneRug, UnitsArg, asked, length};
use crate::drawing::hatch::by_lightness;
use crate::pdf::{ChangeTape, Hatch, NailRow, NailTemplate, Target};
use crate::planning::colour::named;
use crate::planning::schedule::{self, slots};
use crate::planning::warp::nail_rows::NailRows;
use crate::planning::{Frame, FrameSizes};
use crate::units::Minutes;

/// A frame's measures.
#[derive(Args)]
pub(super) struct NailTemplateArgs {
    /// Distance between the nail rows, nail centre to nail centre
    #[arg(long, allow_hyphen_values = true)]
    span: String,
    /// Width between the edge rods
    #[arg(long, allow_hyphen_values = true)]
    width: String,
    /// Nails in one row
    #[arg(long)]
    nails: u32,
    /// Distance between neighbouring nails; without it the nails are spread evenly over the width
    #[arg(long, allow_hyphen_values = true)]
    pitch: Option<String>,
    /// Thickness of a nail
    #[arg(long, default_value = "0.1 in")]
    nail_diameter: String,
    /// Units for bare numbers and on the paper
    #[arg(long, value_enum, default_value = "inches")]
    units: UnitsArg,
    #[command(flatten)]
    out: Out,
}

fn wrong(why: impl std::fmt::Display) -> BadInput {
    BadInput { flag: "the frame", why: why.to_string() }
}

pub(super) fn nail_template(args: &NailTemplateArgs) -> anyhow::Result<()> {
    let units = args.units.units();
    let nail = length("--nail-diameter", &args.nail_diameter, units)?;
    let pitch = args.pitch.as_ref().map(|text| length("--pitch", text, units)).transpose()?;
    let sizes = FrameSizes {
        span: length("--span", &args.span, units)?,
        width: length("--width", &args.width, units)?,
        nails: args.nails,
        pitch,
        nail_diameter: Some(nail),
    };
    let frame = Frame::new(sizes, units).map_err(wrong)?;
    let facing = NailRows::Facing.places(&frame, units).map_err(wrong)?;
    let (rows, long) = NailRow::of(&facing);
    let name =
        format!("{} × {}, {} nails per end", frame.width().show(units), frame.span().show(units), args.nails);
    let template = NailTemplate {
        name: &name,
        rows: &rows,
        long,
        begins: &format!("a line {} before the first nail", NailRow::BEYOND.show_fine(units)),
        span: frame.span(),
        diagonals: facing.diagonals(frame.span()),
        nail,
        foot: &format!("Nail template for {name}."),
        units,
    };
    args.out.write(&template.pdf(args.out.size)?)
}

/// A plan, and the meetings to put it on.
#[derive(Args)]
pub(super) struct ChangeTapeArgs {
    #[command(flatten)]
    rug: OneRug,
    /// What the rug is called
    #[arg(long, default_value = "Rug")]
    name: String,
    /// Meetings to weave in; without them the tape shows the bands alone
    #[arg(long, default_value_t = 0)]
    meetings: usize,
    /// How long a meeting is, in minutes
    #[arg(long, default_value_t = 120.0)]
    minutes: f64,
    #[command(flatten)]
    out: Out,
}

pub(super) fn change_tape(args: &ChangeTapeArgs) -> anyhow::Result<()> {
    let units = args.rug.units.units();
    let asked = asked(&args.rug)?;
    let plan = &asked.plan;
    let minutes = vec![Minutes::new(args.minutes); args.meetings];
    let placed = schedule::place(&plan.steps, &slots(&minutes, None));
    warn_of(&(args.name.clone() + &asked.colours.concat()));
    let targets = Target::of(plan, &placed.rows_by_slot, |slot| format!("meeting {}", slot + 1));
    // A colour of another name than those that forms offer has no known lightness: then all go by their order.
    let hexes: Option<Vec<_>> = asked.colours.iter().map(|name| Some(named(name)?.hex)).collect();
    let hatches: Vec<Hatch> =
        hexes.map_or_else(Vec::new, |hexes| by_lightness(&hexes).into_iter().map(Hatch::of).collect());
    let tape = ChangeTape {
        name: &args.name,
        foot: &format!("Change tape for {}.", args.name),
        plan,
        colours: &asked.colours,
        hatches: &hatches,
        targets: &targets,
        link: None,
        units,
    };
    args.out.write(&tape.pdf(args.out.size)?)
}
