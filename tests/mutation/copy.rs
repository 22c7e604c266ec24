//! The copy of the checkout that is changed instead of the checkout itself.
use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context as _, Result, ensure};
use toml::{Table, Value};

/// Where things are: the checkout, and the folder below its target folder that is all ours.
#[derive(Clone, Debug)]
pub struct Folders {
    pub root: PathBuf,
    /// Of one build: its tree, list of faults, traces, results.
    pub build: PathBuf,
    /// What cargo builds, for all builds.
    pub target: PathBuf,
}

impl Folders {
    /// Of the build of this name, for the checkout that one stands in.
    pub fn find(name: &str) -> Result<Self> {
        let root = std::env::var_os("CARGO_MANIFEST_DIR")
            .map_or_else(std::env::current_dir, |dir| Ok(dir.into()))?;
        // target/debug/examples/mutate
        let exe = std::env::current_exe()?;
        let target = exe.ancestors().nth(3).context("the program stands in no target folder")?.to_owned();
        let ours = target.join("mutation");
        let folders = Self { root, build: ours.join(name), target: ours.join("target") };
        fs::create_dir_all(&folders.build)?;
        folders.seed(&target)?;
        Ok(folders)
    }

    /// The same with another build.
    pub fn named(&self, name: &str) -> Result<Self> {
        let build = self.build.with_file_name(name);
        fs::create_dir_all(&build)?;
        Ok(Self { build, ..self.clone() })
    }

    pub fn tree(&self) -> PathBuf {
        self.build.join("tree")
    }

    /// Begins the target folder with what the checkout's own has built of others' crates.
    fn seed(&self, from: &Path) -> Result<()> {
        if self.target.exists() {
            return Ok(());
        }
        let to = self.target.join("debug");
        fs::create_dir_all(&to)?;
        for folder in ["deps", "build", ".fingerprint"] {
            let from = from.join("debug").join(folder);
            if from.exists() {
                ensure!(Command::new("cp").arg("-a").arg(&from).arg(&to).status()?.success(), "cp failed");
            }
        }
        Ok(())
    }
}

/// The files of a checkout that git knows or would add.
pub fn files(root: &Path) -> Result<Vec<String>> {
    let list = Command::new("git")
        .args(["ls-files", "-z", "--cached", "--others", "--exclude-standard", "--deduplicate"])
        .current_dir(root)
        .output()?;
    ensure!(list.status.success(), "git ls-files: {}", String::from_utf8_lossy(&list.stderr));
    let names = String::from_utf8(list.stdout)?;
    Ok(names
        .split('\0')
        .filter(|name| !name.is_empty() && root.join(name).is_file())
        .map(str::to_owned)
        .collect())
}

/// Writes where something changed, so that cargo builds no more than it has to.
pub fn write(path: &Path, content: &[u8]) -> Result<bool> {
    if fs::read(path).is_ok_and(|old| old == content) {
        return Ok(false);
    }
    fs::create_dir_all(path.parent().context("a file stands in a folder")?)?;
    fs::write(path, content)?;
    Ok(true)
}

/// Copies the checkout into the tree, and takes away what is no longer there.
pub fn copy(folders: &Folders, read: &dyn Fn(&str) -> Result<Vec<u8>>) -> Result<Vec<String>> {
    let (root, tree) = (&folders.root, folders.tree());
    let names = files(root)?;
    for name in &names {
        if name != "Cargo.toml" {
            write(&tree.join(name), &read(name)?)?;
        }
    }
    let kept: HashSet<&str> = names.iter().map(String::as_str).collect();
    for name in old(&tree, Path::new(""))? {
        let mutated =
            name.strip_prefix("mutated/").is_some_and(|rest| kept.contains(format!("src/{rest}").as_str()));
        if !kept.contains(name.as_str()) && !mutated && name != "mutated/mutant.rs" && name != "Cargo.lock" {
            fs::remove_file(tree.join(name))?;
        }
    }
    Ok(names)
}

fn old(tree: &Path, below: &Path) -> Result<Vec<String>> {
    let mut found = Vec::new();
    for entry in fs::read_dir(tree.join(below))? {
        let entry = entry?;
        let name = below.join(entry.file_name());
        if entry.file_type()?.is_dir() {
            found.extend(old(tree, &name)?);
        } else {
            found.push(name.to_string_lossy().into_owned());
        }
    }
    Ok(found)
}

/// The manifest of the copy: no lints, no examples or benches, the library from another folder, so that tests that read
/// `src/` read what they know.
pub fn manifest(text: &str) -> Result<String> {
    let mut manifest: Table = toml::from_str(text)?;
    for unwanted in ["lints", "example", "bench"] {
        manifest.remove(unwanted);
    }
    let package = manifest.get_mut("package").and_then(Value::as_table_mut).context("no package")?;
    package.insert("autobenches".to_owned(), false.into());
    package.insert("autoexamples".to_owned(), false.into());
    let name = package.get("name").and_then(Value::as_str).context("no name")?.to_owned();
    inner(&mut manifest, &["lib"])?.insert("path".to_owned(), "mutated/lib.rs".into());
    let profile = inner(&mut manifest, &["profile", "dev", "package", &name])?;
    profile.insert("opt-level".to_owned(), opt_level().into());
    profile.insert("debug".to_owned(), false.into());
    Ok(toml::to_string(&manifest)?)
}

/// The table at this path, made where it is missing.
fn inner<'a>(table: &'a mut Table, path: &[&str]) -> Result<&'a mut Table> {
    let mut here = table;
    for name in path {
        let entry = here.entry(*name).or_insert_with(|| Value::Table(Table::new()));
        here = entry.as_table_mut().with_context(|| format!("{name} is no table"))?;
    }
    Ok(here)
}

/// How much the compiler optimises the copy. Not at all is the shortest in all: optimising one build takes minutes, and most
/// tests wait for a database.
fn opt_level() -> i64 {
    std::env::var("MUTATE_OPT_LEVEL").ok().and_then(|level| level.parse().ok()).unwrap_or(0)
}
