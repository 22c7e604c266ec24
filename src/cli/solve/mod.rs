//! `solve`: cutting, sheets, panels, rods, new frames, many rugs, a weaver's pace, colours, areal masses, the share-out
//! of cloth, the timetable, designs and rests from JSON to JSON. The computation is all in `planning` and `optimize`.
mod areal;
mod class_designs;
mod colours;
mod cutting;
mod design;
mod frame;
mod pace;
mod panels;
mod rods;
mod rugs;
mod share_out;
mod sheets;
mod timetable;
mod using_up;

use super::reckon::BadInput;
use crate::optimize::bins::Budget;
use crate::units::Length;
use anyhow::Context;
use clap::{Args, Subcommand};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::io::{Read, Write};
use std::path::PathBuf;

/// What `solve` is asked.
#[derive(Debug, Clone, Args)]
pub struct SolveArgs {
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Clone, Subcommand)]
enum Question {
    /// Cut pieces from bars with the fewest bars
    #[command(after_help = cutting::SHAPE)]
    Cutting(InputArgs),
    /// Cut edge rods for several frames from the least length of bought bars
    #[command(after_help = rods::SHAPE)]
    Rods(InputArgs),
    /// Choose which sheets to cut, and how, for a length of strip: fewest joins, least waste, fewest sheets
    #[command(after_help = sheets::SHAPE)]
    Sheets(InputArgs),
    /// Piece a rug of any size together from rugs of the frames' sizes: fewest panels, nearest size, least seam
    #[command(after_help = panels::SHAPE)]
    Panels(InputArgs),
    /// Lay out a new frame: nail places, members, rods to buy
    #[command(after_help = frame::SHAPE)]
    Frame(InputArgs),
    /// Share a class's cloth out: which bundles, and how much of each, serve which needs
    #[command(after_help = share_out::SHAPE)]
    ShareOut(InputArgs),
    /// Say which rug has which frame from which meeting to which
    #[command(after_help = timetable::SHAPE)]
    Timetable(InputArgs),
    /// Plan many rugs at once, each asked for like a rug of reckon
    #[command(after_help = rugs::SHAPE)]
    Rugs(InputArgs),
    /// Tell how different colours look, by CIEDE2000
    #[command(after_help = colours::SHAPE)]
    Colours(InputArgs),
    /// Tell the mass per area of weighed and measured sheets, with its range
    #[command(after_help = areal::SHAPE)]
    Areal(InputArgs),
    /// Design rugs that the shelf can cover, each with the bundles that serve it
    #[command(after_help = design::SHAPE)]
    Design(InputArgs),
    /// Design a rug for each of a class from one shelf, no cloth twice, as varied as can be
    #[command(after_help = class_designs::SHAPE)]
    ClassDesigns(InputArgs),
    /// Make a rug of small rests, each a band as high as it lasts
    #[command(after_help = using_up::SHAPE)]
    UsingUp(InputArgs),
    /// Learn from finished rugs and a log: figures of the next rug, the weaver's pace, chances to be done in time
    #[command(after_help = pace::SHAPE)]
    Pace(InputArgs),
}

#[derive(Debug, Clone, Args)]
struct InputArgs {
    /// A JSON file, or - for the standard input
    file: PathBuf,
}

/// Reads the file, answers, and writes the answer as JSON.
///
/// # Errors
/// [`BadInput`] inside when the file can't be used; else what stopped the reading or writing.
pub fn run(args: &SolveArgs, out: &mut dyn Write) -> anyhow::Result<()> {
    match &args.question {
        Question::Cutting(input) => put(out, &cutting::answer(&asked("cutting", input)?)?),
        Question::Sheets(input) => put(out, &sheets::answer(&asked("sheets", input)?)?),
        Question::Panels(input) => put(out, &panels::answer(&asked("panels", input)?)?),
        Question::Frame(input) => put(out, &frame::answer(&asked("frame", input)?)?),
        Question::Pace(input) => put(out, &pace::answer(&asked("pace", input)?)?),
        Question::Rods(input) => put(out, &rods::answer(&asked("rods", input)?)?),
        Question::ShareOut(input) => put(out, &share_out::answer(&asked("share-out", input)?)?),
        Question::Timetable(input) => put(out, &timetable::answer(&asked("timetable", input)?)?),
        Question::Rugs(input) => put_each(out, &rugs::answer(&asked("rugs", input)?)?),
        Question::Design(input) => put(out, &design::answer(&asked("design", input)?)?),
        Question::ClassDesigns(input) => put(out, &class_designs::answer(&asked("class-designs", input)?)?),
        Question::UsingUp(input) => put(out, &using_up::answer(&asked("using-up", input)?)?),
        Question::Colours(input) => put(out, &colours::answer(&asked("colours", input)?)),
        Question::Areal(input) => put_each(out, &areal::answer(&asked("areal", input)?)?),
    }
}

