//! What holds of the sources as they stand: scripts and pages make no code of text, the program starts no other, and TLS is verified.
use std::fs;
use std::path::{Path, PathBuf};

use crate::support::rust::templates;

/// The files below a folder whose names end so, and what each says.
fn files(folder: &str, ending: &str) -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let (mut found, mut folders) = (Vec::new(), vec![root]);
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path: PathBuf = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == ending) {
                found.push((path.display().to_string(), fs::read_to_string(&path).unwrap()));
            }
        }
    }
    assert!(found.len() > 3, "there are hardly any files in {folder}");
    found
}

/// Fails where one of the files holds one of these texts.
fn none_holds(files: &[(String, String)], forbidden: &[&str]) {
    for (path, text) in files {
        let held: Vec<_> = forbidden.iter().filter(|one| text.contains(**one)).collect();
        assert!(held.is_empty(), "{path} holds {held:?}");
    }
}

#[test]
fn scripts_make_neither_code_nor_markup_of_text() {
    let scripts = files("static", "js");
    none_holds(
        &scripts,
        &[
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "Function(",
            "javascript:",
            "setTimeout(\"",
            "setInterval(\"",
            "__proto__",
            "prototype[",
        ],
    );
    // A message is listened to only where browsers bring none from another origin: by a service worker.
    for (path, text) in &scripts {
        assert!(
            !text.contains("window.addEventListener(\"message\"") && !text.contains("onmessage"),
            "{path}"
        );
    }
}

#[test]
fn no_page_carries_script_or_style_within() {
    let pages = templates();
    assert!(pages.len() > 50, "{} templates", pages.len());
    none_holds(
        &pages,
        &[
            "<style",
            " style=",
            "javascript:",
            " onclick=",
            " onload=",
            " onerror=",
            " onsubmit=",
            " onchange=",
        ],
    );
    for (path, text) in &pages {
        for script in text.split("<script").skip(1) {
            let (tag, rest) = script.split_once('>').unwrap();
            assert!(tag.contains("src=\"/static/") && rest.starts_with("</script>"), "{path}: <script{tag}>");
        }
    }
}

#[test]
fn the_program_starts_no_other_and_reads_no_markup() {
    none_holds(&files("src", "rs"), &["process::Command", "tokio::process", "libc::"]);
    let manifest = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml")).unwrap();
    let manifest: toml::Table = toml::from_str(&manifest).unwrap();
    let used = manifest["dependencies"].as_table().unwrap();
    assert!(used.contains_key("axum"));
    for name in [
        "quick-xml",
        "roxmltree",
        "xml-rs",
        "xmltree",
        "regex",
        "scraper",
        "serde_yaml",
        "ldap3",
        "tera",
        "minijinja",
    ] {
        assert!(
            !used.contains_key(name),
            "{name} is part of the program: asvs.md says that nothing like it is"
        );
    }
}

/// How the libraries that speak TLS for us name what switches its checks off.
#[test]
fn certificates_are_always_verified() {
    none_holds(
        &files("src", "rs"),
        &[
            "danger_accept",
            "tls_danger",
            "dangerous",
            "ServerCertVerifier",
            "verify_none",
            "SslMode::Disable",
        ],
    );
}
