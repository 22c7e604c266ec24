//! `craft` and `class` know no database, web, clock, file, network, environment or chance: their sources say so.
use std::fs;
use std::path::{Path, PathBuf};

const FORBIDDEN: [&str; 14] = [
    "sqlx",
    "axum",
    "tokio",
    "reqwest",
    "std::fs",
    "std::net",
    "std::env",
    "std::io",
    "SystemTime",
    "Instant",
    "Timestamp::now",
    "Zoned::now",
    "rand::",
    "crate::store",
];

fn sources(dir: &Path, found: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in fs::read_dir(dir)? {
        let path = entry?.path();
        if path.is_dir() {
            sources(&path, found)?;
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    Ok(())
}

fn offences(text: &str) -> Vec<&'static str> {
    let code: String = text.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
    FORBIDDEN.into_iter().filter(|word| code.contains(word)).collect()
}

#[test]
fn craft_and_class_touch_nothing_outside() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    for room in ["craft", "class"] {
        sources(&root.join(room), &mut files).unwrap();
    }
    assert!(files.len() > 5, "the sources were not found under {}", root.display());
    let bad: Vec<_> = files
        .iter()
        .map(|file| (file, offences(&fs::read_to_string(file).unwrap())))
        .filter(|(_, words)| !words.is_empty())
        .collect();
    assert!(bad.is_empty(), "impure: {bad:?}");
}

#[test]
fn the_check_sees_an_impure_line_and_passes_over_comments() {
    assert_eq!(offences("use std::fs;\nlet t = std::time::Instant::now();"), ["std::fs", "Instant"]);
    assert!(offences("// never std::fs\n/// nor sqlx").is_empty());
}
