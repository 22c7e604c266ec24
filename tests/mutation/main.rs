//! Faults put into the program on purpose, one at a time, to see whether a test notices.
//!
//! All of them are compiled into one build and switched on at run time: a build for each would take days.
#![allow(
    clippy::print_stdout,
    clippy::struct_excessive_bools,
    reason = "a command says what it found, and has flags"
)]
mod build;
mod copy;
mod errors;
mod faults;
mod judge;
mod places;
mod process;
mod render;
mod report;
mod sql;
mod trace;

use std::collections::HashSet;
use std::process::ExitCode;
use std::time::{Duration, Instant};

use clap::{Parser, Subcommand};

use crate::build::{Build, hash};
use crate::judge::{Bounds, Fate};
use crate::places::Mutant;
use crate::process::Worker;

/// Puts faults into a copy of the program, one at a time, and says which of them no test notices.
#[derive(Parser)]
#[command(args_conflicts_with_subcommands = true)]
struct Arguments {
    #[command(subcommand)]
    other: Option<Other>,
    /// Folders or files to put faults into: src/pdf, src/store/loans.rs.
    #[arg(default_values = ["src/units", "src/planning", "src/optimize", "src/drawing", "src/store"])]
    rooms: Vec<String>,
    /// Name of the build, which is kept with its traces and results; `main`, or `sample` for a sample.
    #[arg(long)]
    build: Option<String>,
    /// Only faults with this in their line of the report (file, function, kind or text).
    #[arg(long)]
    only: Option<String>,
    /// Only faults that the last run left: survivors of these rooms.
    #[arg(long)]
    survivors: bool,
    /// List the faults and stop, without a build.
    #[arg(long)]
    list: bool,
    /// Build and trace, judge nothing.
    #[arg(long)]
    build_only: bool,
    /// So many faults, always the same ones.
    #[arg(long)]
    sample: Option<usize>,
    /// Which sample.
    #[arg(long, default_value = "1")]
    seed: String,
    /// Begin no more faults after so many minutes; the next run goes on.
    #[arg(long)]
    minutes: Option<u64>,
    /// How many seconds of tests one fault may take.
    #[arg(long, default_value_t = 20.0)]
    patience: f64,
    /// Tests at a time.
    #[arg(long, default_value_t = 2)]
    workers: usize,
    /// Judge again what earlier runs judged.
    #[arg(long)]
    again: bool,
    /// Trace every test again.
    #[arg(long)]
    trace_again: bool,
}

#[derive(Subcommand)]
enum Other {
    /// The faults of tests/mutation/faults.toml instead.
    Faults {
        /// Only those with this in their name or file.
        only: Option<String>,
        /// Of those that stand in one build with others, the first of every so many.
        #[arg(long)]
        every: Option<usize>,
        /// Tests at a time.
        #[arg(long, default_value_t = 2)]
        workers: usize,
    },
}

fn main() -> anyhow::Result<ExitCode> {
    let arguments = Arguments::parse();
    if let Some(Other::Faults { only, every, workers }) = &arguments.other {
        let all_well = faults::run(only.as_deref(), *every, *workers)?;
        return Ok(if all_well { ExitCode::SUCCESS } else { ExitCode::FAILURE });
    }
    let usual = if arguments.sample.is_some() { "sample" } else { "main" };
    let folders = copy::Folders::find(arguments.build.as_deref().unwrap_or(usual))?;
    let mut candidates = build::find(&folders, &arguments.rooms)?;
    let existing: HashSet<String> = candidates.iter().map(Mutant::key).collect();
    if let Some(count) = arguments.sample {
        candidates.sort_by_cached_key(|mutant| hash(&[&arguments.seed, &mutant.key()]));
        candidates.truncate(count);
    }
    if arguments.list {
        for mutant in &candidates {
            println!("{}:{} [{}] {}", mutant.file, mutant.line, mutant.kind, mutant.key());
        }
        println!("{} places", candidates.len());
        return Ok(ExitCode::SUCCESS);
    }
    let built = build::build(folders, candidates, None)?;
    let workers: Vec<Worker> =
        (0..arguments.workers).map(|number| Worker::new(&built, number)).collect::<Result<_, _>>()?;
    let traces = trace::trace(&built, &workers, arguments.trace_again)?;
    if arguments.build_only {
        return Ok(ExitCode::SUCCESS);
    }
    let known = judge::known(&built);
    let chosen = choose(&built, &arguments, |key| {
        known.get(key).is_some_and(|v| matches!(v.fate, Fate::Survived | Fate::Unreached))
    });
    let again = arguments.again || arguments.survivors;
    let is_known = |id: &usize| !again && known.contains_key(&built.mutants[id].key());
    let (done, wanted): (Vec<usize>, Vec<usize>) = chosen.into_iter().partition(is_known);
    println!("{} faults to judge, {} judged before", wanted.len(), done.len());
    let began = Instant::now();
    let bounds = Bounds {
        until: arguments.minutes.map(|minutes| began + Duration::from_mins(minutes)),
        patience: arguments.patience,
    };
    let mut verdicts = judge::judge(&built, &workers, &traces, &wanted, &bounds)?;
    println!("{} faults judged in {} s", verdicts.len(), began.elapsed().as_secs());
    let left = wanted.len() - verdicts.len();
    verdicts.extend(done.iter().filter_map(|id| known.get(&built.mutants[id].key()).cloned()));
    let all_well = report::report(&verdicts, &existing, &arguments.rooms, &built.folders.root)?;
    if left > 0 {
        println!("{left} faults are still to be judged: run it again");
    }
    Ok(if all_well { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// The faults asked for, in the order of a fixed lottery, so that a run cut short has seen some of everything.
fn choose(built: &Build, arguments: &Arguments, survived: impl Fn(&str) -> bool) -> Vec<usize> {
    let mut chosen: Vec<(u64, usize)> = built
        .mutants
        .iter()
        .map(|(id, mutant)| (*id, mutant, mutant.key()))
        .filter(|(_, mutant, key)| {
            arguments.only.as_ref().is_none_or(|only| {
                key.contains(only.as_str())
                    || mutant.kind == only
                    || format!("{}:{}", mutant.file, mutant.line).contains(only.as_str())
            })
        })
        .filter(|(_, _, key)| !arguments.survivors || survived(key))
        .map(|(id, _, key)| (hash(&[&arguments.seed, &key]), id))
        .collect();
    chosen.sort_unstable();
    chosen.into_iter().map(|(_, id)| id).collect()
}
