//! `reckon`: a rug's plan on the command line, without a database. The computation is all in `craft`.
use crate::craft::estimate::Range;
use crate::craft::{Frame, FrameSizes, Kind, Length, Mass, Minutes, Plan, RugSpec, Units};
use anyhow::Context;
use clap::{Args, ValueEnum};
use serde_json::{Value, json};
use std::io::Write;
use thiserror::Error;

/// What `reckon` is asked.
#[derive(Debug, Clone, Args)]
#[command(after_help = "Lengths may be written as 33 in, 1 1/2 in, 2 ft 9 in, 84 cm, 840 mm or 0.84 m.\n\
                        Example: thrumhall reckon --span \"33 in\" --width \"18 in\" --nails 33")]
pub struct ReckonArgs {
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
    /// Kind of cloth: percale, sateen, flannel, poplin, jersey, interlock, denim, fleece or terry
    #[arg(long, default_value = "percale")]
    pub kind: String,
    /// Distance between neighbouring nails; without it the nails are spread evenly over the width
    #[arg(long, allow_hyphen_values = true)]
    pub pitch: Option<String>,
    /// Woven length; without it the span less one inch
    #[arg(long, allow_hyphen_values = true)]
    pub length: Option<String>,
    /// Units for bare numbers and for the table
    #[arg(long, value_enum, default_value = "inches")]
    pub units: UnitsArg,
    /// Print JSON, in millimetres, grams and minutes
    #[arg(long)]
    pub json: bool,
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
    fn units(self) -> Units {
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

fn bad(flag: &'static str) -> impl Fn(&dyn std::fmt::Display) -> BadInput {
    move |why| BadInput { flag, why: why.to_string() }
}

/// Writes the plan as a table or as JSON.
///
/// # Errors
/// [`BadInput`] inside when an argument can't be used; else what stopped the writing.
pub fn run(args: &ReckonArgs, out: &mut dyn Write) -> anyhow::Result<()> {
    let (units, plan) = (args.units.units(), plan_of(args)?);
    if args.json {
        serde_json::to_writer_pretty(&mut *out, &as_json(&plan))?;
        writeln!(out)?;
        Ok(())
    } else {
        table(&plan, units, out).context("writing the table")
    }
}

/// The plan that is asked for.
pub(super) fn plan_of(args: &ReckonArgs) -> Result<Plan, BadInput> {
    let units = args.units.units();
    let length = |flag, text: &str| Length::parse(text, units).map_err(|e| bad(flag)(&e));
    let optional = |flag, text: &Option<String>| text.as_deref().map(|text| length(flag, text)).transpose();
    let nails = args.nails.trim().parse().map_err(|_| {
        let shown: String = args.nails.chars().take(24).collect();
        let (min, max) = (Frame::MIN_NAILS, Frame::MAX_NAILS);
        bad("--nails")(&format!("“{shown}” isn't a whole number: from {min} to {max} is allowed."))
    })?;
    let sizes = FrameSizes {
        span: length("--span", &args.span)?,
        width: length("--width", &args.width)?,
        nails,
        pitch: optional("--pitch", &args.pitch)?,
        nail_diameter: None,
    };
    let kind: Kind = args.kind.parse().map_err(|e| bad("--kind")(&e))?;
    let frame = Frame::new(sizes, units).map_err(|e| bad("frame")(&e))?;
    let spec = RugSpec {
        strip_width: length("--strip", &args.strip)?,
        length: optional("--length", &args.length)?,
        warp_kind: kind,
        weft_kind: kind,
        ..RugSpec::plain(frame)
    };
    Plan::of(&spec, units).map_err(|e| bad("rug")(&e))
}

/// A plan in millimetres, grams and minutes.
pub(super) fn as_json(plan: &Plan) -> Value {
    let lengths =
        |r: Range<Length>| json!({"low": r.low.mm(), "expected": r.expected.mm(), "take": r.take.mm()});
    let masses = |r: Range<Mass>| json!({"low": r.low.grams(), "expected": r.expected.grams(), "take": r.take.grams()});
    let times =
        |r: Range<Minutes>| json!({"low": r.low.get(), "expected": r.expected.get(), "take": r.take.get()});
    let (warp, weft, cloth, minutes) = (&plan.warp, &plan.weft, &plan.cloth, &plan.minutes);
    json!({
        "warp": {
            "strands": warp.strands,
            "units": warp.units,
            "path_mm": warp.path.mm(),
            "rule_of_thumb_mm": warp.rule_of_thumb.mm(),
            "take_mm": warp.length.take.mm(),
            "length_mm": lengths(warp.length),
            "strips": warp.strips,
            "joins": warp.joins,
        },
        "weft": {
            "rows": weft.rows,
            "length_mm": lengths(weft.length),
            "cut_mm": lengths(weft.cut),
            "joins": weft.joins,
        },
        "cloth": {
            "mass_g": masses(cloth.total),
            "warp_g": masses(cloth.warp),
            "weft_g": masses(cloth.weft),
        },
        "minutes": {
            "prepare": minutes.prepare.expected.get(),
            "weave": minutes.weave.expected.get(),
            "finish": minutes.finish.expected.get(),
        },
        "minutes_range": {
            "prepare": times(minutes.prepare),
            "weave": times(minutes.weave),
            "finish": times(minutes.finish),
        },
        "rods": {
            "count": plan.rods.count,
            "least_mm": plan.rods.least.mm(),
            "tie_every_mm": plan.rods.tie_every.mm(),
        },
        "notices": plan.notices.iter().map(|notice| notice.text()).collect::<Vec<_>>(),
    })
}

fn table(plan: &Plan, units: Units, out: &mut dyn Write) -> std::io::Result<()> {
    let (warp, weft, cloth, minutes) = (&plan.warp, &plan.weft, &plan.cloth, &plan.minutes);
    let size = format!("{} × {}", plan.width.show(units), plan.length.show(units));
    writeln!(out, "Rug of {size}: {} warp strands, {} rows", warp.strands, weft.rows)?;
    writeln!(out)?;
    writeln!(out, "{:<22}{:>13}{:>13}{:>13}", "", "low", "expected", "take")?;
    let mut row = |name: &str, [low, expected, take]: [String; 3]| {
        writeln!(out, "{name:<22}{low:>13}{expected:>13}{take:>13}")
    };
    let long = |r: Range<Length>| [r.low, r.expected, r.take].map(|l| l.show_long(units));
    let mass = |r: Range<Mass>| [r.low, r.expected, r.take].map(|m| m.show(units));
    let time = |r: Range<Minutes>| [r.low, r.expected, r.take].map(Minutes::show);
    row("Warp ball", long(warp.length))?;
    row("Weft strip", long(weft.length))?;
    row("Weft strip to cut", long(weft.cut))?;
    row("Warp cloth", mass(cloth.warp))?;
    row("Weft cloth", mass(cloth.weft))?;
    row("All cloth, as strip", mass(cloth.total))?;
    row("Preparing", time(minutes.prepare))?;
    row("Weaving", time(minutes.weave))?;
    row("Finishing", time(minutes.finish))?;
    writeln!(out)?;
    let [path, thumb, strip] = [warp.path, warp.rule_of_thumb, warp.strip].map(|l| l.show_long(units));
    writeln!(out, "Warp path {path} before the strip gives (rule of thumb {thumb}).")?;
    writeln!(
        out,
        "Warp: {} strips of {strip}, {} joins. Weft: {} joins.",
        warp.strips, warp.joins, weft.joins
    )?;
    let [shortest, every] = [plan.rods.least, plan.rods.tie_every].map(|l| l.show(units));
    writeln!(
        out,
        "Rods: {} of at least {shortest}, tied to the frame every {every} or closer.",
        plan.rods.count
    )?;
    writeln!(out, "Take is enough nine times in ten; measured cloth and a woven sample narrow the ranges.")?;
    for notice in &plan.notices {
        writeln!(out, "Note: {}", notice.text())?;
    }
    Ok(())
}
