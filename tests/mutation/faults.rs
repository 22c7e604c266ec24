//! Faults written down by hand, each of a kind that would cost a class something: `faults.toml`.
//!
//! A fault within a function goes behind a switch, all of them into one build. One elsewhere (a constant, a macro, a template, a
//! migration), or one that can't stand beside what was there, gets a build of its own.
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, ensure};
use serde::Deserialize;

use crate::build::{self, Altered, Build};
use crate::copy::Folders;
use crate::judge::{self, Bounds, Fate};
use crate::places::{self, Mutant};
use crate::process::{Outcome, Switch, Worker};
use crate::trace::{self, Traces};

#[derive(Deserialize)]
struct List {
    fault: Vec<Fault>,
}

/// One of the list.
#[derive(Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct Fault {
    name: String,
    file: String,
    /// What stands there, exactly once.
    find: String,
    /// What is put there.
    put: String,
    /// Parts of the names of the tests that are meant to notice; without them, all that reach it are run.
    #[serde(default)]
    tests: Vec<String>,
}

impl Fault {
    /// The file with the fault in it.
    fn altered(&self, root: &Path) -> Result<Altered> {
        let text = fs::read_to_string(root.join(&self.file))
            .with_context(|| format!("{}: {}", self.name, self.file))?;
        let count = text.matches(self.find.as_str()).count();
        ensure!(count == 1, "{}: the text to find stands {count} times in {}", self.name, self.file);
        Ok(Altered { name: self.file.clone(), text: text.replacen(self.find.as_str(), &self.put, 1) })
    }

    /// As a switch around the body of the function it is in.
    fn switch(&self, root: &Path) -> Result<Option<Mutant>> {
        if !build::is_source(&self.file) {
            return Ok(None);
        }
        let text = fs::read_to_string(root.join(&self.file))?;
        let start = text.find(self.find.as_str()).context("was found before")?;
        let range = start..start + self.find.len();
        let mut mutant = places::rewritten(&self.file, &text, &range, &self.put)?;
        if let Some(mutant) = &mut mutant {
            // Its key is its name, which is what results are found by.
            (mutant.from, mutant.to) = ("by hand".to_owned(), self.name.clone());
        }
        Ok(mutant)
    }
}

/// What was found out about a fault.
struct Finding {
    name: String,
    /// The test and its panic.
    noticed: Option<(String, String)>,
}

/// Puts in each fault of the list whose name has this in it, or few of them, and says who notices; whether all were noticed.
pub fn run(only: Option<&str>, every: Option<usize>, workers: usize) -> Result<bool> {
    let began = Instant::now();
    let folders = Folders::find("faults")?;
    let text = fs::read_to_string(folders.root.join("tests/mutation/faults.toml"))?;
    let List { fault: mut faults } = toml::from_str(&text)?;
    // A fault that doesn't fit its source is an error even where it isn't asked for: else it would be forgotten.
    for fault in &faults {
        fault.altered(&folders.root)?;
    }
    faults.retain(|fault| only.is_none_or(|only| fault.name.contains(only) || fault.file.contains(only)));
    let mut switched = Vec::new();
    let mut apart = Vec::new();
    for fault in faults {
        match fault.switch(&folders.root)? {
            Some(mutant) => switched.push((fault, mutant)),
            None => apart.push(fault),
        }
    }
    if let Some(every) = every {
        // Each of the others would want a build of its own.
        apart.clear();
        switched = switched.into_iter().step_by(every.max(1)).collect();
    }
    let mut findings = Vec::new();
    if !switched.is_empty() {
        let mutants = switched.iter().map(|(_, mutant)| mutant.clone()).collect();
        let built = build::build(folders.clone(), mutants, None)?;
        let workers: Vec<Worker> =
            (0..workers).map(|number| Worker::new(&built, number)).collect::<Result<_>>()?;
        let blind = switched.iter().any(|(fault, _)| fault.tests.is_empty());
        let traces = if blind { trace::trace(&built, &workers, false)? } else { Traces::default() };
        for (id, (fault, _)) in switched.into_iter().enumerate() {
            if built.mutants.contains_key(&id) {
                findings.push(say(judge_switched(&built, &workers, &traces, id, &fault)?));
            } else {
                apart.push(fault);
            }
        }
    }
    for fault in apart {
        findings.push(say(judge_apart(&folders, &fault)?));
    }
    let unnoticed: Vec<&Finding> = findings.iter().filter(|finding| finding.noticed.is_none()).collect();
    println!("\n{} faults in {} s, {} unnoticed", findings.len(), began.elapsed().as_secs(), unnoticed.len());
    Ok(unnoticed.is_empty())
}

fn say(finding: Finding) -> Finding {
    match &finding.noticed {
        Some((test, panic)) => println!("noticed    {}\n           by {test}: {panic}", finding.name),
        None => println!("UNNOTICED  {}", finding.name),
    }
    finding
}

/// As a finding, what a run of tests came to.
fn finding(fault: &Fault, outcome: Outcome) -> Finding {
    let noticed = match outcome {
        Outcome::Passed => None,
        Outcome::Failed(test, panic) => Some((test, panic)),
        Outcome::TimedOut => Some((fault.tests.join(", "), "took too long".to_owned())),
    };
    Finding { name: fault.name.clone(), noticed }
}

fn judge_switched(
    built: &Build,
    workers: &[Worker],
    traces: &Traces,
    id: usize,
    fault: &Fault,
) -> Result<Finding> {
    if !fault.tests.is_empty() {
        let filters: Vec<&str> = fault.tests.iter().map(String::as_str).collect();
        // What fails without the fault notices nothing.
        let sound = workers[0].run_matching(&filters, Switch::Off, Duration::from_mins(10))?;
        ensure!(sound == Outcome::Passed, "{}: without it, too: {sound:?}", fault.name);
        let outcome = workers[0].run_matching(&filters, Switch::On(id), Duration::from_mins(10))?;
        return Ok(finding(fault, outcome));
    }
    let bounds = Bounds { until: None, patience: 600.0 };
    let verdicts = judge::judge(built, &workers[..1], traces, &[id], &bounds)?;
    let noticed = verdicts.into_iter().find(|verdict| matches!(verdict.fate, Fate::Noticed | Fate::TimedOut));
    Ok(Finding { name: fault.name.clone(), noticed: noticed.map(|verdict| (verdict.test, verdict.panic)) })
}

/// In a build of its own; every test is run where none is named.
fn judge_apart(folders: &Folders, fault: &Fault) -> Result<Finding> {
    let altered = fault.altered(&folders.root)?;
    let built = build::build(folders.named("fault apart")?, Vec::new(), Some(&altered))
        .with_context(|| format!("{} doesn't compile", fault.name))?;
    let worker = Worker::new(&built, 0)?;
    let filters: Vec<&str> = fault.tests.iter().map(String::as_str).collect();
    let outcome = worker.run_matching(&filters, Switch::Off, Duration::from_mins(10))?;
    Ok(finding(fault, outcome))
}