fn put(out: &mut dyn Write, answer: &impl Serialize) -> anyhow::Result<()> {
    serde_json::to_writer(&mut *out, answer).context("writing the answer")?;
    writeln!(out).context("writing the answer")
}

/// A line for each of many answers.
fn put_each(out: &mut dyn Write, answers: &[impl Serialize]) -> anyhow::Result<()> {
    answers.iter().try_for_each(|answer| put(out, answer))
}

fn asked<T: DeserializeOwned>(what: &'static str, input: &InputArgs) -> anyhow::Result<T> {
    let file = input.file.display();
    let mut text = String::new();
    let read = if input.file.as_os_str() == "-" {
        std::io::stdin().read_to_string(&mut text)
    } else {
        std::fs::File::open(&input.file).and_then(|mut file| file.read_to_string(&mut text))
    };
    read.map_err(|e| bad(what, &format!("{file} can't be read: {e}.")))?;
    Ok(serde_json::from_str(&text).map_err(|e| bad(what, &format!("{file} isn't what is expected: {e}.")))?)
}

/// What is left out, or null, is as usual.
fn or_usual<'de, D: Deserializer<'de>, T: Default + Deserialize<'de>>(from: D) -> Result<T, D::Error> {
    Ok(Option::deserialize(from)?.unwrap_or_default())
}

/// Ids that stand for one thing each.
fn unlike<T: PartialEq + std::fmt::Display>(what: &str, ids: impl Iterator<Item = T>) -> Result<(), String> {
    let ids: Vec<T> = ids.collect();
    for (at, id) in ids.iter().enumerate() {
        if ids[..at].contains(id) {
            return Err(format!("There are two of {what} {id}: each needs an id of its own."));
        }
    }
    Ok(())
}

fn bad(what: &'static str, why: &dyn std::fmt::Display) -> BadInput {
    BadInput { flag: what, why: why.to_string() }
}

/// A length in millimetres, kept to the nearest 1/1000.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(try_from = "f64")]
struct Mm(Length);

/// More is a slip: 10 km.
const MOST_MM: f64 = 1e7;
const NM_PER_STEP: i64 = 1_000;

impl TryFrom<f64> for Mm {
    type Error = String;

    fn try_from(mm: f64) -> Result<Self, String> {
        if mm.is_finite() && mm.abs() <= MOST_MM {
            return Ok(Self(Length::from_nm((mm * 1e3).round() as i64 * NM_PER_STEP)));
        }
        Err(format!("{mm} mm is out of range: at most {MOST_MM} mm is allowed"))
    }
}

/// How much may be computed.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(try_from = "u64")]
struct Steps(Budget);

impl Default for Steps {
    fn default() -> Self {
        Self(Budget::USUAL)
    }
}

impl TryFrom<u64> for Steps {
    type Error = String;

    fn try_from(steps: u64) -> Result<Self, String> {
        let most = 1_000_000_000;
        if (1..=most).contains(&steps) {
            return Ok(Self(Budget(steps)));
        }
        Err(format!("steps: {steps} is out of range: from 1 to {most} is allowed"))
    }
}

impl Serialize for Mm {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let steps = (self.0.nm() as f64 / NM_PER_STEP as f64).round();
        // Whole millimetres without a point, as they are mostly typed.
        if steps % 1e3 == 0.0 {
            to.serialize_i64(steps as i64 / 1_000)
        } else {
            to.serialize_f64(steps / 1e3)
        }
    }
}
