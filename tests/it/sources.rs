//! Prints where the tests have their numbers: every published source, every fact of the trade, every value remembered.
//! `cargo test --test it sources -- --nocapture` shows the list.
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

const MARKS: [&str; 5] = ["source:", "sources:", "common practice", "no source", "from memory"];

fn is_marked(said: &str) -> bool {
    let said = said.to_lowercase();
    MARKS.iter().any(|mark| said.contains(mark))
}

/// The slashes of a line of comment, and what it says.
fn comment(line: &str) -> Option<(&str, &str)> {
    let said = line.strip_prefix("//")?;
    let said = said.strip_prefix(['/', '!']).unwrap_or(said);
    Some((&line[..line.len() - said.len()], said.trim()))
}

/// The name of what a line begins: a function, a constant, a test for both databases.
fn item(line: &str) -> Option<&str> {
    let mut words = line.split(' ').skip_while(|word| word.starts_with("pub") || *word == "async");
    let first = words.next()?;
    let name = match first {
        "fn" | "const" | "static" | "struct" | "enum" | "type" | "mod" => words.next()?,
        _ => first.strip_prefix("on_both!(").or_else(|| first.strip_prefix("on_copies!("))?,
    };
    name.split(['(', ':', '<', ';', ',']).next()
}

/// What comments say of their sources, each with the name of what it is said of: the item below it or, within one, that item;
/// no name where it is said of the whole file.
fn cited(text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let (mut within, mut open, mut said) = ("", "", String::new());
    for line in text.lines().map(str::trim).chain([""]) {
        let (slashes, more) = comment(line).unwrap_or_default();
        // An attribute stands between a comment and its item.
        if open == "///" && line.starts_with("#[") {
            continue;
        }
        if slashes.is_empty() || slashes != open {
            if is_marked(&said) {
                let name = if open == "//!" { "" } else { item(line).unwrap_or(within) };
                found.push((name.to_owned(), said.trim().to_owned()));
            }
            said.clear();
            open = slashes;
        }
        if !more.is_empty() {
            said.extend([more, " "]);
        }
        within = item(line).unwrap_or(within);
    }
    found
}

/// All files of Rust in a folder and in the folders in it.
fn files(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// A file's name as a module's: `planning::second_way::book`.
fn module(file: &Path) -> String {
    let parts: Vec<_> =
        file.with_extension("").iter().map(|part| part.to_string_lossy().into_owned()).collect();
    parts.join("::").trim_end_matches("::mod").to_owned()
}

#[test]
fn every_source_is_printed() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it");
    let mut all = Vec::new();
    files(&tests, &mut all);
    all.sort();
    let (mut list, mut count) = (String::new(), 0);
    for file in all {
        let room = module(file.strip_prefix(&tests).unwrap());
        let text = fs::read_to_string(&file).unwrap();
        let mut here = String::new();
        for (name, source) in cited(&text) {
            let name = [room.as_str(), name.as_str()].join("::");
            writeln!(here, "source  {}: {source}", name.trim_end_matches("::")).unwrap();
            count += 1;
        }
        let mut said = text.lines().filter_map(|line| comment(line.trim())).map(|(_, said)| said);
        let left_out = said.find(|said| is_marked(said) && !here.contains(said));
        assert_eq!(left_out, None, "a source of {room} isn’t printed");
        list += &here;
    }
    for entry in fs::read_dir(tests.join("vectors")).unwrap() {
        let path = entry.unwrap().path();
        // What is kept of our own comes from nowhere else.
        if path.is_dir() {
            continue;
        }
        let text = fs::read_to_string(&path).unwrap();
        // A data set that doesn't begin with its source could be anything.
        let head: Vec<&str> = text.lines().map_while(|line| line.strip_prefix("# ")).collect();
        assert!(!head.is_empty(), "{} names no source", path.display());
        let name = path.file_name().unwrap().to_string_lossy();
        writeln!(list, "source  vectors/{name}: {}", head.join(" ")).unwrap();
        count += 1;
    }
    eprint!("{list}");
    assert!(count >= 80, "only {count} sources were found: {list}");
    for room in [
        "planning::warp",
        "planning::second_way::book",
        "planning::second_way::reading_lengths",
        "optimize::share_out",
    ] {
        assert!(list.contains(&format!("source  {room}")), "none of {room}: {list}");
    }
}

#[test]
fn a_comment_belongs_to_the_test_below_it_alone() {
    let text =
        "/// Source: a book,\n/// page 3.\n#[test]\nfn one() {\n}\n/// Plain.\nfn two() {}\nfn three() {}\n";
    assert_eq!(cited(text), [("one".to_owned(), "Source: a book, page 3.".to_owned())]);
}

#[test]
fn a_comment_within_a_test_belongs_to_it_and_one_at_the_head_to_the_file() {
    let text = "//! Figures. All from memory.\n//! More.\nuse a;\n\n/// One.\npub(super) const A: u8 = 1;\n\
                async fn two() {\n    // Twelve: common practice.\n    three();\n}\n";
    let wanted = [("", "Figures. All from memory. More."), ("two", "Twelve: common practice.")];
    assert_eq!(cited(text), wanted.map(|(name, said)| (name.to_owned(), said.to_owned())));
}
