//! Which test reaches which fault, and how long each test takes.
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use anyhow::Result;
use serde::{Deserialize, Serialize};

use crate::build::{Build, hash};
use crate::process::{Outcome, Switch, Worker};

/// What one test reaches.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Trace {
    pub seconds: f64,
    pub reaches: Vec<usize>,
    /// Whether it passes without any fault.
    pub passes: bool,
    /// Changes when the file of the test does.
    source: String,
}

/// All tests by name.
#[derive(Default, Serialize, Deserialize)]
pub struct Traces {
    fingerprint: String,
    pub tests: BTreeMap<String, Trace>,
}

/// A hash of the file that a test stands in, as far as its name tells it.
fn source(root: &Path, test: &str) -> String {
    let mut path = test.to_owned();
    while let Some((above, _)) = path.clone().rsplit_once("::") {
        above.clone_into(&mut path);
        let file = root.join("tests/it").join(path.replace("::", "/"));
        for candidate in [file.with_extension("rs"), file.join("mod.rs")] {
            if let Ok(text) = fs::read_to_string(candidate) {
                return format!("{:016x}", hash(&[&text]));
            }
        }
    }
    String::new()
}

/// Runs each test by itself, unless it was traced before and neither it nor the code has changed since.
pub fn trace(build: &Build, workers: &[Worker], again: bool) -> Result<Traces> {
    let began = Instant::now();
    let file = build.folders.build.join("traces.json");
    let before: Traces =
        fs::read(&file).ok().and_then(|text| serde_json::from_slice(&text).ok()).unwrap_or_default();
    let names = workers[0].list()?;
    let mut traces = Traces { fingerprint: build.fingerprint.clone(), tests: BTreeMap::new() };
    let mut wanted = Vec::new();
    for name in names {
        let source = source(&build.folders.root, &name);
        match before.tests.get(&name) {
            Some(known)
                if !again
                    && before.fingerprint == build.fingerprint
                    && known.source == source
                    && known.passes =>
            {
                traces.tests.insert(name, known.clone());
            }
            _ => wanted.push((name, source)),
        }
    }
    if wanted.is_empty() {
        return Ok(traces);
    }
    println!("tracing {} tests, {} are known", wanted.len(), traces.tests.len());
    let (next, done) = (AtomicUsize::new(0), Mutex::new(&mut traces.tests));
    std::thread::scope(|scope| {
        let mut running = Vec::new();
        for (number, worker) in workers.iter().enumerate() {
            let (next, done, wanted) = (&next, &done, &wanted);
            let path = build.folders.build.join(format!("reached{number}.txt"));
            running.push(scope.spawn(move || -> Result<()> {
                while let Some((name, source)) = wanted.get(next.fetch_add(1, Ordering::Relaxed)) {
                    fs::write(&path, "")?;
                    let began = Instant::now();
                    let outcome = worker.run(&[name], Switch::Trace(&path), Duration::from_mins(10))?;
                    let mut reaches: Vec<usize> =
                        fs::read_to_string(&path)?.lines().filter_map(|line| line.parse().ok()).collect();
                    reaches.sort_unstable();
                    reaches.dedup();
                    let passes = outcome == Outcome::Passed;
                    if !passes {
                        println!("{name} fails without a fault, and is left out: {outcome:?}");
                    }
                    let trace = Trace {
                        seconds: began.elapsed().as_secs_f64(),
                        reaches,
                        passes,
                        source: source.clone(),
                    };
                    if let Ok(mut done) = done.lock() {
                        done.insert(name.clone(), trace);
                    }
                }
                Ok(())
            }));
        }
        running
            .into_iter()
            .try_for_each(|run| run.join().unwrap_or_else(|_| anyhow::bail!("a worker panicked")))
    })?;
    fs::write(&file, serde_json::to_vec(&traces)?)?;
    let total: f64 = traces.tests.values().map(|trace| trace.seconds).sum();
    println!("traced after {} s; all tests together take {total:.0} s", began.elapsed().as_secs());
    Ok(traces)
}

/// For each fault, the tests that reach it: those first that are quick and reach little else.
pub fn reached_by(traces: &Traces) -> BTreeMap<usize, Vec<(&str, f64)>> {
    let mut tests: Vec<(&str, &Trace)> = traces
        .tests
        .iter()
        .filter(|(_, trace)| trace.passes)
        .map(|(name, trace)| (name.as_str(), trace))
        .collect();
    let cost = |trace: &Trace| (0.05 + trace.seconds) * (20.0 + trace.reaches.len() as f64);
    tests.sort_by(|(_, a), (_, b)| cost(a).total_cmp(&cost(b)));
    let mut found: BTreeMap<usize, Vec<(&str, f64)>> = BTreeMap::new();
    for (name, trace) in tests {
        for id in &trace.reaches {
            found.entry(*id).or_default().push((name, trace.seconds));
        }
    }
    found
}
