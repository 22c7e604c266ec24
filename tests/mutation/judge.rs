//! Switches on one fault after the other and runs the tests that reach it, until one notices.
use std::collections::{BTreeMap, HashMap};
use std::fs::{self, File, OpenOptions};
use std::io::Write as _;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use anyhow::Result;
use serde::{Deserialize, Serialize};

use crate::build::Build;
use crate::places::Mutant;
use crate::process::{Outcome, Switch, Worker};
use crate::trace::{Traces, reached_by};

/// What became of a fault; one line of the results.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Verdict {
    pub key: String,
    pub file: String,
    pub line: usize,
    pub kind: String,
    pub fate: Fate,
    /// The test that noticed, and its panic.
    pub test: String,
    pub panic: String,
    pub seconds: f64,
    /// How many tests were run, of how many that reach it.
    pub ran: usize,
    pub reach: usize,
    build: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Fate {
    Noticed,
    TimedOut,
    Survived,
    Unreached,
}

/// How far to go.
pub struct Bounds {
    /// When to begin no more faults.
    pub until: Option<Instant>,
    /// Seconds of tests, as they usually take, for one fault.
    pub patience: f64,
}

/// The verdicts of earlier runs on the same code.
pub fn known(build: &Build) -> HashMap<String, Verdict> {
    let text = fs::read_to_string(build.folders.build.join("results.jsonl")).unwrap_or_default();
    text.lines()
        .filter_map(|line| serde_json::from_str::<Verdict>(line).ok())
        .filter(|verdict| verdict.build == build.fingerprint)
        .map(|verdict| (verdict.key.clone(), verdict))
        .collect()
}

/// Judges these faults, and writes each verdict at once.
pub fn judge(
    build: &Build,
    workers: &[Worker],
    traces: &Traces,
    wanted: &[usize],
    bounds: &Bounds,
) -> Result<Vec<Verdict>> {
    let began = Instant::now();
    let reached = reached_by(traces);
    let log = OpenOptions::new().create(true).append(true).open(build.folders.build.join("results.jsonl"))?;
    let results: Mutex<(Vec<Verdict>, File)> = Mutex::new((Vec::new(), log));
    // Tests that noticed a fault of a function are tried first on its others.
    let noticers: Mutex<HashMap<String, Vec<String>>> = Mutex::new(HashMap::new());
    let next = AtomicUsize::new(0);
    let work = |worker: &Worker| -> Result<()> {
        while let Some(id) = wanted.get(next.fetch_add(1, Ordering::Relaxed)) {
            if bounds.until.is_some_and(|until| Instant::now() > until) {
                break;
            }
            let mutant = &build.mutants[id];
            let function = format!("{} {}", mutant.file, mutant.function);
            let first = noticers.lock().ok().and_then(|n| n.get(&function).cloned()).unwrap_or_default();
            let verdict = one(build, worker, (*id, mutant), &reached, &first, bounds.patience)?;
            if let (Fate::Noticed, Ok(mut noticers)) = (verdict.fate, noticers.lock()) {
                let tests = noticers.entry(function).or_default();
                tests.retain(|test| *test != verdict.test);
                tests.insert(0, verdict.test.clone());
            }
            if let Ok(mut results) = results.lock() {
                writeln!(results.1, "{}", serde_json::to_string(&verdict)?)?;
                results.0.push(verdict);
                if results.0.len().is_multiple_of(100) {
                    let left = results.0.iter().filter(|v| v.fate == Fate::Survived).count();
                    println!(
                        "{} of {} after {} s, {left} survive",
                        results.0.len(),
                        wanted.len(),
                        began.elapsed().as_secs()
                    );
                }
            }
        }
        Ok(())
    };
    std::thread::scope(|scope| {
        let running: Vec<_> = workers.iter().map(|worker| scope.spawn(move || work(worker))).collect();
        running
            .into_iter()
            .try_for_each(|run| run.join().unwrap_or_else(|_| anyhow::bail!("a worker panicked")))
    })?;
    Ok(results.into_inner().map(|(verdicts, _)| verdicts).unwrap_or_default())
}

/// The tests in runs of a growing length, so that a fault that is noticed at once costs little.
fn batches<'a>(tests: &[(&'a str, f64)], patience: f64) -> Vec<Vec<(&'a str, f64)>> {
    let mut batches: Vec<Vec<(&str, f64)>> = Vec::new();
    let (mut total, mut length, mut room) = (0.0, 0.0, 0.0);
    for (i, test) in tests.iter().enumerate() {
        if i > 0 && total + test.1 > patience {
            break;
        }
        if i < 2 || length + test.1 > room {
            batches.push(Vec::new());
            (length, room) = (0.0, if i < 2 { 0.0 } else { (room * 4.0).clamp(1.0, 8.0) });
        }
        total += test.1;
        length += test.1;
        if let Some(batch) = batches.last_mut() {
            batch.push(*test);
        }
    }
    batches
}

fn one(
    build: &Build,
    worker: &Worker,
    (id, mutant): (usize, &Mutant),
    reached: &BTreeMap<usize, Vec<(&str, f64)>>,
    first: &[String],
    patience: f64,
) -> Result<Verdict> {
    let began = Instant::now();
    let mut tests = reached.get(&id).cloned().unwrap_or_default();
    tests.sort_by_key(|(name, _)| first.iter().position(|test| test == name).unwrap_or(usize::MAX));
    let mut verdict = Verdict {
        key: mutant.key(),
        file: mutant.file.clone(),
        line: mutant.line,
        kind: mutant.kind.to_owned(),
        fate: if tests.is_empty() { Fate::Unreached } else { Fate::Survived },
        test: String::new(),
        panic: String::new(),
        seconds: 0.0,
        ran: 0,
        reach: tests.len(),
        build: build.fingerprint.clone(),
    };
    for batch in batches(&tests, patience) {
        let names: Vec<&str> = batch.iter().map(|(name, _)| *name).collect();
        let usual: f64 = batch.iter().map(|(_, seconds)| seconds).sum();
        let outcome = worker.run(&names, Switch::On(id), Duration::from_secs_f64(10.0 + 5.0 * usual))?;
        verdict.ran += names.len();
        match outcome {
            Outcome::Passed => continue,
            Outcome::Failed(test, panic) => {
                verdict.fate = Fate::Noticed;
                (verdict.test, verdict.panic) = (test, panic);
            }
            Outcome::TimedOut => {
                verdict.fate = Fate::TimedOut;
                verdict.test = names[0].to_owned();
            }
        }
        break;
    }
    verdict.seconds = began.elapsed().as_secs_f64();
    Ok(verdict)
}
