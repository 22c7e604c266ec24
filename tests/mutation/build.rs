//! One build with every fault that compiles in it, each behind its switch.
use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::time::Instant;

use anyhow::{Context as _, Result, bail, ensure};
use serde_json::Value;

use crate::copy::{self, Folders};
use crate::errors::{self, Culprits};
use crate::places::{self, Constants, Mutant};
use crate::render::{Rendered, render};

const SWITCH: &str = include_str!("switch.rs");
const PACKAGE: &str = "thrumhall";

/// What was built: the faults by number (numbers of those that don't compile are free), and the tests' program.
pub struct Build {
    pub folders: Folders,
    pub mutants: BTreeMap<usize, Mutant>,
    pub tests: PathBuf,
    /// Changes when the code under test does.
    pub fingerprint: String,
}

/// A file that is another one in the copy.
pub struct Altered {
    pub name: String,
    pub text: String,
}

/// A source of the copy.
struct Source {
    name: String,
    text: String,
    rendered: Option<Rendered>,
}

/// A small hash that stays the same from one version to the next (FNV-1a).
pub fn hash(parts: &[&str]) -> u64 {
    let bytes = parts.iter().flat_map(|part| part.bytes().chain([0]));
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

/// All faults of the files that begin with one of these.
pub fn find(folders: &Folders, rooms: &[String]) -> Result<Vec<Mutant>> {
    let names = copy::files(&folders.root)?;
    let sources: Vec<&String> =
        names.iter().filter(|name| name.starts_with("src/") && name.ends_with(".rs")).collect();
    let mut constants = Constants::new();
    for name in &sources {
        places::constants(&fs::read_to_string(folders.root.join(name))?, &mut constants);
    }
    let mut found = Vec::new();
    for name in sources {
        if rooms.iter().any(|room| name.starts_with(room.as_str())) && name != "src/lib.rs" {
            let text = fs::read_to_string(folders.root.join(name))?;
            found.extend(places::mutants(name, &text, &constants).with_context(|| name.clone())?);
        }
    }
    Ok(found)
}

/// Builds the copy with these faults; those that don't compile are left out.
pub fn build(folders: Folders, candidates: Vec<Mutant>, altered: Option<Altered>) -> Result<Build> {
    let began = Instant::now();
    let read = |name: &str| match &altered {
        Some(altered) if altered.name == name => Ok(altered.text.clone().into_bytes()),
        _ => fs::read(folders.root.join(name)).context(name.to_owned()),
    };
    let names = copy::copy(&folders, &read)?;
    let tree = folders.tree();
    let manifest = fs::read_to_string(folders.root.join("Cargo.toml"))?;
    copy::write(&tree.join("Cargo.toml"), copy::manifest(&manifest, PACKAGE).as_bytes())?;
    copy::write(
        &tree.join("mutated/mutant.rs"),
        format!("{SWITCH}\nconst COUNT: usize = {};\n", candidates.len()).as_bytes(),
    )?;

    let failing_file = folders.build.join("not compiling.txt");
    let mut failing: HashSet<String> =
        fs::read_to_string(&failing_file).unwrap_or_default().lines().map(str::to_owned).collect();
    let count = candidates.len();
    let mut alive: BTreeMap<usize, Mutant> =
        candidates.into_iter().enumerate().filter(|(_, mutant)| !failing.contains(&mutant.key())).collect();
    println!("{count} places for a fault, {} of them known not to compile", count - alive.len());
    let mut sources = Vec::new();
    for name in names.iter().filter(|name| name.starts_with("src/") && name.ends_with(".rs")) {
        let text = String::from_utf8(read(name)?)?;
        sources.push(Source { name: name.clone(), text, rendered: None });
    }
    for round in 1.. {
        write_sources(&folders, &mut sources, &alive)?;
        let messages = cargo(&folders, &["build", "--test", "it"])?;
        let culprits = blame(&messages, &sources, &alive);
        if culprits.errors == 0 {
            break;
        }
        println!(
            "round {round}: {} errors, {} faults don't compile ({} s)",
            culprits.errors,
            culprits.ids.len(),
            began.elapsed().as_secs()
        );
        ensure!(!culprits.ids.is_empty(), "the copy doesn't compile:\n{}", culprits.unexplained.join("\n"));
        for id in culprits.ids {
            if let Some(mutant) = alive.remove(&id) {
                failing.insert(mutant.key());
            }
        }
        let mut list: Vec<&str> = failing.iter().map(String::as_str).collect();
        list.sort_unstable();
        fs::write(&failing_file, list.join("\n"))?;
    }
    println!("{} faults compile ({} s)", alive.len(), began.elapsed().as_secs());
    let tests = test_program(&cargo(&folders, &["build", "--test", "it"])?)?;
    println!("built after {} s", began.elapsed().as_secs());
    let shown: Vec<&str> =
        sources.iter().map(|s| s.rendered.as_ref().map_or(s.text.as_str(), |r| r.text.as_str())).collect();
    let fingerprint = format!("{:016x}", hash(&shown));
    Ok(Build { folders, mutants: alive, tests, fingerprint })
}

fn write_sources(folders: &Folders, sources: &mut [Source], alive: &BTreeMap<usize, Mutant>) -> Result<()> {
    let mut by_file: BTreeMap<&str, Vec<(usize, &Mutant)>> = BTreeMap::new();
    for (id, mutant) in alive {
        by_file.entry(mutant.file.as_str()).or_default().push((*id, mutant));
    }
    for source in sources {
        let none = Vec::new();
        let rendered = render(&source.text, by_file.get(source.name.as_str()).unwrap_or(&none));
        // A macro that wants a literal for its SQL can't be given a choice of two.
        let mut text = rendered.text.replace("$sql:literal", "$sql:expr   ");
        if source.name == "src/lib.rs" {
            text.push_str("pub mod mutant;\n");
        }
        if source.name == "src/lib.rs" || source.name == "src/main.rs" {
            text = text.replacen("\npub mod ", "\n#![allow(warnings, overflowing_literals, unconditional_panic, arithmetic_overflow)]\npub mod ", 1);
        }
        let name = source.name.replacen("src/", "mutated/", 1);
        copy::write(&folders.tree().join(name), text.as_bytes())?;
        source.rendered = Some(rendered);
    }
    Ok(())
}

/// What cargo says, message by message.
fn cargo(folders: &Folders, arguments: &[&str]) -> Result<Vec<Value>> {
    let log = fs::File::create(folders.build.join("cargo.log"))?;
    let run = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(arguments)
        .args(["--message-format=json"])
        .current_dir(folders.tree())
        .env("CARGO_TARGET_DIR", &folders.target)
        .env_remove("RUSTFLAGS")
        .stdout(Stdio::piped())
        .stderr(log)
        .spawn()?
        .wait_with_output()?;
    let messages: Vec<Value> = String::from_utf8_lossy(&run.stdout)
        .lines()
        .filter_map(|line| serde_json::from_str(line).ok())
        .collect();
    let says_why = messages.iter().any(|m| m["message"]["level"] == "error");
    if !run.status.success() && !says_why {
        bail!("cargo: {}", fs::read_to_string(folders.build.join("cargo.log"))?);
    }
    Ok(messages)
}

fn blame(messages: &[Value], sources: &[Source], alive: &BTreeMap<usize, Mutant>) -> Culprits {
    let mut culprits = Culprits::default();
    for message in messages.iter().filter(|m| m["reason"] == "compiler-message") {
        if message["message"]["level"] == "error"
            && message["message"]["spans"].as_array().is_some_and(|s| !s.is_empty())
        {
            let spans = errors::spans(&message["message"]);
            culprits.blame(&message["message"], &spans, |file| {
                let source =
                    sources.iter().find(|source| source.name.replacen("src/", "mutated/", 1) == file)?;
                source.rendered.as_ref().map(|rendered| (rendered.switches.as_slice(), alive))
            });
        }
    }
    culprits
}

fn test_program(messages: &[Value]) -> Result<PathBuf> {
    for message in messages {
        if message["message"]["level"] == "error" {
            bail!("the tests don't compile: {}", message["message"]["rendered"]);
        }
    }
    messages
        .iter()
        .filter(|m| m["reason"] == "compiler-artifact" && m["target"]["name"] == "it")
        .find_map(|m| m["executable"].as_str())
        .map(PathBuf::from)
        .context("cargo built no tests")
}
