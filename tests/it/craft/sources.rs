//! Prints where the checks of this room are from: every published source, every fact of the trade, every value from
//! memory. `cargo test --test it craft -- --nocapture` shows the list.
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

const MARKS: [&str; 4] = ["Source:", "Sources:", "Common practice", "from memory"];

/// What a test's own comment says of its source, each with the test's name.
fn cited(text: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut said = String::new();
    for line in text.lines().map(str::trim) {
        if let Some(comment) = line.strip_prefix("///") {
            said.push_str(comment);
        } else if let Some(name) = name_of(line) {
            if MARKS.iter().any(|mark| said.contains(mark)) {
                found.push((name.to_owned(), said.split_whitespace().collect::<Vec<_>>().join(" ")));
            }
            said.clear();
        } else if !line.starts_with("#[") && !line.is_empty() {
            said.clear();
        }
    }
    found
}

fn name_of(line: &str) -> Option<&str> {
    let line = line.strip_prefix("async ").unwrap_or(line);
    line.strip_prefix("fn ").or_else(|| line.strip_prefix("const "))?.split(['(', ':']).next()
}

#[test]
fn every_source_is_printed() {
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it");
    let mut files: Vec<_> =
        fs::read_dir(tests.join("craft")).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    let (mut list, mut count) = (String::new(), 0);
    for file in files.iter().filter(|file| file.extension().is_some_and(|e| e == "rs")) {
        let room = file.file_stem().unwrap().to_string_lossy().into_owned();
        for (name, source) in cited(&fs::read_to_string(file).unwrap()) {
            writeln!(list, "source  {room}::{name}: {source}").unwrap();
            count += 1;
        }
    }
    for entry in fs::read_dir(tests.join("vectors")).unwrap() {
        let path = entry.unwrap().path();
        let text = fs::read_to_string(&path).unwrap();
        // A data set that doesn't begin with its source could be anything.
        let head: Vec<&str> = text.lines().map_while(|line| line.strip_prefix("# ")).collect();
        assert!(!head.is_empty(), "{} names no source", path.display());
        let name = path.file_name().unwrap().to_string_lossy();
        writeln!(list, "source  vectors/{name}: {}", head.join(" ")).unwrap();
        count += 1;
    }
    eprint!("{list}");
    assert!(count >= 35, "only {count} sources were found: {list}");
}

#[test]
fn a_comment_belongs_to_the_test_below_it_alone() {
    let text =
        "/// Source: a book,\n/// page 3.\n#[test]\nfn one() {\n}\n/// Plain.\nfn two() {}\nfn three() {}\n";
    assert_eq!(cited(text), [("one".to_owned(), "Source: a book, page 3.".to_owned())]);
}
