//! What the verdicts come to: a score for each file and room, and which survivors nobody has accepted.
use std::collections::{BTreeMap, HashMap, HashSet};
use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result};

use crate::judge::{Fate, Verdict};

/// Survivors that were looked at, each with the reason why it is left: `key  # reason`, two blanks before the sign.
pub fn accepted(root: &Path) -> Result<HashMap<String, String>> {
    let text = fs::read_to_string(root.join("tests/mutation/survivors.txt")).unwrap_or_default();
    text.lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .map(|line| {
            let (key, reason) = line.split_once("  # ").with_context(|| format!("no reason: {line}"))?;
            Ok((key.to_owned(), reason.to_owned()))
        })
        .collect()
}

fn room(file: &str) -> &str {
    file.match_indices('/').nth(1).map_or(file, |(end, _)| &file[..end])
}

fn noticed(fate: Fate) -> bool {
    matches!(fate, Fate::Noticed | Fate::TimedOut)
}

/// Prints scores and survivors; whether every survivor is accepted. `existing` are the keys of all faults that there are, in
/// the files that were asked for.
pub fn report(
    verdicts: &[Verdict],
    existing: &HashSet<String>,
    rooms: &[String],
    root: &Path,
) -> Result<bool> {
    let accepted = accepted(root)?;
    let mut scores: BTreeMap<&str, (usize, usize, usize)> = BTreeMap::new();
    for verdict in verdicts {
        for name in [verdict.file.as_str(), room(&verdict.file), "all"] {
            let score = scores.entry(name).or_default();
            score.0 += usize::from(noticed(verdict.fate));
            score.1 += usize::from(!noticed(verdict.fate) && accepted.contains_key(&verdict.key));
            score.2 += 1;
        }
    }
    println!("\n noticed  accepted  faults  score");
    for (name, (noticed, accepted, all)) in &scores {
        let score = 100.0 * *noticed as f64 / (all - accepted).max(1) as f64;
        println!("{noticed:8} {accepted:9} {all:7} {score:5.1} %  {name}");
    }
    let mut survivors: Vec<&Verdict> = verdicts.iter().filter(|verdict| !noticed(verdict.fate)).collect();
    survivors.sort_by_key(|verdict| (&verdict.file, verdict.line));
    let new: Vec<&&Verdict> =
        survivors.iter().filter(|verdict| !accepted.contains_key(&verdict.key)).collect();
    println!(
        "\n{} survivors, {} of them accepted; the others:",
        survivors.len(),
        survivors.len() - new.len()
    );
    for verdict in &new {
        let (_, rest) = verdict.key.split_once(' ').unwrap_or(("", &verdict.key));
        let note = match verdict.fate {
            Fate::Unreached => " [unreached]".to_owned(),
            _ if verdict.ran < verdict.reach => format!(" [{} of {} tests run]", verdict.ran, verdict.reach),
            _ => format!(" [{} tests]", verdict.ran),
        };
        println!("{}:{} {rest}{note}", verdict.file, verdict.line);
    }
    let gone: Vec<&String> = accepted
        .keys()
        .filter(|key| rooms.iter().any(|room| key.starts_with(room.as_str())) && !existing.contains(*key))
        .collect();
    for key in &gone {
        println!("accepted but no longer there: {key}");
    }
    let caught: Vec<&Verdict> =
        verdicts.iter().filter(|v| noticed(v.fate) && accepted.contains_key(&v.key)).collect();
    for verdict in caught {
        println!("accepted but noticed by {}: {}", verdict.test, verdict.key);
    }
    Ok(new.is_empty() && gone.is_empty())
}
